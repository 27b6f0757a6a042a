// Where a carriage screw's head bears, so that a screw length from stock ends inside its window.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace bedwright {

/// What limits a screw into a blind thread. Lengths mm.
struct BlindThread {
  double pitch_mm = 0, depth_mm = 0;
};

struct ScrewPick {
  double length_mm = 0, grip_mm = 0;
  double grip_least_mm = 0, grip_greatest_mm = 0;  ///< this length's window
};

/// First-choice lengths of the screw table that cap screws come in, from the shortest that ISO 4762 lists for the
/// thread, ascending.
std::vector<double> stock_lengths(const std::string& thread);

/// Grips that suit a length: enough engagement, a free tip, and the layer may settle (joints.h has the numbers).
/// least > greatest: the thread is too shallow.
struct Window {
  double least = 0, greatest = 0;
};
Window grip_window(double length_mm, const BlindThread& thread);

/// The grip in [least, greatest] with the most room to both ends of a stock length's window (0.15 mm is ample); of
/// equals the longest grip. Nothing if no length fits.
std::optional<ScrewPick> pick_screw(const std::string& thread_id, const BlindThread& thread, double least,
                                    double greatest);

}  // namespace bedwright
