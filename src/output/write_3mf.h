// A print bed as a 3MF package (core specification): one object a part, an item for each copy, millimetres, meshes in
// the one root model. Its two large files may be made at once. Same input, same bytes.
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
};

/// Objects that no item uses are left out. Coordinates are the STL's float32, written so that they read back the same.
/// Positions from the bed's front left corner.
/// Throws Error for an item whose part is no object.
std::string bed_model(const Bed& bed, const std::vector<BedObject>& objects, const BedLabels& labels);
/// A thumbnail of what is on the bed, as PNG. Throws as bed_model.
std::string bed_picture(const Bed& bed, const std::vector<BedObject>& objects, Vec2 bed_mm);
/// The package of both.
std::string to_3mf(const std::string& model, const std::string& picture);

}  // namespace bedwright
