#include "output/set_check.h"

#include <algorithm>
#include <set>

#include "base/error.h"
#include "base/sha256.h"
#include "gauge/read_mesh.h"
#include "output/checksums.h"

namespace bedwright {
namespace {

constexpr std::size_t header_bytes = 80;

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : text + " ") {
    if (c != ' ') {
      word += c;
    } else if (!word.empty()) {
      words.push_back(word);
      word.clear();
    }
  }
  return words;
}

std::string text_at(const Json& object, const char* key) {
  return object.contains(key) && object[key].is_string() ? object[key].get<std::string>() : std::string();
}

int number_at(const Json& object, const char* key) {
  return object.contains(key) && object[key].is_number_integer() ? object[key].get<int>() : 0;
}

const Json& parts_of(const SetFolder& folder) {
  static const Json none = Json::array();
  return folder.report.contains("parts") && folder.report["parts"].is_array() ? folder.report["parts"] : none;
}

const Json* find_part(const SetFolder& folder, const std::string& id) {
  for (const Json& p : parts_of(folder))
    if (text_at(p, "id") == id) return &p;
  return nullptr;
}

Finding error(const std::string& code, const std::string& part, const std::string& message, const std::string& remedy,
              double value = 0, double limit = 0) {
  return {code, Severity::error, part, "", message, value, limit, "", remedy};
}

Finding missing(const SetFolder& folder, const Json& part) {
  const std::string id = text_at(part, "id"), hand = text_at(part, "hand"), mirror = text_at(part, "mirror_of");
  const std::string file = text_at(part, "file");
  const std::string remedy = "make the set again, or fetch " + file + " from where the rest came from";
  if (hand == "left" || hand == "right")
    return error("set-hand-missing", id,
                 folder.name + ": the " + hand + " hand is missing: " + id + " (" + file + ")" +
                     (mirror.empty() ? "" : "; " + mirror + " mirrored is not meant to be made by hand"),
                 remedy);
  return error("set-part-missing", id, folder.name + ": " + id + " is missing (" + file + ")", remedy);
}

/// What the file's own header says against its report; empty if they agree or the header says nothing.
std::vector<Finding> header_findings(const SetFolder& folder, const Json& part, const std::string& bytes) {
  std::vector<Finding> findings;
  const StlHeader header = read_stl_header(bytes);
  const std::string id = text_at(part, "id"), file = text_at(part, "file");
  if (header.part.empty()) return findings;
  if (header.part != id) {
    findings.push_back(error("set-wrong-file", id, folder.name + ": " + file + " is " + header.part + ", not " + id,
                             "put the right file there: make the set again"));
    const std::string hand = text_at(part, "hand");
    if (hand == "left" || hand == "right")
      findings.push_back(error("set-hand-missing", id,
                               folder.name + ": the " + hand + " hand is missing: where " + id + " belongs lies " +
                                   header.part,
                               "make the set again; two of one hand do not fit"));
    return findings;
  }
  const std::string revision = text_at(folder.report, "revision"), kit = text_at(folder.report, "kit");
  if (header.revision != revision || header.kit != kit)
    findings.push_back(error("set-revision-mixed", id,
                             folder.name + ": " + file + " is " + header.kit + " revision " + header.revision +
                                 ", the set is " + kit + " revision " + revision,
                             "take all parts of one revision"));
  const std::string code = text_at(part, "mating_code");
  if (!header.mating_code.empty() && header.mating_code != code)
    findings.push_back(error("set-code-differs", id,
                             folder.name + ": " + file + " carries the mating code " + header.mating_code +
                                 ", its mates " + code + ": they no longer fit each other",
                             "take all parts from one run of make"));
  return findings;
}

/// Codes within the folder's own report: parts of one group must share theirs.
void check_groups(const SetFolder& folder, std::vector<Finding>& findings) {
  std::map<std::string, const Json*> first;
  for (const Json& p : parts_of(folder)) {
    const std::string group = text_at(p, "mating_group");
    if (group.empty()) continue;
    const Json*& have = first[group];
    if (!have) {
      have = &p;
    } else if (text_at(*have, "mating_code") != text_at(p, "mating_code")) {
      findings.push_back(error("set-code-differs", text_at(p, "id"),
                               folder.name + ": " + text_at(p, "id") + " has the mating code " +
                                   text_at(p, "mating_code") + ", " + text_at(*have, "id") + " has " +
                                   text_at(*have, "mating_code") + ": they no longer fit each other",
                               "take all parts from one run of make"));
    }
  }
}

