// Parts with their meshes, both made from one short list by tests/gauge/shapes, for tests of comparisons.
#pragma once

#include <string>
#include <vector>

#include "gauge/shapes.h"
#include "parts/part.h"

namespace samples {

using bedwright::Mesh;
using bedwright::Part;
using bedwright::Vec2;

struct Item {
  enum class Kind { hole, counterbore, slot, boss_below, boss_above, pocket_below } kind = Kind::hole;
  std::string id;
  Vec2 at;
  double diameter = 0;  ///< the wide one
  double inner = 0;     ///< hole below a counterbore, pocket in a boss
  double extra = 0;     ///< slots
  double level = 0;     ///< floor, or a boss' free end
};

struct Recipe {
  std::string id;
  Vec2 size;
  double corner = 4;
  bedwright::Surface seat;
  std::vector<Item> items;
};

Part part_of(const Recipe& recipe);
Mesh mesh_of(const Recipe& recipe);

/// Three plates without any symmetry: sphere crown up, cylinder crown up, two radii crown down; bosses below,
/// counterbores above.
std::vector<Recipe> three_plates();
/// The recipe mirrored in x, as the other hand would be drawn.
Recipe other_hand(Recipe recipe, const std::string& id);
/// A plain ring, its own mirror image, unchanged by any turn about Z and by turning over.
Recipe plain_ring();

}  // namespace samples
