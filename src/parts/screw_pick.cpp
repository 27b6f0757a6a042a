#include "parts/screw_pick.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

constexpr double neat_mm = 0.05;        // grips are stated to this step where the window allows
constexpr double ample_room_mm = 0.15;  // to either end of a window: printed height plus the head's own tolerance

}  // namespace

std::optional<ScrewPick> pick_screw(const std::string& thread, const Anchor& anchor, const JointRules& rules,
                                    double least, double greatest) {
  std::optional<ScrewPick> best;
  double best_room = 0;
  for (const StockLength& length : standard_lengths(thread)) {
    if (length.choice != 1) continue;
    const GripRange w = grips_for(length.mm, thread, anchor, rules);
    if (w.least > w.greatest || std::max(w.least, least) > std::min(w.greatest, greatest) + 1e-9) continue;
    const double middle = std::round((w.least + w.greatest) / 2 / neat_mm) * neat_mm;
    const double grip = std::clamp(std::clamp(middle, w.least, w.greatest), least, greatest);
    // Beyond ample room more is no better: then the longer grip wins, with more material under the head.
    const double room = std::min({grip - w.least, w.greatest - grip, ample_room_mm});
    if (best && room < best_room - 1e-9) continue;
    best = ScrewPick{length.mm, grip, w.least, w.greatest};
    best_room = std::max(room, 0.0);
  }
  return best;
}

}  // namespace bedwright
