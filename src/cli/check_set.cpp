#include "cli/check_set.h"

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <ostream>

#include "base/error.h"
#include "base/numbers.h"
#include "checks/checks.h"
#include "output/checksums.h"
#include "output/report.h"
#include "output/set_check.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_file = std::size_t(256) << 20;
constexpr std::size_t most_files = 2000;
constexpr int most_pieces = 10000;

bool is_stl(const fs::path& path) {
  std::string ending = path.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(), [](unsigned char c) { return char(c | 0x20); });
  return ending == ".stl";
}

SetFolder read_folder(const std::string& name) {
  SetFolder folder;
  folder.name = name;
  const fs::path root(name);
  if (!fs::is_directory(root)) throw FileError(name, "is no folder");
  const fs::path report = root / "report.json";
  if (!fs::is_regular_file(report))
    throw FileError(name, "has no report.json, so it is no set that make wrote; gauge holds a single file "
                          "against a part");
  try {
    folder.report = Json::parse(read_file(report.string(), largest_file));
  } catch (const Json::exception&) {
    throw FileError(report.string(), "is no report that make wrote");
  }
  if (!folder.report.is_object() || folder.report.value("format", Json()) != "bedwright/report/1")
    throw FileError(report.string(), "is no report that make wrote");
  std::vector<std::string> paths;
  std::error_code failed;
  for (fs::recursive_directory_iterator it(root, failed), end; !failed && it != end; it.increment(failed))
    if (it->is_regular_file() && is_stl(it->path())) paths.push_back(it->path().lexically_relative(root).generic_string());
  if (failed) throw FileError(name, failed.message());
  if (paths.size() > most_files) throw FileError(name, "holds more STL files than a set has");
  std::sort(paths.begin(), paths.end());
  for (const std::string& path : paths) folder.files[path] = read_file((root / path).string(), largest_file);
  const fs::path sums = root / checksums_name;
  if (fs::is_regular_file(sums)) {
    folder.sums = read_file(sums.string(), largest_file);
    std::map<std::string, std::string> named;
    try {
      named = read_checksums(folder.sums, checksums_name);
    } catch (const BadInput&) {
      return folder;  // check_folder says so
    }
    for (const auto& [file, sum] : named)
      if (!folder.files.count(file) && fs::is_regular_file(root / file))
        folder.others[file] = read_file((root / file).string(), largest_file);
  }
  return folder;
}

Pieces pieces_of(const std::vector<std::string>& texts) {
  Pieces pieces;
  for (const std::string& text : texts) {
    const std::size_t equals = text.find('=');
    int count = -1;
    if (equals != text.npos && equals > 0) {
      const char *from = text.data() + equals + 1, *to = text.data() + text.size();
      const auto [rest, fault] = std::from_chars(from, to, count);
      if (fault != std::errc() || rest != to) count = -1;
    }
    if (count < 0 || count > most_pieces)
      throw BadUsage("--have " + text + ": write a part's id and how many you have, as in adapter-a=2");
    pieces[text.substr(0, equals)] += count;
  }
  return pieces;
}

Json finding_json(const Finding& f) {
  return {{"code", f.code},   {"severity", to_text(f.severity)}, {"part", f.part}, {"feature", f.feature},
          {"message", f.message}, {"value", rounded_6(f.value)}, {"limit", rounded_6(f.limit)}, {"unit", f.unit},
          {"remedy", f.remedy}};
}

Json parts_json(const SetFolder& folder) {
  Json list = Json::array();
  for (const Json& p : folder.report.value("parts", Json::array()))
    list.push_back({{"id", p.value("id", "")},
                    {"quantity", p.value("quantity", 0)},
                    {"hand", p.value("hand", "none")},
                    {"placements", p.value("placements", Json::array())},
                    {"mating_code", p.value("mating_code", "")},
                    {"mating_group", p.value("mating_group", "")},
                    {"file", p.value("file", "")}});
  return list;
}

std::string text_of(const std::vector<SetFolder>& folders, const std::vector<Finding>& findings) {
  std::string text;
  for (const SetFolder& folder : folders) {
    text += folder.name + ": " + folder.report.value("kit", "") + " revision " + folder.report.value("revision", "") + "\n";
    for (const Json& p : parts_json(folder)) {
      text += "  " + std::to_string(p["quantity"].get<int>()) + " x " + p["id"].get<std::string>();
      if (p["hand"] != "none") text += ", " + p["hand"].get<std::string>() + " hand";
      const auto code = p["mating_code"].get<std::string>();
      if (!code.empty()) text += ", mating code " + code;
      text += "\n";
    }
  }
  text += findings_text(findings);
  if (!has_error(findings)) text += "One whole set: every part is there, of one revision, and fits its mates.\n";
  return text;
}

}  // namespace

int check_sets(Streams& streams, const SetOptions& options, const MadeSet* made) try {
  const Pieces pieces = pieces_of(options.pieces);
  std::vector<SetFolder> folders;
  for (const std::string& name : options.folders) folders.push_back(read_folder(name));
  std::vector<Finding> findings;
  const auto take = [&](const std::vector<Finding>& more) { findings.insert(findings.end(), more.begin(), more.end()); };
  for (std::size_t i = 0; i < folders.size(); ++i) {
    take(check_folder(folders[i]));
    for (std::size_t k = 0; k < i; ++k) take(check_together(folders[k], folders[i]));
    if (made) take(check_against_kit(folders[i], made->parts, made->kit));
  }
  if (!pieces.empty()) take(check_pieces(folders.front(), pieces));
  sort_findings(findings);
  if (streams.json) {
    Json document = {{"format", "bedwright/set/1"}, {"ok", !has_error(findings)}, {"folders", Json::array()},
                     {"findings", Json::array()}};
    for (const SetFolder& folder : folders)
      document["folders"].push_back({{"folder", folder.name},
                                     {"kit", folder.report.value("kit", "")},
                                     {"revision", folder.report.value("revision", "")},
                                     {"parts", parts_json(folder)}});
    for (const Finding& f : findings) document["findings"].push_back(finding_json(f));
    streams.out << document.dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else {
    streams.out << text_of(folders, findings);
  }
  return has_error(findings) ? exit_findings : exit_done;
} catch (const Json::exception&) {
  throw FileError(options.folders.front(), "holds a report.json that make did not write");
}

}  // namespace bedwright
