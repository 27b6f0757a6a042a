// Is the printed support plate stiff enough, and what is gained? The plate itself as a model of its features, beside
// the sheet that it replaces.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/finding.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "mechanics/plate_model.h"
#include "parts/part.h"

namespace bedwright {

/// Poisson's ratios: printed plastic from memory (0.33 to 0.4), metals from handbooks.
inline constexpr double printed_poisson = 0.35, metal_poisson = 0.3;

/// What a part print may press a corner of the bed down by before the first layers show it. Common practice, no source.
inline constexpr double part_sag_limit_mm = 0.05;

/// What the coarse grid of support_stiffness may be off by: sags and frequencies printed from it hold to this share.
inline constexpr double stiffness_grid_error = 0.1;

struct Stiffness {
  double mass_g = 0;
  double bed_sag_mm = 0;   ///< at the mounts, under the bed, the load and the plate's own weight
  double load_sag_mm = 0;  ///< of it, what the load alone adds: levelling cannot take that away
  double first_hz = 0;     ///< with the bed's mass at the mounts; supported at the carriage screws
  bool small_deflection = true;
};

/// The part seen from above as cells of material: a cell where its middle lies in a feature. Grid lines run along every
/// straight-sided feature's box; round holes and standoffs count only where a cell's middle meets them. Bounds at the
/// seat count as flat at part.seat.height. Cells are at most `cell_mm` wide.
PlateModel plate_model_of(const Part& part, double modulus_mpa, double poisson, double density_g_cm3, double cell_mm);

/// Supported at the carriage screws; the bed's mass stands on the mounts in equal parts.
Stiffness support_stiffness(const Kit& kit, const Layout& layout, const Part& part);
/// The kit's own sheet, taken as flat and as large as carriages, frame holes and mounts need.
Stiffness sheet_stiffness(const Kit& kit, const Layout& layout, double load_g);

/// Of each support plate: support-stiffness (note: both side by side, and the moving mass), support-sag (warning),
/// support-heavy (warning).
std::vector<Finding> stiffness_findings(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts,
                                        const std::vector<double>& masses_g);

}  // namespace bedwright
