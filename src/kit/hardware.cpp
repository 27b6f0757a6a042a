#include "kit/hardware.h"

#include <map>

#include "base/embedded.h"
#include "base/error.h"

namespace bedwright {
namespace {

Json load(const std::string& table) {
  const std::string_view text = embedded_file(table + ".json");
  if (text.empty()) throw Error("no built-in table " + table);
  return Json::parse(text.begin(), text.end());
}

std::string text_at(const Json& row, const char* key) {
  return row.at(key).get<std::string>();
}
double at(const Json& row, const char* key) {
  return row.value(key, 0.0);
}

ThreadSize to_thread(const Json& r) {
  return {text_at(r, "id"),           at(r, "diameter_mm"),         at(r, "pitch_mm"),
          at(r, "clearance_fine_mm"), at(r, "clearance_medium_mm"), at(r, "clearance_coarse_mm"),
          at(r, "counterbore_mm")};
}

CapScrew to_cap_screw(const Json& r) {
  return {text_at(r, "thread"), at(r, "head_diameter_mm"), at(r, "head_height_mm"), at(r, "key_mm")};
}

InsertSize to_insert(const Json& r) {
  return {text_at(r, "id"), text_at(r, "thread"),   at(r, "outer_mm"), at(r, "length_mm"),
          at(r, "hole_mm"), at(r, "least_wall_mm"), at(r, "boss_mm")};
}

Material to_material(const Json& r) {
  return {text_at(r, "id"),         at(r, "density_g_cm3"), at(r, "modulus_gpa"),
          at(r, "expansion_per_k"), at(r, "softening_c"),   r.at("printed").get<bool>()};
}

RailSize to_rail(const Json& r) {
  return {text_at(r, "id"),         at(r, "width_mm"), at(r, "height_mm"),      at(r, "hole_pitch_mm"),
          at(r, "end_distance_mm"), at(r, "hole_mm"),  at(r, "counterbore_mm"), at(r, "counterbore_depth_mm"),
          text_at(r, "screw")};
}

CarriageSize to_carriage(const Json& r) {
  return {text_at(r, "id"),         text_at(r, "rail"),      at(r, "assembly_height_mm"), at(r, "width_mm"),
          at(r, "length_mm"),       at(r, "hole_across_mm"), at(r, "hole_along_mm"),      text_at(r, "thread"),
          at(r, "thread_depth_mm"), at(r, "mass_g")};
}

template <typename Row>
std::vector<Row> typed(const char* table, Row (*convert)(const Json&)) {
  std::vector<Row> rows;
  for (const Json& row : hardware_table(table).at("rows")) rows.push_back(convert(row));
  return rows;
}

template <typename Row>
const Row* find(const std::vector<Row>& rows, std::string Row::*name, const std::string& id) {
  for (const Row& row : rows) {
    if (row.*name == id) return &row;
  }
  return nullptr;
}

}  // namespace

const Json& hardware_table(const std::string& table) {
  static const std::map<std::string, Json> tables = [] {
    std::map<std::string, Json> all;
    for (const char* name : {"threads", "cap_screws", "button_screws", "washers", "nuts", "screw_lengths", "rails",
                             "carriages", "inserts", "materials", "general_tolerances"}) {
      all.emplace(name, load(name));
    }
    return all;
  }();
  const auto found = tables.find(table);
  if (found == tables.end()) throw Error("no built-in table " + table);
  return found->second;
}

const ThreadSize* find_thread(const std::string& id) {
  static const auto rows = typed("threads", to_thread);
  return find(rows, &ThreadSize::id, id);
}

const CapScrew* find_cap_screw(const std::string& thread) {
  static const auto rows = typed("cap_screws", to_cap_screw);
  return find(rows, &CapScrew::thread, thread);
}

const InsertSize* find_insert(const std::string& id) {
  static const auto rows = typed("inserts", to_insert);
  return find(rows, &InsertSize::id, id);
}

const Material* find_material(const std::string& id) {
  static const auto rows = typed("materials", to_material);
  return find(rows, &Material::id, id);
}

const RailSize* find_rail(const std::string& id) {
  static const auto rows = typed("rails", to_rail);
  return find(rows, &RailSize::id, id);
}

const CarriageSize* find_carriage(const std::string& id) {
  static const auto rows = typed("carriages", to_carriage);
  return find(rows, &CarriageSize::id, id);
}

std::vector<std::string> hardware_ids(const std::string& table) {
  std::vector<std::string> ids;
  for (const Json& row : hardware_table(table).at("rows")) {
    if (row.contains("id")) {
      ids.push_back(text_at(row, "id"));
    } else if (row.contains("thread")) {
      ids.push_back(text_at(row, "thread"));
    }
  }
  return ids;
}

double clamp_limit_mpa(const std::string& material) {
  constexpr double otherwise = 15;
  for (const Json& row : hardware_table("materials").at("rows"))
    if (row.at("id") == material) return row.value("clamp_limit_mpa", otherwise);
  return otherwise;
}

double clearance_hole_mm(const std::string& thread, const std::string& fit) {
  const ThreadSize* size = find_thread(thread);
  if (!size) return 0;
  if (fit == "fine") return size->clearance_fine_mm;
  if (fit == "medium") return size->clearance_medium_mm;
  return fit == "coarse" ? size->clearance_coarse_mm : 0;
}

double general_tolerance_mm(double size_mm, const std::string& tolerance_class) {
  const Json& rows = hardware_table("general_tolerances").at("rows");
  if (size_mm < rows.front().at("over_mm").get<double>()) return 0;
  for (const Json& row : rows) {
    if (size_mm <= row.at("up_to_mm").get<double>()) return row.value(tolerance_class + "_mm", 0.0);
  }
  return 0;
}

}  // namespace bedwright
