#include <algorithm>

#include "joints/joints.h"
#include "joints/read_joint.h"

namespace bedwright {

Anchor anchor_of(const Json& from) {
  Anchor anchor;
  anchor.kind = from.at("kind").get<std::string>();
  anchor.depth_mm = from.at("depth_mm").get<double>();
  anchor.blind = anchor.kind == "carriage" || from.value("blind", false);
  anchor.pressed_from = from.value("pressed_from", "");
  return anchor;
}

Behind behind_of(const Json& from) {
  Behind behind;
  if (!from.is_object()) {
    behind.known = false;
    behind.what = "unknown";
    return behind;
  }
  behind.what = from.value("what", "nothing");
  if (behind.what != "nothing") behind.clear_mm = from.value("clear_mm", 0.0);
  return behind;
}

std::vector<double> stock_lengths_of(const Kit& kit, const std::string& thread) {
  std::vector<double> lengths;
  for (const Json& row : kit.stock)
    if (row.at("thread") == thread)
      for (const Json& length : row.at("lengths_mm")) lengths.push_back(length.get<double>());
  return lengths;
}

std::optional<Joint> rail_joint(const Kit& kit, int screws) {
  if (!kit.rails.base || screws < 1) return std::nullopt;
  const RailBase& base = *kit.rails.base;
  Joint j;
  j.id = "rails";
  j.thread = kit.rails.size.screw;
  j.layers = {{"rail", kit.rails.under_head_mm, 0, false}};
  if (base.between_mm > 0) j.layers.push_back({"base", base.between_mm, 0, false});
  j.hole_mm = kit.rails.size.hole_mm;
  j.anchor = {base.kind, base.depth_mm, base.blind, ""};
  j.behind.what = base.behind;
  if (base.behind != "nothing") j.behind.clear_mm = base.clear_mm.value_or(0);
  j.stock_mm = stock_lengths_of(kit, j.thread);
  j.count = screws;
  j.purpose = "rails to base, every hole";
  j.rules = kit.joint_rules;
  return j;
}

std::vector<Joint> joints_of_kit(const Kit& kit) {
  std::vector<Joint> joints;
  const auto was_assumed = [&](const std::string& pointer) {
    return std::any_of(kit.assumed.begin(), kit.assumed.end(), [&](const Note& n) { return n.pointer == pointer; });
  };
  for (std::size_t i = 0; i < kit.joints.size(); ++i) {
    const Json& from = kit.joints[i];
    Joint j;
    j.id = from.at("id").get<std::string>();
    j.thread = from.at("screw").get<std::string>();
    j.head = from.value("head", "socket");
    j.washer_mm = from.value("washer_mm", 0.0);
    j.washer_outer_mm = from.value("washer_outer_mm", 0.0);
    j.hole_mm = from.value("hole_mm", 0.0);
    for (const Json& layer : from.at("layers"))
      j.layers.push_back({layer.value("name", ""), layer.at("mm").get<double>(), layer.value("plus_minus_mm", 0.0),
                          layer.value("printed", false)});
    j.anchor = anchor_of(from.at("anchor"));
    j.behind = behind_of(from.value("behind", Json("unknown")));
    // A default is not an answer.
    const bool answered = !was_assumed("/joints/" + std::to_string(i) + "/also_holds");
    j.also_holds = answered ? from.value("also_holds", "") : "";
    j.stock_mm = from.contains("stock") ? from.at("stock").get<std::vector<double>>() : stock_lengths_of(kit, j.thread);
    if (from.contains("existing"))
      j.existing =
          ExistingScrew{from["existing"].at("length_mm").get<double>(), from["existing"].value("grows_mm", 0.0)};
    if (from.contains("torque_nm")) j.torque_nm = from["torque_nm"].get<double>();
    j.count = static_cast<int>(from.value("quantity", 1.0));
    j.purpose = j.id;
    j.rules = kit.joint_rules;
    joints.push_back(std::move(j));
  }
  return joints;
}

}  // namespace bedwright
