#include "gauge/facet_tree.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "base/large_pages.h"

namespace bedwright {
namespace {

constexpr std::uint32_t leaf_facets = 4;

double box_distance2(const FloatBox& box, Vec3 p) {
  const double c[3] = {p.x, p.y, p.z};
  double d2 = 0;
  for (int i = 0; i < 3; ++i) {
    const double d = std::max({static_cast<double>(box.low[i]) - c[i], c[i] - static_cast<double>(box.high[i]), 0.0});
    d2 += d * d;
  }
  return d2;
}

std::vector<std::uint32_t> all_facets(const Mesh& mesh) {
  std::vector<std::uint32_t> facets(mesh.triangles.size());
  std::iota(facets.begin(), facets.end(), 0u);
  return facets;
}

}  // namespace

double distance_to_facet(Vec3 p, Vec3 a, Vec3 b, Vec3 c) {
  // Closest point by the regions of the facet's plane (C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
  const Vec3 ab = b - a, ac = c - a, ap = p - a;
  const double d1 = dot(ab, ap), d2 = dot(ac, ap);
  if (d1 <= 0 && d2 <= 0) return length(ap);
  const Vec3 bp = p - b;
  const double d3 = dot(ab, bp), d4 = dot(ac, bp);
  if (d3 >= 0 && d4 <= d3) return length(bp);
  const double vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return length(ap - (d1 / (d1 - d3)) * ab);
  const Vec3 cp = p - c;
  const double d5 = dot(ab, cp), d6 = dot(ac, cp);
  if (d6 >= 0 && d5 <= d6) return length(cp);
  const double vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return length(ap - (d2 / (d2 - d6)) * ac);
  const double va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) return length(bp - ((d4 - d3) / ((d4 - d3) + (d5 - d6))) * (c - b));
  const double sum = va + vb + vc;
  if (!(sum > 0)) return std::min({length(ap), length(bp), length(cp)});
  return length(ap - (vb / sum) * ab - (vc / sum) * ac);
}

FacetTree::FacetTree(const Mesh& mesh) : FacetTree(mesh, all_facets(mesh)) {}

FacetTree::FacetTree(const Mesh& mesh, std::vector<std::uint32_t> facets) : mesh_(mesh), facets_(std::move(facets)) {
  if (facets_.empty()) return;
  reserve_large(boxes_, facets_.size());
  boxes_.resize(facets_.size());
  for (std::size_t i = 0; i < facets_.size(); ++i) {
    const auto& t = mesh.triangles[facets_[i]];
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    boxes_[i] = box_of({a, b, c});
  }
  reserve_large(nodes_, facets_.size());
  nodes_.emplace_back();
  build(0, 0, static_cast<std::uint32_t>(facets_.size()));
}

void FacetTree::build(std::uint32_t node, std::uint32_t first, std::uint32_t count) {
  // An own stack: a degenerate file must not exhaust the machine's.
  struct Job {
    std::uint32_t node, first, count;
  };
  std::vector<Job> jobs{{node, first, count}};
  struct Key {
    float centre;
    std::uint32_t facet, place;
  };
  std::vector<Key> order;
  std::vector<FloatBox> moved_boxes;
  std::vector<std::uint32_t> moved_facets;
  while (!jobs.empty()) {
    const Job job = jobs.back();
    jobs.pop_back();
    Node built;
    FloatBox centres;
    for (std::uint32_t p = job.first; p < job.first + job.count; ++p) {
      widen(built.box, boxes_[p]);
      for (int i = 0; i < 3; ++i) {
        const float centre = 0.5f * boxes_[p].low[i] + 0.5f * boxes_[p].high[i];
        centres.low[i] = std::min(centres.low[i], centre);
        centres.high[i] = std::max(centres.high[i], centre);
      }
    }
    if (job.count <= leaf_facets) {
      built.first = job.first;
      built.count = job.count;
      nodes_[job.node] = built;
      continue;
    }
    int axis = 0;
    for (int i = 1; i < 3; ++i)
      if (centres.high[i] - centres.low[i] > centres.high[axis] - centres.low[axis]) axis = i;
    const std::uint32_t half = job.count / 2;
    order.clear();
    for (std::uint32_t p = job.first; p < job.first + job.count; ++p)
      order.push_back({0.5f * boxes_[p].low[axis] + 0.5f * boxes_[p].high[axis], facets_[p], p});
    std::nth_element(order.begin(), order.begin() + half, order.end(), [](const Key& p, const Key& q) {
      return p.centre != q.centre ? p.centre < q.centre : p.facet < q.facet;
    });
    moved_boxes.clear();
    moved_facets.clear();
    for (const Key& key : order) {
      moved_boxes.push_back(boxes_[key.place]);
      moved_facets.push_back(key.facet);
    }
    std::copy(moved_boxes.begin(), moved_boxes.end(), boxes_.begin() + job.first);
    std::copy(moved_facets.begin(), moved_facets.end(), facets_.begin() + job.first);
    built.left = static_cast<std::uint32_t>(nodes_.size());
    nodes_[job.node] = built;
    nodes_.emplace_back();
    nodes_.emplace_back();
    jobs.push_back({built.left + 1, job.first + half, job.count - half});
    jobs.push_back({built.left, job.first, half});
  }
}

