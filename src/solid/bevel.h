// The inner loop of a 45 degree bevel: the outline moved inward.
#pragma once

#include "base/loop.h"

namespace bedwright {

/// A convex loop moved inward by `by` > 0. Arcs keep their centres; corners with a radius of `by` or less become sharp.
/// Throws CannotBuild (code bevel-too-wide) if nothing is left.
Loop moved_inward(const Loop& loop, double by);

}  // namespace bedwright
