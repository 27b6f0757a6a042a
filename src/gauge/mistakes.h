// Names what is wrong with a file. Private to the gauge.
#pragma once

#include "gauge/compare.h"
#include "gauge/dimensions.h"

namespace bedwright {

/// A code of design 6.3 and its sentence.
struct Mistake {
  std::string code, words;
};

/// not-closed, inside-out, partly-inside-out.
std::vector<Mistake> surface_mistakes(const MeshHealth& health, std::size_t facets);

/// upside-down or turned, for a file that is the part; nothing where +Z stays up.
std::vector<Mistake> pose_mistakes(const Transform& file_to_print);

/// wrong-boss-side, wrong-dome, feature-missing, feature-moved, for a file that resembles the part. Both in the part
/// frame. Empty if no feature explains the difference.
std::vector<Mistake> feature_mistakes(const Part& part, const Placed& file, const Placed& solid);

}  // namespace bedwright
