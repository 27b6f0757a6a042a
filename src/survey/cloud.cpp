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

void for_pieces(const Cloud& cloud, const EachPiece& each, const std::function<void(std::size_t)>& work) {
  if (each && cloud.pieces > 1) return each(cloud.pieces, work);
  for (std::size_t k = 0; k < cloud.pieces; ++k) work(k);
}

}  // namespace bedwright
