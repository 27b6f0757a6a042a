// A picture of a set: each distinct part as installed, on a white table, seen from the front, the right and above in
// isometric projection, shaded, edges drawn, its name before it.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "output/png.h"

namespace bedwright {

struct PreviewPart {
  const Mesh* solid = nullptr;  ///< part frame
  std::string name;             ///< written before it, as far as the letters go
};

inline constexpr int preview_width_px = 1200, preview_height_px = 750;

/// Three times finer than it is kept, so that edges are smooth. Plus, minus, times, divided and square root only: the
/// same picture everywhere.
TrueColours preview(const std::vector<PreviewPart>& parts);

}  // namespace bedwright
