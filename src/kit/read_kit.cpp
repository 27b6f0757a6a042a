#include "kit/read_kit.h"

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "base/embedded.h"
#include "base/error.h"
#include "base/sha256.h"
#include "kit/expand.h"
#include "kit/measured_points.h"
#include "kit/parse.h"
#include "kit/pointer.h"
#include "kit/relations.h"
#include "kit/schema_walk.h"
#include "kit/settings.h"
#include "kit/slips.h"
#include "kit/widest.h"

namespace bedwright {
namespace {

/// 6 and 6.0 are the same kit.
Json with_plain_numbers(Json value) {
  if (value.is_number_integer()) return value.get<double>();
  if (value.is_structured()) {
    for (auto& member : value) member = with_plain_numbers(std::move(member));
  }
  return value;
}

/// Defaults that would not fit a small part are cut to what does, and stated so.
void fit_defaults(Json& document, std::vector<Note>& assumed) {
  for (Note& note : assumed) {
    const auto steps = pointer_steps(note.pointer);
    if (!steps || steps->size() != 3 || steps->front() != "parts") continue;
    Json& part = document["parts"][std::stoul((*steps)[1])];
    double most = 0;
    const std::string& key = steps->back();
    if (key == "bottom_chamfer_mm" && part.contains("thickness_mm") && part["thickness_mm"].is_number()) {
      most = part["thickness_mm"].get<double>() / 2;
    } else if (key == "corner_radius_mm" && part.contains("size_mm") && part["size_mm"].is_array() &&
               part["size_mm"].size() == 2 && part["size_mm"][0].is_number() && part["size_mm"][1].is_number()) {
      most = std::min(part["size_mm"][0].get<double>(), part["size_mm"][1].get<double>()) / 2;
    }
    if (most <= 0 || part[key].get<double>() <= most) continue;
    part[key] = most;
    note.text = number_text(most) + " mm, as much as fits";
  }
}

void state_unused(PartRequest& part, std::vector<Note>& assumed) {
  const auto unless = [&](const char* key, const char* choice, std::initializer_list<const char*> needs) {
    if (!part.settings.contains(key)) return;
    const std::string chosen = part.settings.at(choice).get<std::string>();
    for (const char* need : needs) {
      if (chosen == need) return;
    }
    assumed.push_back({child(part.pointer, key), std::string("not used: ") + choice + " is " + chosen});
  };
  if (part.family == "spacer") {
    unless("outer_mm", "shape", {"round"});
    unless("size_mm", "shape", {"rectangular"});
  } else if (part.family == "shim") {
    unless("outer_mm", "outline", {"ring", "horseshoe"});
    unless("size_mm", "outline", {"rectangle"});
  }
}

void state_choices(const Json& document, Kit& kit) {
  const Json& carriages = document.at("carriages");
  if (!carriages.contains("clearance_um")) {
    const bool given = carriages.contains("preload");
    kit.assumed.push_back({"/carriages/clearance_um",
                           number_text(kit.carriages.clearance_um) + " um, typical of preload class " +
                               (given ? carriages["preload"].get<std::string>() : "clearance") + " (common practice)"});
  }
  for (PartRequest& part : kit.parts) {
    state_unused(part, kit.assumed);
    if (part.family == "adapter_plate" || part.quantity) continue;
    part.quantity = part.placements.empty() ? 1 : static_cast<int>(part.placements.size());
    part.settings["quantity"] = *part.quantity;
    if (part.placements.empty()) kit.assumed.push_back({part.pointer + "/quantity", "1"});
  }
  const Json& dome = document.at("frame").at("dome");
  if (dome.at("shape") == "flat") {
    for (const char* key : {"radius_mm", "apex_mm", "crown", "measured_on"}) {
      if (dome.contains(key)) kit.assumed.push_back({child("/frame/dome", key), "not used: the frame is flat"});
    }
  }
}

}  // namespace

const Json& kit_schema() {
  static const Json schema = [] {
    const std::string_view text = embedded_file("kit.schema.json");
    if (text.empty()) throw Error("no built-in kit schema");
    return Json::parse(text.begin(), text.end());
  }();
  return schema;
}

Setting parse_setting(const std::string& text) {
  const std::size_t equals = text.find('=');
  if (equals == std::string::npos || text.empty() || text[0] != '/') {
    throw BadUsage("--set " + text + ": write a JSON pointer, =, and the value: /frame/dome/radius_mm=2500");
  }
  return {text.substr(0, equals), text.substr(equals + 1)};
}

Kit read_kit(const std::string& text, const std::string& source, const std::string& folder,
             const std::vector<Setting>& settings) {
  return read_kit(text, source, Beside{folder, false, {}}, settings);
}

Kit read_kit(const std::string& text, const std::string& source, const Beside& beside,
             const std::vector<Setting>& settings) {
  std::vector<Problem> problems;
  if (text.size() > largest_kit_bytes) {
    throw BadInput(source, {{"", "",
                             "the file has " + std::to_string(text.size()) + " bytes, a kit has at most " +
                                 std::to_string(largest_kit_bytes),
                             "is it another file?"}});
  }
  std::optional<Json> read = parse_strict(text, problems);
  if (!read) throw BadInput(source, std::move(problems));
  Json& document = *read;
  apply_settings(kit_schema(), document, settings, problems);
  std::string covered = with_plain_numbers(document).dump();
  std::vector<Note> notes, assumed;
  check_against_schema(kit_schema(), document, problems, notes, assumed);
  fit_defaults(document, assumed);
  const bool widest = settle_widest(document, problems, assumed);
  check_relations(document, beside, problems);
  const std::string points_file = points_file_of(document, problems);
  std::vector<Vec3> points;
  if (!points_file.empty()) {
    const std::size_t before = problems.size();
    const std::string bytes = points_bytes(beside, points_file, problems);
    if (problems.size() == before) points = measured_points(points_file, bytes, document, problems);
    covered += "\n" + bytes;
  }
  std::string licence = licence_text(beside, document, problems);
  if (!licence.empty()) covered += "\n" + licence;
  std::vector<NamedText> maps = bed_map_texts(beside, document, problems);
  for (const NamedText& map : maps) covered += "\n" + map.text;
  if (!problems.empty()) throw BadInput(source, std::move(problems));
  Kit kit = expand(document);
  kit.publish.licence_text = std::move(licence);
  if (!points_file.empty()) kit.named_files.push_back(points_file);
  if (!kit.publish.licence_file.empty()) kit.named_files.push_back(kit.publish.licence_file);
  for (const NamedText& map : maps) kit.named_files.push_back(map.name);
  kit.bed_map_files = std::move(maps);
  kit.carriages.widest = widest;
  kit.frame.dome.points_mm = std::move(points);
  kit.notes = std::move(notes);
  kit.assumed = std::move(assumed);
  kit.input_sha256 = sha256(covered);
  state_choices(document, kit);
  return kit;
}

Kit read_kit_file(const std::string& path, const std::vector<Setting>& settings) {
  std::error_code error;
  if (std::filesystem::is_directory(path, error)) throw FileError(path, "is a folder; name the kit file in it");
  std::ifstream file(path, std::ios::binary);
  if (!file) throw FileError(path, "cannot be opened; is the name right?");
  std::string text(largest_kit_bytes + 1, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad()) throw FileError(path, "could not be read");
  text.resize(static_cast<std::size_t>(file.gcount()));
  if (text.size() > largest_kit_bytes) {
    throw BadInput(
        path, {{"", "",
                "the file has more than " + std::to_string(largest_kit_bytes) + " bytes, the most that a kit may have",
                "is it another file?"}});
  }
  const std::string folder = std::filesystem::path(path).parent_path().string();
  return read_kit(text, path, folder.empty() ? "." : folder, settings);
}

}  // namespace bedwright
