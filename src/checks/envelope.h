// Which other machines a finished set still fits: the parts stay as they are, one measure of the machine changes at a
// time, and holes, seats and screws are tried again. Lengths mm.
// Seats: up to 0.05 mm of gap is left alone (more is a soft foot: a rule of shaft alignment), up to 0.2 mm is shimmed
// (above it this project calls a seat wrong). Sheet and plates are held level; plates shift in their play, do not turn.
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "checks/line_up.h"
#include "joints/joints.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

/// A machine as it differs from the kit's.
struct OtherMachine {
  double pitch_x_mm = 0, pitch_y_mm = 0;  ///< added to the distance of left and right, front and rear frame holes
  double sheet_mm = 0;                    ///< added to the sheet's thickness
  double curvature_share = 1;             ///< the dome's radii divided by it; 0 is flat
  double carriages_mm = 0;                ///< added to all carriages' height
  double step_mm = 0;                     ///< one carriage lower (or the others higher) by that
};

enum class FitsAs { yes, with, no };
struct FitVerdict {
  FitsAs fits = FitsAs::yes;
  std::string with;   ///< what makes it fit: "M4x12 screws", "shim where the gap is"
  std::string why;    ///< what stands against it
  double gap_mm = 0;  ///< largest over the seats
};

inline constexpr double soft_foot_mm = 0.05;

struct FitRange {
  std::optional<double> least, greatest;  ///< empty: no limit within reason
};

struct EnvelopeRow {
  std::string id, what, measure;  ///< "hole-pitch-x"; in words; how to take it
  double value = 0;               ///< of the kit's own machine
  FitRange yes, with;             ///< `with` contains `yes`
  std::string low_why, high_why;  ///< what ends `with` (or `yes` where nothing helps)
  std::string low_with, high_with;
};

class Envelope {
 public:
  /// `joints`: as solved for the set.
  Envelope(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
           const std::vector<JointSolution>& joints);
  FitVerdict judge(const OtherMachine& machine) const;
  /// Empty for a kit without adapter plates.
  std::vector<EnvelopeRow> rows() const;

 private:
  struct Place {
    const Part* part;
    const Placement* placement;
    int quarter;
    std::vector<Vec3> seat;     ///< points of the seat, machine frame
    std::vector<Fit> carriage;  ///< its holes over the carriage's threads
    std::vector<Fit> frame;     ///< its inserts under the frame's holes
  };
  void find_holes(Place& place) const;
  /// What has been judged already, each by the measures that it depends on.
  struct Judged {
    std::map<std::array<double, 2>, std::pair<bool, std::string>> holes;  ///< pitches
    std::map<std::array<double, 3>, FitVerdict> screws;                   ///< sheet, carriages, step
    std::map<std::array<double, 4>, double> gaps;                         ///< pitches, sheet, curvature
  };
  FitVerdict judge(const OtherMachine& machine, Judged& known) const;
  double gap(const OtherMachine& machine) const;
  bool holes_pass(const OtherMachine& machine, std::string& why) const;
  void judge_screws(const OtherMachine& machine, FitVerdict& verdict) const;

  const Kit& kit_;
  const Layout& layout_;
  const std::vector<JointSolution>& joints_;
  std::vector<Place> places_;
};

}  // namespace bedwright
