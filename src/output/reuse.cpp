#include "output/reuse.h"

#include "base/error.h"
#include "base/numbers.h"
#include "base/program_digest.h"
#include "base/sha256.h"
#include "output/checksums.h"
#include "parts/drawn.h"

namespace bedwright {
namespace {

constexpr const char* format = "bedwright/reuse/1";

// Taken apart whole, as in parts/drawn.cpp: a new member does not compile until it counts here.
std::string printer_text(const PrinterProfile& printer) {
  const auto& [name, nozzle, calibrated, bed, layer, first_layer, line, material, compensation, infill, walls, wishes] =
      printer;
  const auto& [overhang, bridge, seat_step, cooling_from, part_gap, bed_edge, beds, sets, prints_itself] = wishes;
  // Names, masses and how beds are filled make no other part; the compensation is in the drawing.
  (void)name, (void)nozzle, (void)calibrated, (void)compensation, (void)infill, (void)walls;
  (void)part_gap, (void)bed_edge, (void)beds, (void)sets, (void)prints_itself;
  std::string text = material + ";" + cooling_from + ";";
  for (const double v : {bed.x, bed.y, bed.z, layer, first_layer, line, overhang, bridge, seat_step})
    text += shortest(v) + ",";
  return text;
}

Json point(Vec3 p) {
  return {p.x, p.y, p.z};
}
Vec3 to_point(const Json& j) {
  return {j.at(0).get<double>(), j.at(1).get<double>(), j.at(2).get<double>()};
}

Json weighed_json(const Weighed& w) {
  const auto& [way, print_to_part, overhang, bridge_mm2, bridge_mm, support, contact, contact_width, footprint, height,
               staircase, across, time, fits, stands, exact, cost, undersides, cooled] = w;
  Json faces = Json::array();
  for (const Underside& u : undersides) {
    const auto& [low, high, area, hanging, span] = u;
    faces.push_back({point(low), point(high), area, hanging, span});
  }
  return {{"way", static_cast<int>(way)}, {"print_to_part", print_to_part.m}, {"overhang_mm2", overhang},
          {"bridge_mm2", bridge_mm2},     {"bridge_mm", bridge_mm},           {"support_mm3", support},
          {"contact_mm2", contact},       {"contact_width_mm", contact_width}, {"footprint_mm2", footprint},
          {"height_mm", height},          {"staircase_mm", staircase},        {"across_layers", across},
          {"time_min", time},             {"fits", fits},                     {"stands", stands},
          {"exact", exact},               {"cost", cost},                     {"undersides", std::move(faces)},
          {"turned_to_cooling", cooled}};
}

Weighed to_weighed(const Json& j) {
  Weighed w;
  const int way = j.at("way").get<int>();
  if (way < 0 || way > static_cast<int>(Way::on_right)) throw Error("no way of lying");
  w.way = static_cast<Way>(way);
  w.print_to_part.m = j.at("print_to_part").get<std::array<double, 16>>();
  const std::pair<const char*, double*> numbers[] = {
      {"overhang_mm2", &w.overhang_mm2}, {"bridge_mm2", &w.bridge_mm2},
      {"bridge_mm", &w.bridge_mm},       {"support_mm3", &w.support_mm3},
      {"contact_mm2", &w.contact_mm2},   {"contact_width_mm", &w.contact_width_mm},
      {"footprint_mm2", &w.footprint_mm2}, {"height_mm", &w.height_mm},
      {"staircase_mm", &w.staircase_mm}, {"time_min", &w.time_min},
      {"cost", &w.cost}};
  for (const auto& [key, to] : numbers) *to = j.at(key).get<double>();
  const std::pair<const char*, bool*> flags[] = {{"across_layers", &w.across_layers},
                                                 {"fits", &w.fits},
                                                 {"stands", &w.stands},
                                                 {"exact", &w.exact},
                                                 {"turned_to_cooling", &w.turned_to_cooling}};
  for (const auto& [key, to] : flags) *to = j.at(key).get<bool>();
  for (const Json& u : j.at("undersides"))
    w.undersides.push_back({to_point(u.at(0)), to_point(u.at(1)), u.at(2).get<double>(), u.at(3).get<double>(),
                            u.at(4).get<double>()});
  return w;
}

Json pose_json(const Pose& pose) {
  Json tried = Json::array();
  for (Weighed w : pose.tried) {
    w.undersides.clear();  // nobody asks for those of a pose that was not taken
    tried.push_back(weighed_json(w));
  }
  return {{"chosen", weighed_json(pose)}, {"by_kit", pose.by_kit}, {"pointed", pose.pointed},
          {"eased_mm", pose.eased_mm},    {"sharp", pose.sharp},   {"why", pose.why},
          {"tried", std::move(tried)}};
}

Pose to_pose(const Json& j) {
  Pose pose;
  static_cast<Weighed&>(pose) = to_weighed(j.at("chosen"));
  pose.by_kit = j.at("by_kit").get<bool>();
  pose.pointed = j.at("pointed").get<bool>();
  pose.eased_mm = j.at("eased_mm").get<double>();
  pose.sharp = j.at("sharp").get<std::vector<std::string>>();
  pose.why = j.at("why").get<std::string>();
  for (const Json& w : j.at("tried")) pose.tried.push_back(to_weighed(w));
  return pose;
}

/// reuse.json, if it is whole and ours; null otherwise.
Json sound_record(const std::map<std::string, std::string>& files) {
  const auto sums = files.find(checksums_name), record = files.find(reuse_name);
  if (sums == files.end() || record == files.end()) return nullptr;
  try {
    const auto known = read_checksums(sums->second, checksums_name);
    const auto own = known.find(reuse_name);
    if (own == known.end() || own->second != sha256(record->second)) return nullptr;
    Json document = Json::parse(record->second);
    if (document.at("format") != format || document.at("program") != std::string(program_digest())) return nullptr;
    return document;
  } catch (const Error&) {
    return nullptr;
  } catch (const Json::exception&) {
    return nullptr;
  }
}

}  // namespace

std::string inputs_digest(const Kit& kit, const Part& part, const std::string& mating_code) {
  return sha256(std::string(program_digest()) + "\n" + kit.name + "\n" + kit.revision + "\n" + mating_code + "\n" +
                printer_text(kit.printer) + "\n" + drawn_text(part));
}

std::string reuse_json(const std::vector<ReuseEntry>& entries) {
  Json parts = Json::array();
  for (const ReuseEntry& e : entries)
    parts.push_back({{"file", e.file},
                     {"inputs_sha256", e.inputs_sha256},
                     {"sha256", e.sha256},
                     {"pose", pose_json(*e.pose)}});
  const Json document = {{"format", format}, {"program", std::string(program_digest())}, {"parts", std::move(parts)}};
  return document.dump() + "\n";
}

KeptParts kept_parts(const std::map<std::string, std::string>& files) {
  KeptParts kept;
  const Json record = sound_record(files);
  if (record.is_null()) return kept;
  try {
    for (const Json& part : record.at("parts")) {
      const auto stl = files.find(part.at("file").get<std::string>());
      if (stl == files.end() || sha256(stl->second) != part.at("sha256").get<std::string>()) continue;
      kept[part.at("inputs_sha256").get<std::string>()] = {stl->second, to_pose(part.at("pose")), nullptr};
    }
  } catch (const Error&) {
    return {};
  } catch (const Json::exception&) {
    return {};
  }
  return kept;
}

bool made_by_this_program(const std::map<std::string, std::string>& files) {
  return !sound_record(files).is_null();
}

}  // namespace bedwright
