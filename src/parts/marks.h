// Engraved marks: id, revision, UP and an arrow, as large as the free part of the upper face allows.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

inline constexpr double mark_depth_mm = 0.6;  ///< three layers of 0.2; common practice, no source

struct Arrow {
  Vec2 toward;         ///< unit, part frame
  std::string letter;  ///< beside it: "F" for the machine's front, "C" for its centre
  std::string words;   ///< "arrow to the front"
};

/// Words are kept whole; a line may break between them (and a space stands between two on a line, unless the first
/// ends in a hyphen). Characters without a glyph are left out.
struct MarkWish {
  std::vector<std::string> words;
  std::optional<Arrow> arrow;
  double depth_mm = mark_depth_mm;
  std::vector<Loop> keep_clear;  ///< what will lie on the face: screw heads that no counterbore takes
};

/// The words of an id in capitals, breakable after its hyphens: "ADAPTER-", "A".
std::vector<std::string> words_of_id(const std::string& id);

/// The arrow that is true at every placement the part serves: to the front for one placement, else to the machine's
/// centre, else (parts that stand the same way everywhere) to the front. Chooses part.quarter_turns among the turns
/// that the part's own symmetry allows, so that the arrow holds. Nothing where no arrow is true everywhere.
std::optional<Arrow> true_arrow(const Layout& layout, Part& part);
/// Where there is none: how the part lies at its places, and that no side of it faces the front, or the machine's centre,
/// at all of them.
std::string why_no_arrow(const Part& part);

/// Whether an arrow that points along `toward` in the part frame points to the front (or to the machine's centre) at
/// each placement of the part, within 1 degree.
bool arrow_holds(const Layout& layout, const Part& part, Vec2 toward, bool to_centre);

/// Adds mark features (one a line, floors at one level) with the largest lettering that stays 1.2 mm inside the outline
/// and 0.8 mm clear of every other feature near the upper face. Sets visible_mark, mark_face, mark_text; or states
/// that there is no room.
void engrave(Part& part, const MarkWish& wish, const std::string& face);

}  // namespace bedwright