void check_counts(const SetFolder& folder, std::vector<Finding>& findings) {
  std::map<std::string, std::string> taken;  // placement of a kind of part: who has it
  for (const Json& p : parts_of(folder)) {
    const std::string id = text_at(p, "id"), mirror = text_at(p, "mirror_of");
    const int quantity = number_at(p, "quantity");
    const Json placements = p.value("placements", Json::array());
    if (!placements.empty() && quantity != static_cast<int>(placements.size()))
      findings.push_back(error("set-quantity", id,
                               folder.name + ": " + std::to_string(quantity) + " of " + id + " for " +
                                   std::to_string(placements.size()) + " places",
                               "print one a place", quantity, static_cast<double>(placements.size())));
    if (!mirror.empty() && !find_part(folder, mirror)) {
      const std::string hand = text_at(p, "hand") == "left" ? "right" : "left";
      findings.push_back(error("set-hand-missing", id,
                               folder.name + ": the " + hand + " hand is missing: " + mirror + " is in no list",
                               "make the set again, without --only"));
    }
    if (text_at(p, "family") != "adapter_plate") continue;
    for (const Json& placement : placements) {
      const std::string where = placement.get<std::string>();
      const auto [have, fresh] = taken.emplace(where, id);
      if (!fresh)
        findings.push_back(error("set-quantity", id,
                                 folder.name + ": both " + have->second + " and " + id + " are for " + where,
                                 "make the set again", 2, 1));
    }
  }
  if (taken.empty()) return;
  for (const char* where : placement_ids)
    if (taken.count(where) == 0)
      findings.push_back({"set-quantity", Severity::warning, "", "",
                          folder.name + ": no adapter plate for " + where, 0, 1, "",
                          "make the set again, unless that place has another plate"});
}

bool same_solid(const std::string& a, const std::string& b) {
  return a.size() > header_bytes && b.size() == a.size() && a.compare(header_bytes, a.npos, b, header_bytes, b.npos) == 0;
}

/// A file that does not say what it is, held against the part it lies in the place of.
std::vector<Finding> check_foreign(const SetFolder& folder, const std::string& path, const std::string& bytes,
                                   const MadePart& expected, const std::vector<MadePart>& made) {
  std::vector<Finding> findings;
  const std::string& id = expected.report.part.id;
  const auto candidate = [](const MadePart& m) {
    return Candidate{&m.report.part, &m.solid, m.report.pose.print_to_part};
  };
  std::vector<Candidate> others;
  for (const MadePart& m : made)
    if (m.report.part.id != id) others.push_back(candidate(m));
  try {
    const Comparison comparison = compare(measure(read_stl(bytes, path)), candidate(expected), others);
    for (std::size_t i = 0; i < comparison.mistakes.size() && !comparison.ok; ++i)
      findings.push_back(error("set-wrong-file", id,
                               folder.name + ": " + path + " is not " + id + ": " + comparison.words[i],
                               "put the right file there: make the set again"));
  } catch (const BadInput& problem) {
    findings.push_back(
        error("set-wrong-file", id, folder.name + ": " + problem.what(), "put the right file there: make the set again"));
  }
  return findings;
}

bool is_part_file(const SetFolder& folder, const std::string& name) {
  const Json& parts = parts_of(folder);
  return std::any_of(parts.begin(), parts.end(), [&](const Json& p) { return text_at(p, "file") == name; });
}

