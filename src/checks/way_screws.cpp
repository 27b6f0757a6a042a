#include "checks/way_screws.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/adapter_plate.h"
#include "parts/part_joints.h"

namespace bedwright {
namespace {

std::string screw_name(const std::string& thread, double length_mm) {
  return thread + "x" + decimal(length_mm, 1);
}

std::string short_by(double engaged_mm) {
  return engaged_mm > -0.005 ? "just where they meet" : decimal(-engaged_mm, 2) + " mm short of";
}

void carriage_screws(const Offered& offered, const WayScrews& screws, ScrewState& state) {
  if (!screws.carriage_length_mm) return;
  const double length = *screws.carriage_length_mm;
  const std::string name = screw_name(screws.carriage_thread, length);
  double least = 1e300, most = -1e300;
  for (const HoleSpot& hole : mounting_holes(*offered.part)) {
    const double grip = posed_z(offered, bearing_mm(*offered.part, !offered.flipped, hole.at));
    least = std::min(least, length - grip);
    most = std::max(most, length - grip);
  }
  if (most < -1e299) return;
  if (least <= 0) {
    state.blocked = "the " + name + " screws end " + short_by(least) + " the carriage's thread";
    return;
  }
  if (most > screws.carriage_depth_mm) {
    state.hold = false;
    state.words.push_back("the " + name + " screws bottom and clamp nothing");
  } else if (least < least_engagement_mm(screws.carriage_thread)) {
    state.hold = false;
    state.words.push_back("the " + name + " screws hold by " + decimal(least, 2) + " mm only");
  }
}

void frame_screws(const Surroundings& around, const Offered& offered, const WayScrews& screws, double drop_mm,
                  ScrewState& state) {
  const std::vector<HoleSpot> inserts = insert_holes(*offered.part);
  if (screws.frame.empty() || inserts.empty()) return;
  const Offered right{&around.right, false, around.right_quarter, 0};
  const double insert_length = plate_settings(around.kit, *offered.part).insert.length_mm;
  const Surface sheet =
      transformed(around.layout.underside, shift({-around.placement.at.x, -around.placement.at.y, 0}));
  const CarriageSize& carriage = around.kit.carriages.size;
  double least = 1e300;
  std::string name;  // of the screw that holds least
  bool meets_carriage = false;
  for (Vec2 at : frame_holes(around.placement)) {
    const HoleSpot* nearest = nullptr;
    for (const HoleSpot& hole : inserts)
      if (!nearest || length(posed(offered, hole.at) - at) < length(posed(offered, nearest->at) - at)) nearest = &hole;
    const double opening = nearest->feature->at.z;
    const double near_end = posed_z(offered, offered.flipped ? opening : opening + insert_length);
    const double grip = around.kit.frame.sheet_thickness_mm + height_at(sheet, at) + drop_mm - near_end;
    // Each screw goes back into its own hole of the frame.
    const auto own = std::min_element(screws.frame.begin(), screws.frame.end(), [&](const auto& a, const auto& b) {
      return length(posed(right, a.at) - at) < length(posed(right, b.at) - at);
    });
    const double length_mm = own->length_mm, engaged = std::min(length_mm - grip, insert_length);
    if (engaged < least) name = screw_name(screws.frame_thread, length_mm);
    least = std::min(least, engaged);
    const bool over_carriage = std::fabs(at.x) < carriage.width_mm / 2 && std::fabs(at.y) < carriage.length_mm / 2;
    meets_carriage |= over_carriage && near_end + grip < length_mm;
  }
  if (least > 1e299) return;
  if (least <= 0) {
    state.blocked = "the " + name + " frame screws end " + short_by(least) + " the inserts";
    return;
  }
  if (least < std::min(insert_length, least_engagement_mm(screws.frame_thread))) {
    state.hold = false;
    state.words.push_back("the " + name + " frame screws hold by " + decimal(least, 2) + " mm only");
  }
  if (meets_carriage) {
    state.hold = false;
    state.words.push_back("the frame screws meet the carriage before they clamp");
  }
  if (offered.flipped) {
    state.hold = false;
    state.words.push_back("tightening pulls the inserts out the way they went in");
  }
}

}  // namespace

WayScrews screws_of_part(const Kit& kit, const Part& part) {
  WayScrews screws;
  if (part.family != "adapter_plate") return screws;
  const PlateSettings s = plate_settings(kit, part);
  screws.carriage_thread = s.carriage_screw;
  screws.frame_thread = s.frame_screw;
  if (const CapScrew* head = find_cap_screw(s.carriage_screw)) {
    screws.head_radius_mm = head->head_diameter_mm / 2;
    screws.head_height_mm = head->head_height_mm;
  }
  screws.carriage_depth_mm = kit.carriages.size.thread_depth_mm;
  for (const Joint& joint : joints_of_part(kit, part)) {
    const std::optional<double> pick = solve_window(joint).pick_mm;
    if (!pick) continue;
    if (joint.anchor.kind == "carriage") screws.carriage_length_mm = pick;
    if (joint.anchor.kind != "insert") continue;
    for (const Feature& f : part.features)
      if (joint.id == part.id + "-" + f.id) screws.frame.push_back({{f.at.x, f.at.y}, *pick});
  }
  return screws;
}

ScrewState screws_in(const Surroundings& around, const Offered& offered, const WayScrews& screws, double drop_mm) {
  ScrewState state;
  carriage_screws(offered, screws, state);
  if (state.blocked.empty()) frame_screws(around, offered, screws, drop_mm, state);
  return state;
}

}  // namespace bedwright
