// A print bed as a 3MF package (core specification): one object a part, an item for each copy, millimetres, meshes in
// the one root model. Same input, same bytes.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "print/pack.h"

namespace bedwright {

/// A part's mesh in the print frame, as the STL has it.
struct BedObject {
  std::string part;
  const Mesh* mesh = nullptr;
};

struct BedLabels {
  std::string title;  ///< "north-bench revision A, bed 1 of 2"
  std::string description;
  std::string kit{}, revision{}, input_sha256{};  ///< metadata in bedwright's own namespace
  Vec2 bed_mm{220, 220};                          ///< for the thumbnail
};

/// Objects that no item uses are left out. Coordinates are the STL's float32, written so that they read back the same.
/// Positions from the bed's front left corner. With a thumbnail of what is on the bed.
/// Throws Error for an item whose part is no object.
std::string to_3mf(const Bed& bed, const std::vector<BedObject>& objects, const BedLabels& labels);

}  // namespace bedwright
