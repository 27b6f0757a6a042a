// One record a screw: what it clamps, where it holds, what is behind; and which stock length fits.
// Millimetres. G, the grip, is all that lies between the bearing face of the head and the start of the thread
// that holds. Window of lengths L: G + least engagement <= L, and L - G <= what lies ahead of the tip.
// Common practice without a source (design: section 6.4); the thread pitch is ISO 261's, lengths are ISO 888's, and
// the numbers of the rules are the kit's (JointRules).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "joints/lengths.h"
#include "kit/kit.h"

namespace bedwright {

struct JointLayer {
  std::string name;
  double mm = 0, plus_minus_mm = 0;
  bool printed = false;
  bool spreads = true;  ///< a solid face that spreads the head's load; not posts or springs
};

struct Anchor {
  std::string kind = "tapped";  ///< carriage, insert, tapped, nut
  double depth_mm = 0;          ///< length of thread there
  bool blind = false;           ///< the tip cannot leave at the far end
  std::string pressed_from;     ///< inserts: head, far; empty if not said
};

/// What the tip would meet behind a through anchor.
struct Behind {
  bool known = true;
  std::string what = "nothing";
  std::optional<double> clear_mm;  ///< empty: nothing there, no limit
};

/// The screw that a joint already has, where it holds well enough, and how much what it clamps grows.
struct ExistingScrew {
  double length_mm = 0, grows_mm = 0;
};

struct Joint {
  std::string id, thread;
  std::string head = "socket";
  double washer_mm = 0;
  double washer_outer_mm = 0;       ///< 0: ISO 7089
  double nut_washer_mm = 0;         ///< under the nut; 0: none
  double hole_mm = 0, slot_mm = 0;  ///< under the head; hole 0: ISO 273 medium
  double printed_outer_mm = 0;      ///< the printed face that bears is a ring of this diameter; 0: wide
  std::vector<JointLayer> layers;   ///< from the head on
  Anchor anchor;
  Behind behind;
  std::string also_holds = "none";  ///< empty: nobody has answered
  std::vector<double> stock_mm;     ///< lengths at hand, used before others
  std::optional<ExistingScrew> existing;
  std::optional<double> torque_nm;  ///< what the kit wants, if it says
  int count = 1;
  std::string part;     ///< the part's id, or empty
  std::string purpose;  ///< for the hardware list: "adapter plate to carriage"
  JointRules rules;
};

struct JointSolution {
  Joint joint;
  double grip_least_mm = 0, grip_greatest_mm = 0;          ///< worst case, settled and not
  double grip_rss_least_mm = 0, grip_rss_greatest_mm = 0;  ///< root sum of squares instead; settling in full
  double needed_mm = 0;                                    ///< least engagement
  double window_least_mm = 0;
  std::optional<double> window_greatest_mm;  ///< empty: no limit
  std::vector<StockLength> fits;             ///< what may be taken, at hand first, then first choice, then second
  std::optional<double> pick_mm;
  double length_tolerance_mm = 0;  ///< of the pick: plus or minus
  double engagement_mm = 0;        ///< least, with the pick
  double engagement_turns = 0;
  std::optional<double> tip_free_mm;  ///< least free way ahead of the pick's tip; empty: no limit
  bool second_choice = false;
  bool ok = false;
  std::string why;     ///< one sentence
  std::string remedy;  ///< when not ok: the two nearest ways out, in numbers
};

/// What must hold at an anchor: 5 pitches, or what the rules say; in a nut no more than ISO 4032's height, since a
/// standard nut holds its screw. 0 for an unknown thread.
double least_engagement_mm(const std::string& thread, const Anchor& anchor = {}, const JointRules& rules = {});

/// Free way of the tip past the start of the thread, tip clearance left; empty where nothing limits it.
std::optional<double> reach_mm(const Anchor& anchor, const Behind& behind, const JointRules& rules);

/// Thicknesses of one printed layer with which a length holds and stays clear, worst case. least > greatest: none.
struct GripRange {
  double least = 0, greatest = 0;
};
GripRange grips_for(double length_mm, const std::string& thread, const Anchor& anchor, const JointRules& rules);

JointSolution solve_window(const Joint& joint);

/// The two nearest ways to a stock length, one thinner and one thicker where there are both:
/// "plate 6.0 -> 5.4 takes M3x8", "washer 0.5 takes M3x10".
std::vector<std::string> remedies_for(const JointSolution& solution);

/// Lengths at hand for a thread, by the kit's `stock`.
std::vector<double> stock_lengths_of(const Kit& kit, const std::string& thread);

/// The screws that hold both rails, by what the kit says of the base; nothing where it says nothing.
std::optional<Joint> rail_joint(const Kit& kit, int screws);

/// The kit's `joints`, already checked by the reader.
std::vector<Joint> joints_of_kit(const Kit& kit);

}  // namespace bedwright
