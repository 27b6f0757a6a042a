// A block whose right face leans out: `out` over a height of 4, 20 deep.
#pragma once

#include "base/mesh.h"

namespace bedwright {

inline Mesh wedge(double out) {
  return {{{0, 0, 0}, {30, 0, 0}, {30 + out, 0, 4}, {0, 0, 4}, {0, 20, 0}, {30, 20, 0}, {30 + out, 20, 4}, {0, 20, 4}},
          {{{0, 5, 1}},
           {{0, 4, 5}},
           {{3, 2, 6}},
           {{3, 6, 7}},
           {{1, 5, 6}},
           {{1, 6, 2}},
           {{0, 3, 7}},
           {{0, 7, 4}},
           {{0, 1, 2}},
           {{0, 2, 3}},
           {{4, 6, 5}},
           {{4, 7, 6}}}};
}

}  // namespace bedwright
