// bedwright_fuzz NAME RUNS SEED: shows a reader its seeds, the cases once found, and RUNS changed copies of them.
// bedwright_fuzz --names | --seeds NAME DIR: what there is; a corpus for a longer search.
// A run fails by a crash, by anything thrown that is not the library's, or by taking longer than it may.
#include <sys/resource.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "targets.h"

namespace {

constexpr double most_seconds = 2;
constexpr rlim_t most_memory = rlim_t{2} << 30;

struct Sequence {
  unsigned long long state;
  std::size_t below(std::size_t n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return n ? static_cast<std::size_t>((state >> 33) % n) : 0;
  }
};

/// Numbers and words that readers stumble over.
const char* const awkward[] = {
    "0",    "-1",     "1e308", "1e-400", "-0", "NaN",  "inf",     "4294967295", "9223372036854775808",
    "0x10", "null",   "true",  "{}",     "[]", "\"\"", "\\u0000", "\xff\xfe",   ",",
    "\n",   "../../x"};

std::string changed(std::string bytes, const std::vector<std::string>& others, Sequence& random) {
  for (std::size_t n = 1 + random.below(6); n > 0; --n) {
    const std::size_t at = random.below(bytes.size() + 1), length = 1 + random.below(1u << random.below(10));
    switch (random.below(7)) {
      case 0:  // one bit
        if (at < bytes.size()) bytes[at] = static_cast<char>(bytes[at] ^ (1 << random.below(8)));
        break;
      case 1:
        bytes.erase(std::min(at, bytes.size()), length);
        break;
      case 2:
        bytes.insert(at, bytes.substr(random.below(bytes.size() + 1), length));
        break;
      case 3:
        bytes.insert(at, awkward[random.below(std::size(awkward))]);
        break;
      case 4: {  // a piece of another
        const std::string& other = others[random.below(others.size())];
        bytes.insert(at, other.substr(random.below(other.size() + 1), length));
        break;
      }
      case 5: {  // a number for a number
        const std::size_t from = bytes.find_first_of("0123456789", at);
        if (from == bytes.npos) break;
        const std::size_t to = std::min(bytes.find_first_not_of("0123456789.eE+-", from), bytes.size());
        bytes.replace(from, to - from, awkward[random.below(10)]);
        break;
      }
      default:
        if (at < bytes.size()) bytes[at] = static_cast<char>(random.below(256));
    }
  }
  return bytes;
}

std::string read(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<std::string> shown_first(const fuzz::Target& target) {
  std::vector<std::string> all = target.seeds();
  const std::filesystem::path found = std::filesystem::path(BEDWRIGHT_ROOT) / "fuzz" / "found" / target.name;
  std::vector<std::filesystem::path> paths;
  if (std::filesystem::is_directory(found))
    for (const auto& entry : std::filesystem::directory_iterator(found)) paths.push_back(entry.path());
  std::sort(paths.begin(), paths.end());
  for (const auto& path : paths) all.push_back(read(path));
  return all;
}

/// Keeps the input where it fails, so that it can be looked at.
bool timed(const fuzz::Target& target, const std::string& bytes, const std::string& name, int& taken) {
  const std::string kept = std::string("fuzz-") + target.name + ".input";
  std::ofstream(kept, std::ios::binary) << bytes;
  const std::clock_t began = std::clock();
  taken += target.feed(bytes);
  const double seconds = double(std::clock() - began) / CLOCKS_PER_SEC;
  if (seconds <= most_seconds) {
    std::filesystem::remove(kept);
    return true;
  }
  std::fprintf(stderr, "%s %s took %.1f s; it is in %s\n", target.name, name.c_str(), seconds, kept.c_str());
  return false;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 2 && std::string(argv[1]) == "--names") {
    for (const fuzz::Target& t : fuzz::targets()) std::printf("%s\n", t.name);
    return 0;
  }
  if (argc == 4 && std::string(argv[1]) == "--seeds") {
    const fuzz::Target* target = fuzz::find_target(argv[2]);
    if (!target) return 2;
    std::filesystem::create_directories(argv[3]);
    int n = 0;
    for (const std::string& seed : shown_first(*target))
      std::ofstream(std::string(argv[3]) + "/seed-" + std::to_string(++n), std::ios::binary) << seed;
    return 0;
  }
  const fuzz::Target* target = argc == 4 ? fuzz::find_target(argv[1]) : nullptr;
  if (!target) {
    std::fprintf(stderr, "usage: bedwright_fuzz NAME RUNS SEED | --names | --seeds NAME DIR\n");
    return 2;
  }
#if !defined(__SANITIZE_ADDRESS__)
  const rlimit limit{most_memory, most_memory};
  setrlimit(RLIMIT_AS, &limit);
#endif
  const std::vector<std::string> first = shown_first(*target);
  Sequence random{std::strtoull(argv[3], nullptr, 10)};
  int taken = 0, runs = 0;
  for (const std::string& seed : first)
    if (!timed(*target, seed, "seed " + std::to_string(++runs), taken)) return 1;
  const int good = taken;
  for (int i = 0; i < std::atoi(argv[2]); ++i, ++runs)
    if (!timed(*target, changed(first[random.below(first.size())], first, random), "run " + std::to_string(i), taken))
      return 1;
  std::printf("%s: %d inputs with seed %s, %d read, %d refused in words\n", target->name, runs, argv[3], taken,
              runs - taken);
  // A harness whose own seeds are refused shows the reader nothing.
  return good > 0 ? 0 : 1;
}
