#include "parts/screw_pick.h"

#include <algorithm>
#include <cmath>

#include "joints/joints.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

constexpr double neat_mm = 0.05;        // grips are stated to this step where the window allows
constexpr double ample_room_mm = 0.15;  // to either end of a window: printed height plus the head's own tolerance

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
  std::vector<double> lengths;
  for (const Json& row : hardware_table("screw_lengths").at("rows")) {
    const double length = row.at("length_mm").get<double>();
    if (row.at("choice") == 1 && row.value("cap_screw", true) && length >= shortest_length(thread))
      lengths.push_back(length);
  }
  std::sort(lengths.begin(), lengths.end());
  return lengths;
}

Window grip_window(double length_mm, const BlindThread& thread) {
  // A printed layer may settle to (1 - settling_share) of its height; the tip then comes nearer to the bottom.
  return {(length_mm - (thread.depth_mm - tip_clearance_mm)) / (1 - settling_share),
          length_mm - least_engagement_pitches * thread.pitch_mm};
}

std::optional<ScrewPick> pick_screw(const std::string& thread_id, const BlindThread& thread, double least,
                                    double greatest) {
  std::optional<ScrewPick> best;
  double best_room = 0;
  for (double length : stock_lengths(thread_id)) {
    const Window w = grip_window(length, thread);
    if (w.least > w.greatest || std::max(w.least, least) > std::min(w.greatest, greatest) + 1e-9) continue;
    const double middle = std::round((w.least + w.greatest) / 2 / neat_mm) * neat_mm;
    const double grip = std::clamp(std::clamp(middle, w.least, w.greatest), least, greatest);
    // Beyond ample room more is no better: then the longer grip wins, with more material under the head.
    const double room = std::min({grip - w.least, w.greatest - grip, ample_room_mm});
    if (best && room < best_room - 1e-9) continue;
    best = ScrewPick{length, grip, w.least, w.greatest};
    best_room = std::max(room, 0.0);
  }
  return best;
}

}  // namespace bedwright
