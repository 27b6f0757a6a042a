// Corners stay where they are: without this they are moved to a lattice of the library's own.
#define BOOST_GEOMETRY_NO_ROBUSTNESS
// The library includes a header of its own that it calls old.
#define BOOST_ALLOW_DEPRECATED_HEADERS
#include "output/common_rings.h"

#include <boost/geometry/algorithms/append.hpp>
#include <boost/geometry/algorithms/correct.hpp>
#include <boost/geometry/algorithms/intersection.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>

namespace bedwright {
namespace {

namespace bg = boost::geometry;
using Point = bg::model::d2::point_xy<double>;
using Polygon = bg::model::polygon<Point>;

Polygon polygon_of(const std::vector<Vec2>& points) {
  Polygon polygon;
  for (const Vec2 p : points) bg::append(polygon.outer(), Point(p.x, p.y));
  bg::correct(polygon);
  return polygon;
}

}  // namespace

std::vector<std::vector<Vec2>> common_rings(const std::vector<Vec2>& one, const std::vector<Vec2>& other) {
  std::vector<Polygon> pieces;
  bg::intersection(polygon_of(one), polygon_of(other), pieces);
  std::vector<std::vector<Vec2>> rings;
  for (const Polygon& piece : pieces) {
    std::vector<Vec2> points;
    for (const Point& p : piece.outer()) points.push_back({p.x(), p.y()});
    points.pop_back();  // the first again
    rings.push_back(std::move(points));
  }
  return rings;
}

}  // namespace bedwright