/// Print beds, report and lists; parts are told apart by what they are.
void check_others(const SetFolder& folder, std::vector<Finding>& findings) {
  if (folder.sums.empty()) return;
  std::map<std::string, std::string> sums;
  try {
    sums = read_checksums(folder.sums, checksums_name);
  } catch (const BadInput&) {
    findings.push_back(error("set-file-changed", "", folder.name + ": SHA256SUMS is no list of checksums",
                             "make the set again"));
    return;
  }
  for (const auto& [name, sum] : sums) {
    const auto found = folder.others.find(name);
    if (folder.files.count(name) || (found != folder.others.end() && sha256(found->second) == sum)) continue;
    if (found == folder.others.end() && is_part_file(folder, name)) continue;  // told as a missing part
    findings.push_back(error("set-file-changed", "",
                             folder.name + ": " + name +
                                 (found == folder.others.end() ? " is missing" : " is not the file that SHA256SUMS names"),
                             "do not use it; make the set again"));
  }
}

}  // namespace

StlHeader read_stl_header(const std::string& bytes) {
  std::string text = bytes.substr(0, header_bytes);
  const bool whole = text.find('\0') != text.npos;
  text.resize(std::min(text.find('\0'), text.size()));
  const std::vector<std::string> words = words_of(text);
  StlHeader header;
  if (words.size() < 5 || words[0] != "bedwright" || words[3] != "rev") return header;
  if (words.size() == 5 && !whole) return header;  // the revision itself may be cut
  header.kit = words[1];
  header.part = words[2];
  header.revision = words[4];
  if (words.size() >= 7 && words[5] == "mates") header.mating_code = words[6];
  return header;
}

std::vector<Finding> check_folder(const SetFolder& folder) {
  std::vector<Finding> findings;
  check_others(folder, findings);
  std::set<std::string> named;
  for (const Json& p : parts_of(folder)) {
    const std::string id = text_at(p, "id"), file = text_at(p, "file");
    named.insert(file);
    const auto found = folder.files.find(file);
    if (found == folder.files.end()) {
      findings.push_back(missing(folder, p));
      continue;
    }
    const std::vector<Finding> said = header_findings(folder, p, found->second);
    findings.insert(findings.end(), said.begin(), said.end());
    if (said.empty() && sha256(found->second) != text_at(p, "sha256"))
      findings.push_back(error("set-file-changed", id,
                               folder.name + ": " + file + " is not the file that its report names",
                               "do not print it; make the set again"));
  }
  for (const auto& [path, bytes] : folder.files) {
    if (named.count(path)) continue;
    const StlHeader header = read_stl_header(bytes);
    const Json* part = header.part.empty() ? nullptr : find_part(folder, header.part);
    if (part && header.revision != text_at(folder.report, "revision"))
      findings.push_back(error("set-revision-mixed", header.part,
                               folder.name + ": " + path + " is " + header.part + " of revision " + header.revision,
                               "take all parts of one revision"));
    else if (part)
      findings.push_back(error("set-quantity", header.part,
                               folder.name + ": " + path + " is " + header.part + " a second time; quantity " +
                                   std::to_string(number_at(*part, "quantity")) + " is printed from one file",
                               "remove it", 2, 1));
    else
      findings.push_back({"set-stray-file", Severity::warning, "", "",
                          folder.name + ": " + path + " belongs to no part of this set", 0, 0, "", "remove it"});
  }
  check_groups(folder, findings);
  check_counts(folder, findings);
  return findings;
}

std::vector<Finding> check_together(const SetFolder& a, const SetFolder& b) {
  std::vector<Finding> findings;
  for (const char* key : {"kit", "revision"})
    if (text_at(a.report, key) != text_at(b.report, key))
      findings.push_back(error("set-revision-mixed", "",
                               a.name + " is " + key + " " + text_at(a.report, key) + ", " + b.name + " is " + key +
                                   " " + text_at(b.report, key),
                               "take all parts of one revision"));
  for (const Json& p : parts_of(a))
    for (const Json& q : parts_of(b)) {
      const std::string group = text_at(p, "mating_group");
      if (group.empty() || group != text_at(q, "mating_group") || text_at(p, "mating_code") == text_at(q, "mating_code"))
        continue;
      findings.push_back(error("set-code-differs", text_at(q, "id"),
                               text_at(p, "id") + " of " + a.name + " has the mating code " +
                                   text_at(p, "mating_code") + ", " + text_at(q, "id") + " of " + b.name + " has " +
                                   text_at(q, "mating_code") + ": they do not fit each other",
                               "take all parts from one run of make"));
      break;
    }
  return findings;
}

