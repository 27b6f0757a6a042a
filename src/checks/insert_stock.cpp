// Inserts at hand of another length than the drawn one: would they do?
#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;
// Least room for displaced plastic beyond an insert, as the plates are drawn with; common practice, no source.
constexpr double least_relief_mm = 0.3;

std::vector<double> inserts_at_hand(const Kit& kit, const std::string& thread) {
  std::vector<double> lengths;
  for (const Json& row : kit.stock)
    if (row.at("thread") == thread && row.contains("insert_lengths_mm"))
      for (const Json& length : row["insert_lengths_mm"]) lengths.push_back(length.get<double>());
  return lengths;
}

/// The joint with another insert in the same pocket: it starts at the pocket's mouth, so a shorter one starts its
/// thread farther from the screw's head.
JointSolution with_insert(const JointSolution& drawn, double length) {
  Joint joint = drawn.joint;
  joint.layers.back().mm += joint.anchor.depth_mm - length;
  joint.anchor.depth_mm = length;
  return solve_window(joint);
}

struct Trial {
  double depth_mm = 0;  ///< the shallowest pocket
  std::vector<JointSolution> joints;
};

Trial trial_of(const Known& known, const Part& part, double length) {
  Trial trial;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::insert_pocket) continue;
    const double depth = find_dimension(f, "depth")->nominal_mm;
    trial.depth_mm = trial.depth_mm > 0 ? std::min(trial.depth_mm, depth) : depth;
  }
  for (const JointSolution& s : known.joints)
    if (s.joint.part == part.id && s.joint.anchor.kind == "insert") trial.joints.push_back(with_insert(s, length));
  return trial;
}

void judge(const Part& part, const InsertSize& insert, double length, const Trial& trial,
           std::vector<Finding>& findings) {
  const std::string what = part.id + ": the " + insert.thread + " insert of " + decimal(length, 2) + " mm at hand ";
  const double needed = length + least_relief_mm;
  if (trial.depth_mm < needed - same_mm) {
    const double proud = length - trial.depth_mm;
    findings.push_back({"insert-stock", Severity::warning, part.id, "",
                        what + (proud > 0 ? "would stand out of its pocket by " + decimal(proud, 2) + " mm"
                                          : "leaves no room for the plastic it displaces"),
                        needed, trial.depth_mm, "mm",
                        "use " + insert.id + ", or make thickness_mm or boss_height_mm " +
                            decimal(needed - trial.depth_mm, 2) + " mm more"});
    return;
  }
  for (const JointSolution& s : trial.joints) {
    if (s.ok) continue;
    findings.push_back({"insert-stock", Severity::warning, part.id, s.joint.id,
                        what + "fits its pocket, but no screw does: " + s.why, s.window_least_mm,
                        s.window_greatest_mm.value_or(s.window_least_mm), "mm", s.remedy});
    return;
  }
  std::string screws;
  for (const JointSolution& s : trial.joints) {
    const std::string screw = s.joint.thread + "x" + decimal(*s.pick_mm, 1);
    if (screws.find(screw) == std::string::npos) screws += (screws.empty() ? "" : ", ") + screw;
  }
  findings.push_back({"insert-stock", Severity::note, part.id, "", what + "does too, with " + screws, length,
                      trial.depth_mm, "mm", "press it flush with the pocket's mouth"});
}

}  // namespace

void check_insert_stock(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->family != "adapter_plate") continue;
    const InsertSize insert = plate_settings(known.kit, *p.part).insert;
    for (double length : inserts_at_hand(known.kit, insert.thread)) {
      if (length > insert.length_mm - same_mm && length < insert.length_mm + same_mm) continue;
      const Trial trial = trial_of(known, *p.part, length);
      if (!trial.joints.empty()) judge(*p.part, insert, length, trial, findings);
    }
  }
}

}  // namespace bedwright
