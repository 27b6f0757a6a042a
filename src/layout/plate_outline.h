// The outline of an adapter plate: the rounded hull of the carriage's face and of a round pad about each hole.
#pragma once

#include <string>
#include <vector>

#include "base/loop.h"
#include "layout/layout.h"
#include "layout/plate_settings.h"

namespace bedwright {

/// Centres of the carriage's four threads, plate frame: front-left, front-right, rear-left, rear-right.
std::vector<Vec2> carriage_holes(const CarriageSize& carriage);
/// Frame holes of a placement in the plate frame, in file order.
std::vector<Vec2> frame_holes(const Placement& placement);

/// Plate frame. `outline_mm` is added to widths and lengths (both sides together): 0 for the drawing,
/// the printer's compensation for the model. The hull contains the carriage's whole face, corners included.
Loop plate_outline(const CarriageSize& carriage, const Placement& placement, const PlateSettings& settings,
                   double outline_mm);

/// Centres of the pads of a plate with `seat: pads`: one round each frame hole, and where these are fewer than three, more
/// beyond the carriage screws farthest from them, so that the sheet bears on three points at least. Empty otherwise.
std::vector<Vec2> pad_centres(const CarriageSize& carriage, const Placement& placement, const PlateSettings& settings);

/// Where the sheet bears on the plate: its outline, or the tops of bosses or pads.
std::vector<Loop> plate_seats(const Loop& outline, const CarriageSize& carriage, const Placement& placement,
                              const PlateSettings& settings, double outline_mm);

}  // namespace bedwright
