// What a thing covers of the bed, as cells of a grid.
#pragma once

#include <cstdint>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

/// Rows of bits; bit x of row y is the cell from (x, y) to (x + 1, y + 1) pitches.
class Cells {
 public:
  Cells() = default;
  Cells(int width, int height);

  int width() const { return width_; }
  int height() const { return height_; }
  int words() const { return words_; }
  const std::uint64_t* row(int y) const { return bits_.data() + static_cast<std::size_t>(y) * words_; }
  bool at(int x, int y) const { return row(y)[x >> 6] >> (x & 63) & 1; }
  void fill(int x0, int x1, int y);  ///< cells x0 up to, not including, x1
  int count() const;

  /// 0 where `other`, its corner at (x, y), meets no filled cell here; else by how much farther along x it must at
  /// least go. It must lie within, and 64 columns beyond it must be here.
  int blocked(const Cells& other, int x, int y) const;
  /// Adds `other` with its corner at (x, y); what lies outside is left out.
  void add(const Cells& other, int x, int y);

  Cells turned() const;  ///< by 90 degrees, counter-clockwise
  /// Every cell nearer than `gap` pitches to a filled one too; `margin` is how many cells it grew on each side.
  Cells grown(double gap, int& margin) const;

 private:
  int width_ = 0, height_ = 0, words_ = 0;
  std::vector<std::uint64_t> bits_;
};

/// The cells that the mesh's facets touch in plan; its origin is their middle.
Cells outline_cells(const Mesh& mesh, double pitch_mm);
/// All cells of a box round its middle.
Cells box_cells(Vec2 size_mm, double pitch_mm);

}  // namespace bedwright
