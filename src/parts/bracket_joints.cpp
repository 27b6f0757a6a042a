// The screws of an end bracket as joints.
#include <cmath>

#include "base/numbers.h"
#include "joints/read_joint.h"
#include "kit/hardware.h"
#include "parts/bracket_designer.h"
#include "parts/end_bracket.h"

namespace bedwright {
namespace {

constexpr double nut_washer_mm = 0.5;  // ISO 7089 M3; the table's own where it has the thread

Joint started(const Kit& kit, const std::string& part, const std::string& material, const std::string& hole,
              const std::string& thread, int count) {
  Joint j;
  j.id = part + "-" + hole;
  j.thread = thread;
  j.stock_mm = stock_lengths_of(kit, thread);
  j.count = count;
  j.part = part;
  j.rules = kit.joint_rules;
  if (j.rules.clamp_limit_by_material) j.rules.clamp_limit_mpa = clamp_limit_mpa(material);
  return j;
}

double under_head_mm(const Feature& hole) {
  const double far =
      hole.axis.x + hole.axis.y + hole.axis.z > 0 ? hole.from.z_mm + beyond_face_mm : hole.to.z_mm - beyond_face_mm;
  return std::fabs(along_axis(hole.along, hole.at) - far);
}

}  // namespace

double table_value(const char* table, const std::string& thread, const char* key, double otherwise) {
  for (const Json& row : hardware_table(table).at("rows"))
    if (row.at("thread") == thread) return row.at(key).get<double>();
  return otherwise;
}

Joint base_joint(const Kit& kit, const std::string& part, const std::string& material, int count, const Json& screw,
                 double clearance_mm, double plastic_mm) {
  const std::string thread = screw.at("screw").get<std::string>();
  Joint j = started(kit, part, material, "screw-" + screw.at("id").get<std::string>(), thread, count);
  j.head = screw.value("head", "socket");
  j.hole_mm = clearance_hole_mm(thread, screw.at("fit").get<std::string>());
  j.layers = {{part, plastic_mm, kit.joint_rules.printed_plus_minus_mm, true}};
  // Drawn against the base there is no gap; drawn away from it on the other side, all of it.
  if (clearance_mm > 0) j.layers.push_back({"gap to the base", clearance_mm / 2, clearance_mm / 2, false});
  if (const double between = screw.value("between_mm", 0.0); between > 0)
    j.layers.push_back({"base", between, 0, false});
  j.washer_mm = screw.value("washer_mm", 0.0);
  j.anchor = anchor_of(screw.at("anchor"));
  j.behind = behind_of(screw.value("behind", Json("unknown")));
  j.also_holds = screw.value("also_holds", "");
  j.purpose = part + " to the base";
  return j;
}

Joint split_joint(const Kit& kit, const std::string& part, const std::string& material, int count,
                  const std::string& thread) {
  Joint j = started(kit, part, material, "split-screw", thread, count);
  j.layers = {{part, split_wall_mm, kit.joint_rules.printed_plus_minus_mm, true},
              {"the other half", split_wall_mm, kit.joint_rules.printed_plus_minus_mm, true}};
  j.hole_mm = clearance_hole_mm(thread, "medium");
  j.anchor = {"nut", table_value("nuts", thread, "height_mm", 0), false, ""};
  // The hole goes on as far again.
  j.behind.what = "the end of its hole";
  j.behind.clear_mm = split_wall_mm - table_value("nuts", thread, "height_mm", 0);
  j.purpose = "the halves of an end bracket";
  return j;
}

std::vector<Joint> bracket_joints(const Kit& kit, const Part& part) {
  std::vector<Joint> joints;
  const std::string& thread = kit.rails.size.screw;
  for (const Feature& f : part.features) {
    if (f.id.rfind("rail-slot-", 0) == 0) {
      Joint j = started(kit, part.id, part.material, f.id, thread, part.quantity);
      j.layers = {{"rail", kit.rails.under_head_mm, 0, false},
                  {part.id, f.at.z, kit.joint_rules.printed_plus_minus_mm, true}};
      j.hole_mm = clearance_hole_mm(thread, "medium");
      j.slot_mm = part.settings.at("slot_mm").get<double>();
      j.nut_washer_mm = table_value("washers", thread, "thickness_mm", nut_washer_mm);
      j.anchor = {"nut", table_value("nuts", thread, "height_mm", 0), false, ""};
      j.behind = behind_of(part.settings.value("below", Json("unknown")));
      j.purpose = "rails to " + part.id;
      joints.push_back(std::move(j));
    } else if (f.id == "split-screw" && f.axis.x < 0) {
      joints.push_back(
          split_joint(kit, part.id, part.material, part.quantity, part.settings.at("split_screw").get<std::string>()));
    }
    for (const Json& screw : part.settings.value("screws", Json::array()))
      if (f.id == "screw-" + screw.at("id").get<std::string>())
        joints.push_back(base_joint(kit, part.id, part.material, part.quantity, screw,
                                    part.settings.at("clearance_mm").get<double>(),
                                    crosses(f) ? under_head_mm(f) : f.at.z));
  }
  return joints;
}

}  // namespace bedwright
