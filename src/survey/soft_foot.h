// Soft foot: gaps found with one mount loosened at a time, and what to put there.
// Source of the 0.05 mm rule (2 thousandths of an inch): shaft-alignment trade pages.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

inline constexpr double soft_foot_limit_mm = 0.05;

/// Feeler readings round one loosened mount, mm; all equal where only one was taken.
struct FootGap {
  std::string mount;
  double front = 0, rear = 0, left = 0, right = 0;
  bool four_sides = false;
};

/// Rows: mount, gap; or mount, front, rear, left, right. Any separator, comments and a header allowed. The same mount
/// may stand in several rows: the mean counts. Throws BadInput with line numbers.
std::vector<FootGap> read_soft_foot(const std::string& text, const std::string& source,
                                    const std::vector<std::string>& mounts);

struct FootAdvice {
  std::string mount;
  double gap_mm = 0;                                 ///< mean over the pad
  double difference_mm = 0;                          ///< greatest less least round it
  bool soft = false;                                 ///< over the limit somewhere
  bool tapered = false;                              ///< its sides differ by more than the limit
  double taper_um_per_mm = 0, taper_toward_deg = 0;  ///< as the shim family has them; thicker where the gap is wider
};

/// In the order of the gaps, widest first. `pad_mm`: distance between opposite readings.
std::vector<FootAdvice> judge_soft_foot(const std::vector<FootGap>& gaps, double pad_mm);

}  // namespace bedwright
