// What a drawing asks for against what the file has. Private to the gauge.
#pragma once

#include <vector>

#include "gauge/compare.h"

namespace bedwright {

/// Features and mesh in the part frame.
struct Placed {
  Mesh mesh;
  std::vector<MeasuredFeature> features;
};

/// Moved by a rigid motion (or a mirror), after scaling about the origin.
Placed placed(const Mesh& mesh, const std::vector<MeasuredFeature>& features, double scale, const Transform& motion);

/// The measured round wall that stands where the feature is drawn, or -1. Looks within 1 mm and 0.5 mm of diameter.
int counterpart(const Feature& feature, const Placed& file);

/// Recessed floors within a mark's or notch's box.
int recesses(const Feature& feature, const Placed& file);

/// The face (or faces) that a seat feature names, fitted in the form that the part's surface has.
struct SeatReading {
  bool found = false;
  std::vector<Vec3> points;
  double lowest_mm = 0;               ///< least z
  double carriage_mm = 0;             ///< z of the largest face that looks down
  double residual_mm = 0;             ///< largest distance of a vertex from the fit
  double radius_x = 0, radius_y = 0;  ///< > 0 crown up, < 0 crown down; 0 for a plane or where not fitted
  Vec2 apex{};
  Vec2 slope{};  ///< of the fitted plane
  double least_off_mm = 0, most_off_mm = 0;  ///< facets above the form, where that is a measured surface
};
SeatReading read_seat(const Feature& seat, const Surface& form, const Placed& file);

/// Every dimension of every feature of the part, in their order.
std::vector<MeasuredDimension> measured_dimensions(const Part& part, const Placed& file);

}  // namespace bedwright
