// How an end bracket is designed, step by step. Private to the end bracket's own files.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "base/error.h"
#include "joints/joints.h"
#include "layout/base_profile.h"
#include "layout/bracket_plan.h"
#include "parts/features.h"
#include "parts/loose_part.h"

namespace bedwright {

// All common practice, no source.
inline constexpr double bracket_skin_mm = 1.6;  // between a hole and a face above or below it
inline constexpr double bracket_open_corner_mm = 2;
inline constexpr double bracket_same_mm = 1e-6;

/// A number of the hardware table's row for the thread; `otherwise` where it has none.
double table_value(const char* table, const std::string& thread, const char* key, double otherwise);

double head_bore_mm(const std::string& thread);

/// A screw of the kit's list: through `plastic_mm` of the bracket, the gap to the base, and what lies before its
/// thread.
Joint base_joint(const Kit& kit, const std::string& part, const std::string& material, int count, const Json& screw,
                 double clearance_mm, double plastic_mm);

/// The screw that draws two halves together.
Joint split_joint(const Kit& kit, const std::string& part, const std::string& material, int count,
                  const std::string& thread);
inline constexpr double split_wall_mm = 8;  ///< plastic between the halves' faces and nut or head; common practice

struct BracketHalf {
  std::string id;
  double left = 0, right = 0;
};

struct BracketDesigner {
  const Kit& kit;
  const Layout& layout;
  const PartRequest& request;
  const Json& s = request.settings;
  BracketPlan plan{};
  double up = 1;  ///< +Z of the print, in Z as installed
  double top = 0, pad_top = 0;
  std::vector<Vec2> inner{};        ///< the contour's corners, part frame
  std::vector<Feature> features{};  ///< without the outline; part frame
  struct Said {
    std::string text;
    double from = -1e9, to = 1e9;  ///< X of what it speaks of
  };
  std::vector<Said> said{};
  std::vector<BracketHalf> halves{};

  const Compensation& compensation() const { return kit.printer.compensation; }
  double y_of(double machine_y) const { return machine_y - plan.base_end_mm; }
  double z_of(double above_base) const { return base_face_mm(kit) + above_base - plan.low_mm; }

  void say(const std::string& text) { said.push_back({text}); }
  void say_at(double x, const std::string& text) { said.push_back({text, x, x}); }
  CannotBuild refuse(const char* code, const std::string& feature, const std::string& what,
                     const std::string& cure) const;
  void settle();
  void add_pads();
  void add_contour();
  void add_rail_slots();

  struct Stretch {
    double head = 0, far = 0;  ///< coordinates along the axis, from the head's face on
    bool square = false;       ///< the far face stands square to the axis over the whole hole
  };
  /// Where a line in plan, from `from` toward `way` along the axis, first meets the contour.
  double first_meeting(Along along, double at, double from, double way, double most) const;
  Stretch stretch_of(const Json& screw, Along along, double at, double radius, double* way) const;
  void add_screw(const Json& screw);
  /// Depth of the head below the bracket's face so that a stock length fits: the kit's, else the least in half
  /// millimetres.
  double sink_for(const Json& screw, double plastic) const;
  void add_upright_screw(const Json& screw, Vec2 at, double hole, double bore);
  void add_opening(const Json& opening);
  void settle_halves();
  /// Two pins beside one screw, all along X at half height, over the width of the section.
  void add_split_joint(double at);

  std::string material() const { return s.value("material", kit.printer.material); }
  /// Whether anything of the feature lies within the half.
  bool within(const Feature& f, const BracketHalf& half) const;

  bool split_at(double x) const { return halves.size() > 1 && std::fabs(x - halves[0].right) < bracket_same_mm; }
  Feature body(const BracketHalf& half) const;
  Part part_of(const BracketHalf& half) const;
  /// Chamfers along the straight edges of the half's face on the bed, in X and Y; none where its pads lie on the bed.
  std::vector<Feature> bed_edges(const BracketHalf& half) const;
  /// Turned by quarters, as parts are laid on the bed.
  void refuse_length() const;
  /// Screws leave a skin between themselves and each other, and openings.
  void refuse_crowding() const;
  std::vector<Part> run();
};

}  // namespace bedwright
