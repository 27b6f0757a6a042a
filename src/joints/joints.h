// One record a screw: what it clamps, where it holds, what is behind; and which stock length fits.
// Millimetres. G, the grip, is all that lies between the bearing face of the head and the start of the thread
// that holds. Window of lengths L: G + least engagement <= L, and L - G <= what lies ahead of the tip.
// Common practice without a source (design: section 6.4); the thread pitch is ISO 261's, lengths are ISO 888's.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

/// Least length of thread that must hold, in pitches.
inline constexpr double least_engagement_pitches = 5;
/// Free length that stays ahead of a screw's tip.
inline constexpr double tip_clearance_mm = 0.3;
/// How much of its thickness a clamped printed layer may lose with time; common practice, no source.
inline constexpr double settling_share = 0.01;

struct JointLayer {
  std::string name;
  double mm = 0, plus_minus_mm = 0;
  bool printed = false;
};

struct Anchor {
  std::string kind = "tapped";  ///< carriage, insert, tapped, nut
  double depth_mm = 0;          ///< length of thread there
  bool blind = false;           ///< the tip cannot leave at the far end
};

/// What the tip would meet behind a through anchor.
struct Behind {
  bool known = true;
  std::string what = "nothing";
  std::optional<double> clear_mm;  ///< empty: nothing there, no limit
};

struct Joint {
  std::string id, thread;
  std::string head = "socket";
  double washer_mm = 0;
  std::vector<JointLayer> layers;
  Anchor anchor;
  Behind behind;
  std::string also_holds = "none";  ///< empty: nobody has answered
  std::vector<double> stock_mm;     ///< lengths at hand, used before others
  int count = 1;
  std::string part;     ///< the part's id, or empty
  std::string purpose;  ///< for the hardware list: "adapter plate to carriage"
};

struct JointSolution {
  Joint joint;
  double grip_least_mm = 0, grip_greatest_mm = 0;
  double window_least_mm = 0;
  std::optional<double> window_greatest_mm;  ///< empty: no limit
  std::optional<double> pick_mm;
  double engagement_mm = 0;  ///< least, with the pick
  bool second_choice = false;
  bool ok = false;
  std::string why;     ///< one sentence
  std::string remedy;  ///< when not ok: the two nearest ways out, in numbers
};

/// 5 pitches; 0 for an unknown thread.
double least_engagement_mm(const std::string& thread);

JointSolution solve_window(const Joint& joint);

/// Lengths at hand for a thread, by the kit's `stock`.
std::vector<double> stock_lengths_of(const Kit& kit, const std::string& thread);

/// The kit's `joints`, already checked by the reader.
std::vector<Joint> joints_of_kit(const Kit& kit);

}  // namespace bedwright