double FacetTree::distance(Vec3 p, double within, std::uint32_t* facet) const {
  double best = within;
  if (nodes_.empty()) return best;
  struct Item {
    std::uint32_t node;
    double d2;
  };
  Item stack[128];
  int top = 0;
  stack[top++] = {0, box_distance2(nodes_[0].box, p)};
  while (top > 0) {
    const Item item = stack[--top];
    if (item.d2 >= best * best) continue;
    const Node& node = nodes_[item.node];
    if (node.count > 0) {
      for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
        if (box_distance2(boxes_[i], p) >= best * best) continue;
        const auto& t = mesh_.triangles[facets_[i]];
        const double d = distance_to_facet(p, mesh_.vertices[t[0]], mesh_.vertices[t[1]], mesh_.vertices[t[2]]);
        if (d < best) {
          best = d;
          if (facet) *facet = facets_[i];
        }
      }
      continue;
    }
    Item near{node.left, box_distance2(nodes_[node.left].box, p)};
    Item far{node.left + 1, box_distance2(nodes_[node.left + 1].box, p)};
    if (far.d2 < near.d2) std::swap(near, far);
    if (top + 2 > 128) continue;  // halving: the depth never exceeds 32
    stack[top++] = far;
    stack[top++] = near;
  }
  return best;
}

std::vector<FacetTree::Hit> FacetTree::along_z(Vec2 p) const {
  std::vector<Hit> hits;
  if (nodes_.empty()) return hits;
  std::vector<std::uint32_t> stack{0};
  const auto holds = [&](const FloatBox& box) {
    return box.low[0] <= p.x && p.x <= box.high[0] && box.low[1] <= p.y && p.y <= box.high[1];
  };
  while (!stack.empty()) {
    const Node& node = nodes_[stack.back()];
    stack.pop_back();
    if (!holds(node.box)) continue;
    if (node.count == 0) {
      stack.push_back(node.left);
      stack.push_back(node.left + 1);
      continue;
    }
    for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
      if (!holds(boxes_[i])) continue;
      const auto& t = mesh_.triangles[facets_[i]];
      const Vec3 a = mesh_.vertices[t[0]], b = mesh_.vertices[t[1]], c = mesh_.vertices[t[2]];
      const double whole = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
      if (whole == 0) continue;
      const double u = ((b.x - p.x) * (c.y - p.y) - (b.y - p.y) * (c.x - p.x)) / whole;
      const double v = ((c.x - p.x) * (a.y - p.y) - (c.y - p.y) * (a.x - p.x)) / whole;
      const double w = 1 - u - v;
      if (u < 0 || v < 0 || w < 0) continue;
      hits.push_back({u * a.z + v * b.z + w * c.z, facets_[i]});
    }
  }
  std::sort(hits.begin(), hits.end(),
            [](const Hit& a, const Hit& b) { return a.z != b.z ? a.z > b.z : a.facet < b.facet; });
  return hits;
}

}  // namespace bedwright
