// What lies on a print bed, seen from in front and above.
#pragma once

#include <vector>

#include "base/mesh.h"
#include "output/png.h"

namespace bedwright {

struct Shown {
  const Mesh* mesh = nullptr;
  Transform place;       ///< to the bed: its front left corner at the origin
  std::size_t kind = 0;  ///< things of one kind have one colour
};

inline constexpr int thumbnail_px = 256;

/// The bed and what stands on it, parallel projection, nearest facet wins. Plus, minus, times, divided and square root
/// only: the same picture everywhere.
Picture thumbnail(const std::vector<Shown>& things, Vec2 bed_mm);

}  // namespace bedwright
