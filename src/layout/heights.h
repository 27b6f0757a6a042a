// The stack of heights from the machine's base to the nozzle: what the conversion changes, before any part is made.
// Heights are above the face of the base that the rails, or the spacers under them, lie on. Millimetres.
// Worst case: tolerances added up. RSS: root of the sum of their squares (independent terms).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"
#include "layout/layout.h"

namespace bedwright {

struct HeightTerm {
  std::string name;
  double mm = 0;  ///< signed: what lowers is negative
  double plus_minus_mm = 0;
  std::string source;  ///< of the tolerance
};

struct HeightStack {
  std::vector<HeightTerm> terms;
  double sum_mm() const;
  double worst_mm() const;
  double rss_mm() const;
};

/// The old one less the new one, each with its terms.
struct HeightPlan {
  HeightStack frame;                  ///< to the upper face of the frame (or to the support plate's standoffs), at the mounts
  std::optional<HeightStack> bed;     ///< to the top of the bed
  std::optional<HeightStack> rise;    ///< bed: new less old; the frame rises as much less the new spacers
  std::optional<HeightStack> frame_rise;
  /// The clamp's new height less the belt's line at motor and idler. It rises with the sheet; where a support plate takes
  /// the sheet's place it sits on the plate's pad for it, as it sat on the sheet's upper face.
  std::optional<HeightStack> belt;
  std::optional<HeightStack> flag;    ///< the flag's new height less the switch's
  std::optional<HeightStack> nozzle;  ///< gap between nozzle and new bed, homed as before; below 0: driven into it
  double mounts_differ_mm = 0;        ///< greatest less least height of the frame at the mounts, by its dome
  std::optional<double> wanted_mm;    ///< bed.height_mm
  std::optional<double> spacer_mm;    ///< thickness that gives it, of bed.spacer; empty without either
  std::optional<double> plate_change_mm;  ///< without bed.spacer: how much thicker the plates, and so H, would have to be
  std::vector<std::string> missing;   ///< "bed.thickness_mm: the new bed height"
};
HeightPlan height_plan(const Kit& kit, const Layout& layout);

/// "3.34 mm lower than it was", "at the height it had": the bed, new against old. The plan must have `rise`.
std::string rise_words(const HeightPlan& plan);

/// Writes layout.set_thickness_mm. Throws BadInput where the height wanted leaves the spacer no thickness a spacer may
/// have.
void set_thicknesses(const Kit& kit, Layout& layout);

/// A spacer's thickness: its own, or what the height wanted makes of it.
double spacer_thickness_mm(const Layout& layout, const PartRequest& request);

}  // namespace bedwright
