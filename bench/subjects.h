// What is timed: parts of the demo kits, by names that the outside programs are given too.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "kit/kit.h"
#include "parts/part.h"

namespace bench {

struct Subject {
  bedwright::Kit kit;
  bedwright::Part part;
};

std::string kit_path(const std::string& name);

/// plate: north-bench's first adapter, without its bevel (the outside library has none).
/// overlapping: a plate whose bosses cut into each other and over the edge, with counterbores into a boss.
/// crossing: whole-bench's front bracket, with holes and openings along X, Y and Z.
Subject subject(const std::string& name);

/// The part without what is cut along X and Y.
bedwright::Part direct_body(const bedwright::Part& part);

/// Every triangle split into n x n alike; corners that two triangles share come out equal.
bedwright::Mesh subdivided(const bedwright::Mesh& mesh, int n);

/// Vertices that the part's outlines force at its chord error: each loop's least facets, at both of its ends.
std::size_t forced_vertices(const bedwright::Part& part);

}  // namespace bench
