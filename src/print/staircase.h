// The steps that layers leave on a seat.
#pragma once

#include <vector>

#include "base/mesh.h"
#include "parts/part.h"

namespace bedwright {

struct Layering {
  double first_mm = 0.2, layer_mm = 0.2;
};

/// How far above (+) or below (-) the drawn height a layered face ends: layers are cut at half their height, so a face
/// at height z ends where the last layer ends whose middle is not above z.
double step_error(double z_mm, Layering layering);
/// Least and greatest of it over heights from `low` to `high`, exact.
struct StepRange {
  double least = 0, greatest = 0;
};
StepRange step_errors(double low_mm, double high_mm, Layering layering);

/// Facets of `solid` (part frame) that lie on the part's seat and face up; empty for a part without a seat.
std::vector<std::uint32_t> seat_facets(const Part& part, const Mesh& solid);

/// The error of form that the seat will have: greatest less least deviation of the layered seat from the drawn one,
/// along the seat's normal, when `print_to_part` is the pose. A whole seat that is off alike has none: that is a
/// height, not a form.
double staircase_mm(const Mesh& solid, const std::vector<std::uint32_t>& seat, const Transform& part_to_print,
                    Layering layering);

/// The same for round pads of this diameter at these places instead of the full seat, lying as installed with the
/// part's lowest point `below_mm` under z = 0 of the part frame.
double pads_staircase_mm(const Part& part, const std::vector<Vec2>& centres, double diameter_mm, double below_mm,
                         Layering layering);

}  // namespace bedwright
