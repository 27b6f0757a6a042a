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

/// First-choice nominal lengths of ISO 888 up to 60 mm from the shortest that ISO 4762 lists for the thread.
std::vector<double> stock_lengths(const std::string& thread);

/// Engagement at least 5 pitches, and the screw's end at least 0.3 mm above the bottom of the thread
/// (common practice, no source). Empty window: the thread is too shallow.
struct Window {
  double least = 0, greatest = 0;
};
Window grip_window(double length_mm, const BlindThread& thread);

/// The grip in [least, greatest] that lies deepest inside the window of a stock length; of equals, the longest grip.
/// Nothing if no length fits.
std::optional<ScrewPick> pick_screw(const std::string& thread_id, const BlindThread& thread, double least,
                                    double greatest);

}  // namespace bedwright
