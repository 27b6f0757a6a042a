// A rail where its base is missing: as a beam on the base's edges, its screws and its pads, under the two carriages that
// run along it.
//
// Model: Euler-Bernoulli beam (beam_model.h). The base's edges at a gap and every usable screw are rigid supports, a
// pad's stiffness is shared among the supports on it. Each carriage presses with a quarter of the moving weight.
// Good for: sag well below half the rail's height, slopes below 0.01; no shear, no play of the screws in their holes.
// Millimetres, N, Hz. Positive sag: down.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "layout/rail_line.h"
#include "mechanics/beam_model.h"

namespace bedwright {

/// Of the rectangle width x height that a rail's section fills: its second moment of area, the waist and the screw holes
/// taken off. Common practice, no source: load a rail on two blocks to know.
inline constexpr double rail_moment_share = 0.7;
/// Two screws in every backed stretch hold a rail's direction; one is a hinge. Common practice, no source.
inline constexpr int least_screws_at_an_end = 2;

struct ScrewCost {
  int n = 0;  ///< the screw that is left out
  double sag_mm = 0, first_hz = 0;
};

struct RailBending {
  std::string side;
  double load_n = 0;             ///< of each carriage
  double sag_mm = 0, at_y_mm = 0;  ///< worst at a carriage over the whole travel
  double slope = 0;              ///< greatest at a carriage, radians
  double difference_mm = 0;      ///< greatest between the two carriages: a height error along the rail
  double limit_mm = 0;           ///< makers' for that
  double used_percent() const { return limit_mm > 0 ? 100 * difference_mm / limit_mm : 0; }
  double first_hz = 0;           ///< with the carriages where they sag most; 0: backed all along
  bool small_deflection = true;  ///< sag below half the rail's height and slope below 0.01
  int front_screws = 0, rear_screws = 0;  ///< usable in the frontmost and rearmost backed stretch
  std::vector<ScrewCost> lost;            ///< the two nearest to each gap, one at a time
  std::optional<double> middle_support_mm;  ///< y of a support that would help, where the limit is passed
  double with_support_mm = 0;               ///< difference_mm then
};

/// `moving_g`: all that the carriages bear, a print included.
RailBending rail_bending(const Kit& kit, const Layout& layout, const RailLine& line, double moving_g);

/// Whether two rails bend alike: screws, what backs them, pads and gaps along Y are the same.
bool bend_alike(const RailLine& a, const RailLine& b);

/// The beam itself, x from the rail's front end; carriages at y_front and y_front + spacing (machine Y).
BeamModel rail_beam(const Kit& kit, const RailLine& line, double load_n, double y_front, double y_rear);

}  // namespace bedwright
