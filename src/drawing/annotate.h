// How dimensions and callouts are put on paper. Lengths here are paper millimetres.
#pragma once

#include <string>
#include <vector>

#include "drawing/page.h"

namespace bedwright {

inline constexpr double note_cap_mm = 2.5;        ///< ISO 3098's smallest
inline constexpr double text_row_mm = 4;          ///< from base line to base line
inline constexpr double ordinate_apart_mm = 3.7;  ///< between neighbouring running dimensions
inline constexpr double extension_gap_mm = 1, extension_past_mm = 1.5;

/// Places as near as may be to the wanted ones (rising), none nearer to its neighbour than `apart`.
std::vector<double> spread(const std::vector<double>& wanted, double apart);

/// A dimension between two points along x (or, `upright`, along y), its line at `line_at` on the other axis; extension
/// lines start a gap away from the points.
void linear_dimension(Page& page, Vec2 a, Vec2 b, bool upright, double line_at, const std::string& text);

/// One running dimension (ISO 129-1): a place on the axis, where its extension line begins, what it says.
struct Ordinate {
  double at = 0, from = 0;
  std::string text;
};
/// Below a view (extension lines run down to `row`, text turned) or, `leftward`, at its left. `at` and `from` on paper.
/// Text lies beyond `row`.
void ordinates(Page& page, std::vector<Ordinate> list, bool leftward, double row);
/// How far the texts reach beyond `row`, and the extent that spreading takes.
double ordinate_depth(const std::vector<Ordinate>& list);
PaperBox ordinate_extent(const std::vector<Ordinate>& list);  ///< only x is meant: low and high place

/// A note with a leader. The places it may point at: where the arrow's tip goes for a leader that comes from above
/// right.
struct Callout {
  std::vector<Vec2> tips;
  std::vector<std::string> lines;
};
struct PlacedCallout {
  Vec2 tip, end;  ///< leader, from the arrow to the shelf beside the text
  Vec2 text;      ///< left (leftward: right) end of the lowest line's base line
  std::vector<std::string> lines;
  bool leftward = false;  ///< the text runs to the left of its shelf
};
/// Above `top`, so that no leader runs through a text or another leader. Leaders lean to the right and texts run on
/// there, or all mirrored.
std::vector<PlacedCallout> placed_above(std::vector<Callout> callouts, double top, bool leftward = false);
void draw_callout(Page& page, const PlacedCallout& callout);
PaperBox box_of(const PlacedCallout& callout);

/// Whether a box is clear of every text, line and arrowhead of the page.
bool is_clear(const Page& page, const PaperBox& box);

}  // namespace bedwright
