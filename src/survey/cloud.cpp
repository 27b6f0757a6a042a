#include "survey/cloud.h"

#include <algorithm>

namespace bedwright {

Cloud cloud_of(const std::vector<Vec3>& points) {
  Cloud cloud;
  cloud.count = points.size();
  cloud.some = &points;
  cloud.pieces = pieces_of_cloud(points.size());
  cloud.give = [&points](std::size_t piece, const Cloud::Run& take) {
    const std::size_t first = piece * points_a_piece;
    take(points.data() + first, std::min(points_a_piece, points.size() - first));
  };
  return cloud;
}

}  // namespace bedwright