std::vector<Finding> check_against_kit(const SetFolder& folder, const std::vector<MadePart>& made, const Kit& kit) {
  std::vector<Finding> findings;
  const bool same_revision =
      text_at(folder.report, "kit") == kit.name && text_at(folder.report, "revision") == kit.revision;
  if (!same_revision)
    findings.push_back(error("set-revision-mixed", "",
                             folder.name + " is " + text_at(folder.report, "kit") + " revision " +
                                 text_at(folder.report, "revision") + ", the kit is " + kit.name + " revision " +
                                 kit.revision,
                             "make the set again, or check it against its own kit"));
  for (const MadePart& m : made) {
    const Part& part = m.report.part;
    const Json* have = find_part(folder, part.id);
    if (!have) {
      const bool handed = part.hand != Hand::none;
      findings.push_back(error(handed ? "set-hand-missing" : "set-part-missing", part.id,
                               folder.name + ": the kit also makes " + part.id +
                                   (handed ? ", the " + std::string(to_text(part.hand)) + " hand" : "") +
                                   "; this set has none",
                               "make the set again"));
      continue;
    }
    if (number_at(*have, "quantity") != part.quantity)
      findings.push_back(error("set-quantity", part.id,
                               folder.name + ": " + std::to_string(number_at(*have, "quantity")) + " of " + part.id +
                                   " where the kit wants " + std::to_string(part.quantity),
                               "print " + std::to_string(part.quantity), number_at(*have, "quantity"), part.quantity));
    if (text_at(*have, "mating_code") != m.report.mating_code) {
      findings.push_back(error("set-code-differs", part.id,
                               folder.name + ": " + part.id + " has the mating code " + text_at(*have, "mating_code") +
                                   ", the kit now makes " + m.report.mating_code + ": old and new do not fit",
                               "print the whole group again"));
      continue;
    }
    const auto file = folder.files.find(text_at(*have, "file"));
    if (file == folder.files.end() || same_solid(file->second, m.bytes)) continue;
    if (read_stl_header(file->second).part.empty()) {
      const std::vector<Finding> strange = check_foreign(folder, file->first, file->second, m, made);
      findings.insert(findings.end(), strange.begin(), strange.end());
    } else if (same_revision && sha256(file->second) == text_at(*have, "sha256")) {
      findings.push_back({"set-out-of-date", Severity::note, part.id, "",
                          folder.name + ": " + part.id + " is not what the kit makes now, but still fits its mates", 0,
                          0, "", "print it again when you want the change"});
    }
  }
  for (const Json& p : parts_of(folder)) {
    const std::string id = text_at(p, "id");
    if (std::none_of(made.begin(), made.end(), [&](const MadePart& m) { return m.report.part.id == id; }))
      findings.push_back({"set-stray-file", Severity::warning, id, "",
                          folder.name + ": " + id + " is in the set, but the kit makes no such part", 0, 0, "",
                          "make the set again"});
  }
  return findings;
}

std::vector<Finding> check_pieces(const SetFolder& folder, const Pieces& pieces) {
  std::vector<Finding> findings;
  for (const auto& [id, count] : pieces)
    if (!find_part(folder, id))
      findings.push_back(error("set-wrong-file", id, id + " is no part of " + folder.name,
                               "look at its mark: it belongs to another set", count, 0));
  for (const Json& p : parts_of(folder)) {
    const std::string id = text_at(p, "id"), hand = text_at(p, "hand");
    const int wanted = number_at(p, "quantity");
    const auto found = pieces.find(id);
    const int have = found == pieces.end() ? 0 : found->second;
    if (have == wanted) continue;
    const bool handed = hand == "left" || hand == "right";
    findings.push_back(error(have < wanted && handed && have == 0 ? "set-hand-missing" : "set-quantity", id,
                             std::to_string(have) + " of " + id + (handed ? " (" + hand + " hand)" : "") + " where " +
                                 std::to_string(wanted) + (wanted == 1 ? " belongs" : " belong"),
                             have < wanted ? "print " + std::to_string(wanted - have) + " more" : "put the rest away",
                             have, wanted));
  }
  return findings;
}

}  // namespace bedwright
