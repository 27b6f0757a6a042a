// Points to outlines: order, cleaning, and the cut of a mesh by a plane.
#include <algorithm>
#include <cmath>
#include <map>

#include "base/error.h"
#include "base/numbers.h"
#include "survey/contour.h"

namespace bedwright {
namespace {

constexpr double double_mm = 1e-6;      // nearer points are one
constexpr double back_cosine = -0.985;  // a turn of more than 170 degrees is a spike, not a corner
constexpr double stray_shares = 5;      // off its neighbours by so many usual distances

BadInput bad(const std::string& message, const std::string& hint) {
  return BadInput("contour", {{"", "", message, hint}});
}

void require_points(const std::vector<Vec2>& points) {
  if (points.size() < least_contour_points || points.size() > most_contour_points)
    throw bad(std::to_string(points.size()) + " points; a contour takes " + std::to_string(least_contour_points) +
                  " to " + std::to_string(most_contour_points),
              points.size() < least_contour_points ? "trace more of it" : "thin the points out");
  for (Vec2 p : points)
    if (!std::isfinite(p.x + p.y)) throw bad("a point is not a finite number", "");
}

double usual_step(const std::vector<Vec2>& points) {
  std::vector<double> steps;
  for (std::size_t i = 0; i + 1 < points.size(); ++i) steps.push_back(length(points[i + 1] - points[i]));
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

bool spike(Vec2 a, Vec2 p, Vec2 b) {
  const Vec2 in = p - a, out = b - p;
  return dot(in, out) < back_cosine * length(in) * length(out);
}

bool stray(Vec2 a, Vec2 p, Vec2 b, double step) {
  const double off = std::min(length(p - a), length(p - b));
  return off > stray_shares * step && length(b - a) < 0.5 * off;
}

void require_no_gap(const Outline& o) {
  const double step = usual_step(o.points), most = std::max(gap_shares * step, gap_mm);
  const std::size_t n = o.points.size();
  for (std::size_t i = 0; i + (o.closed ? 0 : 1) < n; ++i) {
    const Vec2 a = o.points[i], b = o.points[(i + 1) % n];
    if (length(b - a) <= most) continue;
    throw bad("a gap of " + decimal(length(b - a), 2) + " mm between (" + decimal(a.x, 2) + ", " + decimal(a.y, 2) +
                  ") and (" + decimal(b.x, 2) + ", " + decimal(b.y, 2) + "), where points stand " + decimal(step, 2) +
                  " mm apart",
              o.closed ? "trace that stretch too, or say that the contour is open" : "trace that stretch too");
  }
}

}  // namespace

Outline cleaned_outline(const std::vector<Vec2>& points, bool closed) {
  require_points(points);
  Outline o;
  o.closed = closed;
  for (Vec2 p : points)
    if (o.points.empty() || length(p - o.points.back()) > double_mm) o.points.push_back(p);
  if (closed)
    while (o.points.size() > 1 && length(o.points.front() - o.points.back()) <= double_mm) o.points.pop_back();
  if (o.points.size() < least_contour_points)
    throw bad("all points are on one spot or two", "trace the contour's whole length");
  const double step = usual_step(o.points);
  for (bool changed = true; changed && o.points.size() > least_contour_points;) {
    changed = false;
    const std::size_t n = o.points.size();
    for (std::size_t i = closed ? 0 : 1; i < (closed ? n : n - 1); ++i) {
      const Vec2 a = o.points[(i + n - 1) % n], p = o.points[i], b = o.points[(i + 1) % n];
      if (!spike(a, p, b) && !stray(a, p, b, step)) continue;
      o.points.erase(o.points.begin() + static_cast<std::ptrdiff_t>(i));
      changed = true;
      break;
    }
  }
  o.dropped = points.size() - o.points.size();
  return o;
}

Outline ordered_outline(const std::vector<Vec2>& points, bool closed) {
  require_points(points);
  // Each point once: sorted, so that the order they came in does not matter.
  std::vector<Vec2> rest = points;
  std::sort(rest.begin(), rest.end(), [](Vec2 a, Vec2 b) { return a.x != b.x ? a.x < b.x : a.y < b.y; });
  const auto walk = [&](std::size_t first) {
    std::vector<Vec2> left = rest, chain;
    std::size_t at = first;
    while (true) {
      const Vec2 p = left[at];
      chain.push_back(p);
      left.erase(left.begin() + static_cast<std::ptrdiff_t>(at));
      if (left.empty()) return chain;
      at = 0;
      for (std::size_t i = 1; i < left.size(); ++i)
        if (length(left[i] - p) < length(left[at] - p)) at = i;
    }
  };
  std::vector<Vec2> chain = walk(0);
  if (!closed) {
    // From wherever it began, a chain ends at an end; from there it is walked again.
    const Vec2 end = chain.back();
    for (std::size_t i = 0; i < rest.size(); ++i)
      if (rest[i] == end) {
        chain = walk(i);
        break;
      }
  }
  Outline o = cleaned_outline(chain, closed);
  require_no_gap(o);
  return o;
}

std::vector<Outline> plane_section(const Mesh& mesh, Vec3 origin, Vec3 u, Vec3 v) {
  const Vec3 normal = cross(u, v);
  std::vector<double> side;
  for (const Vec3& p : mesh.vertices) side.push_back(dot(p - origin, normal));
  const auto above = [&](std::uint32_t i) {
    return side[i] >= 0;
  };  // a vertex in the plane counts as above: no doubles
  using Edge = std::pair<std::uint32_t, std::uint32_t>;
  const auto key = [](std::uint32_t a, std::uint32_t b) { return Edge{std::min(a, b), std::max(a, b)}; };
  std::map<Edge, Edge> next, before;  // each cut facet leads from one cut edge to another, material on one side
  for (const auto& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3], c = t[(k + 2) % 3];
      if (above(a) == above(b) || above(a) == above(c)) continue;  // a alone on its side
      const Edge first = above(a) ? key(a, b) : key(c, a), second = above(a) ? key(c, a) : key(a, b);
      next[first] = second;
      before[second] = first;
    }
  if (next.empty()) throw bad("the plane does not cut the mesh", "check its place and direction");
  const auto at = [&](Edge e) {
    const double s = side[e.first], t = side[e.second], share = s / (s - t);
    const Vec3 p = mesh.vertices[e.first] + share * (mesh.vertices[e.second] - mesh.vertices[e.first]) - origin;
    return Vec2{dot(p, u), dot(p, v)};
  };
  std::vector<Outline> sections;
  while (!next.empty()) {
    Edge start = next.begin()->first;
    for (std::size_t steps = 0; before.count(start) && next.count(before[start]) && steps <= next.size(); ++steps) {
      start = before[start];
      if (start == next.begin()->first) break;
    }
    Outline o;
    Edge e = start;
    o.points.push_back(at(e));
    while (true) {
      const auto found = next.find(e);
      if (found == next.end()) break;
      e = found->second;
      next.erase(found);
      if (e == start) {
        o.closed = true;
        break;
      }
      o.points.push_back(at(e));
    }
    const std::size_t had = o.points.size();
    std::vector<Vec2> kept;
    for (Vec2 p : o.points)
      if (kept.empty() || length(p - kept.back()) > double_mm) kept.push_back(p);
    if (o.closed && kept.size() > 1 && length(kept.front() - kept.back()) <= double_mm) kept.pop_back();
    o.points = std::move(kept);
    o.dropped = had - o.points.size();
    if (o.points.size() >= (o.closed ? 3u : 2u)) sections.push_back(std::move(o));
  }
  const auto run = [](const Outline& o) {
    double sum = 0;
    for (std::size_t i = 0; i + 1 < o.points.size(); ++i) sum += length(o.points[i + 1] - o.points[i]);
    return sum;
  };
  std::stable_sort(sections.begin(), sections.end(),
                   [&](const Outline& a, const Outline& b) { return run(a) > run(b); });
  return sections;
}

}  // namespace bedwright
