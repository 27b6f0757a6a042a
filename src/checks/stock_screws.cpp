#include <algorithm>
#include <cmath>
#include <vector>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;

/// What goes wrong with a length outside the window, in a clause; positive `off`: too long.
std::string consequence(const JointSolution& s, double off) {
  if (off < 0) return "it does not reach far enough to hold";
  if (s.joint.anchor.blind) return "it bottoms in the thread before it clamps";
  return "its tip comes too near to " + s.joint.behind.what;
}

struct Miss {
  std::string message, remedy;
  const JointSolution* first = nullptr;
  double length = 0, limit = 0;
  int others = 0;
};

}  // namespace

void check_stock_screws(const Known& known, std::vector<Finding>& findings) {
  std::vector<Miss> misses;  // joints of a part that say the same are one
  for (const JointSolution& s : known.joints) {
    const Joint& joint = s.joint;
    const bool some_fit = std::any_of(s.fits.begin(), s.fits.end(), [](const StockLength& l) { return l.at_hand; });
    if (joint.stock_mm.empty() || some_fit || !s.pick_mm) continue;
    // The nearest miss is the one that somebody will try.
    double length = 0, off = 0;
    for (double mm : joint.stock_mm) {
      const double by = mm < s.window_least_mm ? mm - s.window_least_mm
                        : s.window_greatest_mm ? std::max(mm - *s.window_greatest_mm, 0.0)
                                               : 0;
      if (length == 0 || std::fabs(by) < std::fabs(off)) length = mm, off = by;
    }
    Miss miss;
    miss.message = "the " + joint.thread + "x" + decimal(length, 1) + " at hand is " + decimal(std::fabs(off), 2) +
                   " mm too " + (off > 0 ? "long" : "short") + ": " + consequence(s, off);
    miss.remedy = "take " + joint.thread + "x" + decimal(*s.pick_mm, 1) + "; lengths from " +
                  decimal(s.window_least_mm, 2) +
                  (s.window_greatest_mm ? " to " + decimal(*s.window_greatest_mm, 2) + " mm" : " mm up") + " suit it";
    miss.first = &s;
    miss.length = length;
    miss.limit = off > 0 ? *s.window_greatest_mm : s.window_least_mm;
    const auto same = std::find_if(misses.begin(), misses.end(), [&](const Miss& m) {
      return m.first->joint.part == joint.part && m.message == miss.message && !joint.part.empty();
    });
    if (std::fabs(off) < same_mm) continue;
    if (same != misses.end())
      ++same->others;
    else
      misses.push_back(std::move(miss));
  }
  for (const Miss& m : misses) {
    const Joint& joint = m.first->joint;
    findings.push_back({"stock-screw", Severity::warning, joint.part, joint.id,
                        joint.id + (m.others ? " (and " + std::to_string(m.others) + " more)" : "") + ": " + m.message,
                        m.length, m.limit, "mm", m.remedy});
  }
}

}  // namespace bedwright
