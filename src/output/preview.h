// A picture of a set: each distinct part as installed, on a white table, its name before it; beside them, where it is
// known, the machine with the parts in their places and colours. Seen from the front, the right and above in isometric
// projection, shaded, edges drawn.
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

/// A body of the machine, or a copy of a part in it.
struct PreviewBody {
  Mesh solid;     ///< machine frame
  int part = -1;  ///< whose colour it has; -1: bare metal
};

/// As high as what is shown needs, between these.
inline constexpr int preview_width_px = 1200, least_preview_height_px = 360, preview_height_px = 750;

/// Three times finer than it is kept, so that edges are smooth. Plus, minus, times, divided and square root only: the
/// same picture everywhere.
TrueColours preview(const std::vector<PreviewPart>& parts, const std::vector<PreviewBody>& machine = {});

}  // namespace bedwright
