// Points of a survey as they lie: a list, or a large file that is read anew each time it is gone through.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "base/tasks.h"
#include "base/vec.h"

namespace bedwright {

/// Up to so many points are judged one by one; of more only sums and a choice are kept.
inline constexpr std::size_t most_single_points = 20000;

/// A view: what it is of must outlive it.
struct Cloud {
  using Run = std::function<void(const Vec3* points, std::size_t count)>;

  std::size_t count = 0;
  /// All of them, or an even choice at random of more than `most_single_points`.
  const std::vector<Vec3>* some = nullptr;
  std::size_t pieces = 0;  ///< the same number whoever takes them
  /// Hands out a piece's points in runs, in order. May be asked for several pieces at once.
  std::function<void(std::size_t piece, const Run& take)> give;
};

inline constexpr std::size_t points_a_piece = 262144;
inline std::size_t pieces_of_cloud(std::uint64_t points) {
  return static_cast<std::size_t>((points + points_a_piece - 1) / points_a_piece);
}

Cloud cloud_of(const std::vector<Vec3>& points);

}  // namespace bedwright
