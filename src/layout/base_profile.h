// The machine's base as the rails meet it: where it lies under them, and what stands up.
// Machine frame, millimetres. Base face: the plane that the rails, or the spacers under them, lie on.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "kit/kit.h"

namespace bedwright {

/// z of the base's face: below the carriages' tops by their assembly height and the spacers under the rails.
double base_face_mm(const Kit& kit);

struct Span {
  double from = 0, to = 0;
};

/// Where, along Y, base lies under the whole width of a strip about x: no opening, nothing beyond the outline.
/// Exact for straight outlines. Rising, apart from each other.
std::vector<Span> backed_spans(const BaseProfile& base, double x, double half_width);

/// Whether there is base all round a point, to `wall` away.
bool base_holds(const BaseProfile& base, Vec2 at, double wall);

struct BaseBody {
  std::string name;
  Box box;
};

/// The base below its face, in boxes of at most `slab_mm` across where its outline slants (they reach beyond it there,
/// by what it slants over that width), and its raised areas. Openings are taken as closed: what moves must not enter
/// them either. Down to `depth_mm` below the face.
std::vector<BaseBody> base_bodies(const Kit& kit, double depth_mm);

}  // namespace bedwright
