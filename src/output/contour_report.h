// What `bedwright contour` prints, draws and hands on: a profile as lines and arcs. Millimetres, the profile's own frame.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "survey/contour.h"

namespace bedwright {

struct ContourReport {
  std::string source;  ///< the file
  std::string plane;   ///< "z = 12" for a cut of a mesh, else empty
  double tolerance_mm = 0;
  Outline outline;
  Contour contour;
  std::size_t other_chains = 0;  ///< of a cut: chains that were not the longest
};

/// Faceting of the points that contour_points hands on, mm: what a part's own curves are faceted to.
inline constexpr double handed_chord_mm = 0.01;

nlohmann::json contour_document(const ContourReport& report);
std::string contour_text(const ContourReport& report);
/// The curves as a table of points in order (x_mm,y_mm), arcs within handed_chord_mm: what a kit's outline reads.
std::string contour_points(const ContourReport& report);
/// A4 page: the points and the curves to one scale, joints marked, radii written.
std::string contour_svg(const ContourReport& report);

}  // namespace bedwright
