#include "parts/screw_pick.h"

#include <algorithm>

namespace bedwright {
namespace {

constexpr double least_engagement_pitches = 5;
constexpr double end_clearance_mm = 0.3;

// Shortest length that ISO 4762:2004 table 1 lists (from memory).
double shortest_length(const std::string& thread) {
  if (thread == "M2") return 3;
  if (thread == "M2.5") return 4;
  if (thread == "M3") return 5;
  if (thread == "M4") return 6;
  if (thread == "M5") return 8;
  return 10;
}

}  // namespace

std::vector<double> stock_lengths(const std::string& thread) {
  // ISO 888, first choice (14, 18, 22 and 28 are second choice).
  std::vector<double> lengths;
  for (double length : {3., 4., 5., 6., 8., 10., 12., 16., 20., 25., 30., 35., 40., 45., 50., 55., 60.})
    if (length >= shortest_length(thread)) lengths.push_back(length);
  return lengths;
}

Window grip_window(double length_mm, const BlindThread& thread) {
  return {length_mm - (thread.depth_mm - end_clearance_mm), length_mm - least_engagement_pitches * thread.pitch_mm};
}

std::optional<ScrewPick> pick_screw(const std::string& thread_id, const BlindThread& thread, double least,
                                    double greatest) {
  std::optional<ScrewPick> best;
  double best_room = 0;
  for (double length : stock_lengths(thread_id)) {
    const Window w = grip_window(length, thread);
    if (w.least > w.greatest || std::max(w.least, least) > std::min(w.greatest, greatest) + 1e-9) continue;
    const double grip = std::clamp((w.least + w.greatest) / 2, least, greatest);
    const double room = std::min(grip - w.least, w.greatest - grip);
    if (best && room < best_room - 1e-9) continue;
    best = ScrewPick{length, grip, w.least, w.greatest};
    best_room = std::max(room, 0.0);
  }
  return best;
}

}  // namespace bedwright
