// bedwright_kits FIRST COUNT [SECONDS]: whole kits that nobody meant, from reading to the files of a set; kit N is the
// same everywhere. Valid, nearly valid and hostile ones: what is wrong in each is of the kinds that people and programs
// write. Every kit must end in a set whose written files are sound and measured, or in a clear error, within SECONDS
// of processor time (2 if left out) up to 200,000 facets. Says which was slowest and largest, and what was refused.
// bedwright_kits --show N: that kit.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "kit/read_kit.h"
#include "output/make_set.h"

using namespace bedwright;

namespace {

constexpr std::size_t facets_of_a_usual_kit = 200000;

struct Dice {
  unsigned long long state;
  unsigned long long next() {
    state += 0x9e3779b97f4a7c15ULL;  // splitmix64 (S. Vigna, public domain)
    unsigned long long z = state;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  std::size_t below(std::size_t n) { return n ? static_cast<std::size_t>(next() % n) : 0; }
  double unit() { return double(next() >> 11) / 9007199254740992.0; }
  template <typename T>
  const T& one_of(const std::vector<T>& list) {
    return list[below(list.size())];
  }
};

std::string folder() {
  return std::string(BEDWRIGHT_ROOT) + "/params/kits";
}

std::vector<Json> demo_kits() {
  std::vector<std::filesystem::path> paths;
  for (const auto& entry : std::filesystem::directory_iterator(folder()))
    if (entry.path().extension() == ".json") paths.push_back(entry.path());
  std::sort(paths.begin(), paths.end());
  std::vector<Json> kits;
  for (const auto& path : paths) {
    std::ifstream in(path);
    kits.push_back(Json::parse(std::string(std::istreambuf_iterator<char>(in), {})));
  }
  return kits;
}

std::vector<Json::json_pointer> leaves(const Json& document) {
  std::vector<Json::json_pointer> all;
  const Json flat = document.flatten();
  for (const auto& [pointer, value] : flat.items()) {
    (void)value;
    all.emplace_back(pointer);
  }
  return all;
}

/// A number as it goes wrong: another unit, a slip of the point, radius for diameter, a sign, a rounding, or nonsense.
double slipped(double v, Dice& dice) {
  static const std::vector<double> factors = {25.4, 1 / 25.4, 10, 0.1, 1000, 0.001, 2, 0.5, -1, 0.9, 1.1, 0.99, 1.01};
  static const std::vector<double> nonsense = {0,   1e-9, 1e9, -1e300, 1e300, 1e-300, 0.30000000000000004, 255.99999999,
                                               1024};
  const double change = dice.unit();
  if (change < 0.6) return v * (0.8 + 0.4 * dice.unit());
  if (change < 0.75) return v + (dice.unit() - 0.5);
  if (change < 0.93) return v * dice.one_of(factors);
  return dice.one_of(nonsense);
}

Json odd_value(Dice& dice) {
  static const std::vector<Json> values = {nullptr,
                                           true,
                                           "",
                                           "12",
                                           "12,5",
                                           "../../etc/passwd",
                                           "<script>alert(1)</script>",
                                           std::string(3000, 'x'),
                                           Json::array(),
                                           Json::object(),
                                           -1,
                                           1e300,
                                           "\xc3\xa4\xe2\x80\xae",
                                           Json::array({1, 2, 3}),
                                           "left"};
  return dice.one_of(values);
}

/// The same pointer's value in another kit, where it has one.
void from_other_kit(Json& document, const Json::json_pointer& at, const Json& other) {
  if (other.contains(at)) document[at] = other[at];
}

Json changed(const std::vector<Json>& kits, Dice& dice) {
  Json document = dice.one_of(kits);
  const double wildness = dice.unit();  // two thirds of the kits get nothing but numbers and options that exist
  for (std::size_t n = 1 + dice.below(5); n > 0; --n) {
    const std::vector<Json::json_pointer> all = leaves(document);
    if (all.empty()) break;
    Json::json_pointer at = dice.one_of(all);
    if (!document.contains(at)) continue;
    const double kind = dice.unit();
    if (wildness < 0.67 || kind < 0.4) {
      if (document[at].is_number())
        document[at] = slipped(document[at].get<double>(), dice);
      else if (document[at].is_boolean())
        document[at] = !document[at].get<bool>();
      else
        from_other_kit(document, at, dice.one_of(kits));
      continue;
    }
    for (std::size_t up = dice.below(3); up > 0 && !at.empty(); --up) at.pop_back();
    if (at.empty()) continue;
    if (kind < 0.55) {
      document[at] = odd_value(dice);
    } else if (kind < 0.65) {
      from_other_kit(document, at, dice.one_of(kits));
    } else if (kind < 0.75) {
      Json& parent = document[at.parent_pointer()];
      if (parent.is_object())
        parent.erase(at.back());
      else if (parent.is_array() && !parent.empty())
        parent.erase(dice.below(parent.size()));
    } else if (kind < 0.85) {
      Json& parent = document[at.parent_pointer()];
      if (parent.is_array() && parent.size() < 60) parent.push_back(document[at]);
    } else {
      Json& parent = document[at.parent_pointer()];
      if (parent.is_object()) parent[at.back() + (dice.below(2) ? "_mm" : "s")] = odd_value(dice);
    }
  }
  return document;
}

struct Outcome {
  std::string what;  ///< "made", "made with errors", "bad input", a code
  std::size_t facets = 0;
};

[[noreturn]] void wrong(const std::string& what) {
  throw std::runtime_error(what);
}

/// Throws std::runtime_error where a file that would be written is not sound and nothing says so.
Outcome made(const std::string& text) {
  const auto told = [](const CannotBuild& e) {
    if (e.code.empty() || std::string(e.what()).empty() || e.remedy.empty())
      wrong("refused without code, words or remedy");
    return e.code;
  };
  Outcome outcome;
  std::vector<MadePart> parts;
  std::vector<Finding> failures;
  Kit kit;
  Layout layout;
  try {
    kit = read_kit(text, "kit", folder());
    layout = settle(kit);  // measured points may turn out to lie elsewhere than the parts
  } catch (const BadInput& e) {
    if (e.problems.empty()) wrong("bad input without a problem");
    for (const Problem& p : e.problems)
      if (p.message.empty()) wrong("a problem without a message at " + p.pointer);
    return {"bad input", 0};
  } catch (const CannotBuild& e) {
    return {told(e), 0};
  }
  try {
    for (const Part& part : keyed_parts(kit, layout)) try {
        parts.push_back(make_part(kit, layout, part));
      } catch (const CannotBuild& e) {
        told(e);
        failures.push_back(finding_of(e, part.id));
      }
  } catch (const CannotBuild& e) {
    told(e);
    failures.push_back(finding_of(e, ""));
  }
  for (std::size_t i = 0; i < parts.size(); ++i) compare_made(parts, i);
  const Report report = assemble(kit, layout, parts, failures);
  const bool errors = std::any_of(report.findings.begin(), report.findings.end(),
                                  [](const Finding& f) { return f.severity == Severity::error; });
  const auto files = parts.empty() ? std::map<std::string, std::string>() : files_of(kit, report, parts);
  for (const MadePart& p : parts) {
    outcome.facets += p.report.triangles;
    const MeshHealth& h = p.measured.health;
    const bool sound = h.closed && h.oriented && !h.self_intersections && !h.degenerate;
    if (!sound && !errors) wrong(p.report.part.id + ": a file that is not sound, and no finding says so");
    if (files.at(p.report.file) != p.bytes) wrong(p.report.part.id + ": its file is not what was measured");
  }
  for (const Finding& f : report.findings)
    if (f.message.empty() || (f.severity == Severity::error && f.remedy.empty()))
      wrong("a finding without words: " + f.code);
  if (!files.empty() && Json::parse(files.at("report.json"), nullptr, false).is_discarded())
    wrong("report.json is no JSON");
  outcome.what = parts.empty() ? "nothing made" : errors ? "made with errors" : "made";
  return outcome;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<Json> kits = demo_kits();
  const auto kit = [&](long number) {
    Dice dice{static_cast<unsigned long long>(number) * 0x100000001b3ULL};
    return changed(kits, dice).dump(2, ' ', false, Json::error_handler_t::replace);
  };
  if (argc == 3 && std::string(argv[1]) == "--show") {
    std::printf("%s\n", kit(std::atol(argv[2])).c_str());
    return 0;
  }
  if (argc < 3) {
    std::fprintf(stderr, "usage: bedwright_kits FIRST COUNT [SECONDS] | --show N\n");
    return 2;
  }
  const long first = std::atol(argv[1]), count = std::atol(argv[2]);
  const double most_s = argc > 3 ? std::atof(argv[3]) : 2;
  std::map<std::string, int> ends;
  double slowest_s = 0;
  std::size_t largest = 0;
  long slowest = 0, large = 0;
  int failed = 0;
  for (long n = first; n < first + count; ++n) {
    const std::string kept = "kit-" + std::to_string(first) + ".json";  // a crash leaves it
    const std::string text = kit(n);
    std::ofstream(kept) << text;
    const std::clock_t began = std::clock();
    Outcome outcome;
    try {
      outcome = made(text);
    } catch (const std::exception& e) {
      std::fprintf(stderr, "kit %ld: %s\n", n, e.what());
      ++failed;
    }
    const double seconds = double(std::clock() - began) / CLOCKS_PER_SEC;
    ++ends[outcome.what];
    if (seconds > slowest_s) slowest_s = seconds, slowest = n;
    if (outcome.facets > largest) largest = outcome.facets, large = n;
    if (seconds > most_s && outcome.facets <= facets_of_a_usual_kit) {
      std::fprintf(stderr, "kit %ld took %.1f s for %zu facets\n", n, seconds, outcome.facets);
      ++failed;
    }
    std::filesystem::remove(kept);
  }
  std::printf("%ld kits from %ld; slowest %ld: %.2f s; largest %ld: %zu facets\n", count, first, slowest, slowest_s,
              large, largest);
  for (const auto& [what, n] : ends) std::printf("  %5d %s\n", n, what.empty() ? "FAILED" : what.c_str());
  if (ends["made"] + ends["made with errors"] < count / 10) {
    std::fprintf(stderr, "too few kits were made: the changes are too wild\n");
    return 1;
  }
  return failed ? 1 : 0;
}
