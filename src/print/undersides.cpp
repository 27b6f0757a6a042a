#include "print/undersides.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "base/row_span.h"
#include "base/trig.h"

namespace bedwright {
namespace {

// A bevel drawn at the limit prints; its facets may be this much flatter.
constexpr double facet_allowance_deg = 3;
// A facet lies on the bed if its corners do; the lattice makes flat faces exactly flat.
constexpr double on_bed_mm = 1e-6;
constexpr int directions = 12;
constexpr double strand_mm = 0.5;
constexpr int most_strands = 64;
constexpr double clearly_mm = 1e-6;
constexpr double column_mm = 1;
// Columns stand a little beside the middle of their cells, off the lines that drawings are made of.
constexpr double column_x = 0.4871, column_y = 0.5237;
// Where less than this of a face would bridge, it is supported as a whole.
constexpr double least_bridged_share = 0.5;
constexpr int most_columns = 512;
constexpr int few_columns = 4;  // rows no longer than this are looked at whole

struct Rim {
  Vec2 a, b;
  Vec2 outward;       ///< as long as the edge
  bool held = false;  ///< a wall goes down from here, or the bed is here
};

struct Region {
  std::vector<std::uint32_t> facets;
  std::vector<Rim> rim;
  double share_free = 1;  ///< of it, what does not bridge
};

/// Whether the facet beyond an edge goes down from it.
bool goes_down(Vec3 a, Vec3 b, Vec3 third) {
  const Vec3 along = b - a;
  const double square = dot(along, along);
  if (square == 0) return false;
  const Vec3 inward = (third - a) - (dot(third - a, along) / square) * along;
  return inward.z < -1e-9;
}

class Finder {
 public:
  Finder(const Mesh& mesh, const std::vector<FacetEdge>& edges, const PrintWishes& wishes)
      : mesh_(mesh),
        edges_(edges),
        wishes_(wishes),
        limit_(-sin_rad((wishes.overhang_deg + facet_allowance_deg) * rad_per_deg)),
        region_of_(mesh.triangles.size(), none) {
    for (std::size_t i = 0; i < ways_.size(); ++i) {
      const double angle = static_cast<double>(i) * pi / directions;
      ways_[i] = {cos_rad(angle), sin_rad(angle)};
    }
  }

  Undersides find() {
    Undersides result;
    classify(result);
    collect_regions();
    for (Region& region : regions_) bridge(region, result);
    std::stable_sort(result.faces.begin(), result.faces.end(),
                     [](const Underside& a, const Underside& b) { return a.overhang_mm2 > b.overhang_mm2; });
    result.support_mm3 = support();
    return result;
  }

 private:
  static constexpr std::uint32_t none = 0xffffffffu, hanging = 0xfffffffeu;

  Vec3 corner(std::uint32_t f, std::size_t k) const { return mesh_.vertices[mesh_.triangles[f][k]]; }
  Vec3 twice_normal(std::uint32_t f) const { return cross(corner(f, 1) - corner(f, 0), corner(f, 2) - corner(f, 0)); }

  void classify(Undersides& result) {
    Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
    for (std::uint32_t f = 0; f < mesh_.triangles.size(); ++f) {
      const Vec3 n = twice_normal(f);
      const double twice = length(n);
      if (twice == 0 || n.z >= limit_ * twice) continue;
      if (std::max({corner(f, 0).z, corner(f, 1).z, corner(f, 2).z}) > on_bed_mm) {
        region_of_[f] = hanging;
        continue;
      }
      result.contact_mm2 += twice / 2;
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec3 p = corner(f, k);
        low = {std::min(low.x, p.x), std::min(low.y, p.y)};
        high = {std::max(high.x, p.x), std::max(high.y, p.y)};
      }
    }
    if (result.contact_mm2 > 0) result.contact_width_mm = std::min(high.x - low.x, high.y - low.y);
  }

  void collect_regions() {
    if (std::none_of(region_of_.begin(), region_of_.end(), [](std::uint32_t r) { return r == hanging; })) return;
    const std::vector<FacetEdge>& edges = edges_;
    // Over each of a facet's three edges there is one other at most that counts.
    struct Beside {
      std::uint32_t facets[3], count;
    };
    std::vector<Beside> beside(mesh_.triangles.size(), Beside{});
    const auto each_pair = [&](auto use) {
      for (std::size_t i = 0; i < edges.size();) {
        std::size_t end = i + 1;
        while (end < edges.size() && edges[end].low == edges[i].low && edges[end].high == edges[i].high) ++end;
        use(i, end);
        i = end;
      }
    };
    each_pair([&](std::size_t i, std::size_t end) {
      if (end - i != 2 || region_of_[edges[i].facet] != hanging || region_of_[edges[i + 1].facet] != hanging) return;
      Beside &one = beside[edges[i].facet], &other = beside[edges[i + 1].facet];
      one.facets[one.count++] = edges[i + 1].facet;
      other.facets[other.count++] = edges[i].facet;
    });
    for (std::uint32_t f = 0; f < mesh_.triangles.size(); ++f) {
      if (region_of_[f] != hanging) continue;
      const auto number = static_cast<std::uint32_t>(regions_.size());
      regions_.push_back({});
      std::vector<std::uint32_t> open = {f};
      region_of_[f] = number;
      while (!open.empty()) {
        const std::uint32_t g = open.back();
        open.pop_back();
        regions_.back().facets.push_back(g);
        for (std::uint32_t i = 0; i < beside[g].count; ++i) {
          const std::uint32_t h = beside[g].facets[i];
          if (region_of_[h] != hanging) continue;
          region_of_[h] = number;
          open.push_back(h);
        }
      }
      std::sort(regions_.back().facets.begin(), regions_.back().facets.end());
    }
    each_pair([&](std::size_t i, std::size_t end) {
      for (std::size_t k = i; k < end; ++k) {
        const std::uint32_t own = region_of_[edges[k].facet];
        if (own == none) continue;
        bool inner = false, held = false;
        const Vec3 a = mesh_.vertices[edges[k].low], b = mesh_.vertices[edges[k].high];
        for (std::size_t j = i; j < end; ++j) {
          if (j == k) continue;
          inner = inner || region_of_[edges[j].facet] == own;
          held = held || goes_down(a, b, mesh_.vertices[edges[j].opposite]);
        }
        held = held || std::max(a.z, b.z) <= on_bed_mm;
        if (inner) continue;
        const Vec2 p{a.x, a.y}, q{b.x, b.y}, along = q - p;
        Vec2 outward{along.y, -along.x};
        const Vec3 own_corner = mesh_.vertices[edges[k].opposite];
        if (dot(Vec2{own_corner.x, own_corner.y} - p, outward) > 0) outward = -outward;
        regions_[own].rim.push_back({p, q, outward, held});
      }
    });
  }

  struct Cut {
    double at;
    bool held;
  };
  struct Strands {
    double free = 0, bridged = 0, longest = 0;
  };

  /// Strands along one direction: how much of the face they cross from wall to wall, and how much not.
  Strands lay(const Region& region, Vec2 along) {
    const Vec2 across{-along.y, along.x};
    double low = 1e300, high = -1e300;
    for (const Rim& r : region.rim)
      for (const Vec2 p : {r.a, r.b}) {
        low = std::min(low, dot(p, across));
        high = std::max(high, dot(p, across));
      }
    const int count = std::clamp(static_cast<int>((high - low) / strand_mm), 3, most_strands);
    const double step = (high - low) / count;
    std::vector<std::vector<Cut>>& cuts = cuts_;
    cuts.resize(std::max(cuts.size(), static_cast<std::size_t>(count)));
    for (std::vector<Cut>& line : cuts) line.clear();
    for (const Rim& r : region.rim) {
      const double va = dot(r.a, across), vb = dot(r.b, across);
      if (va == vb) continue;
      const int first = std::max(0, static_cast<int>(std::ceil((std::min(va, vb) - low) / step - 0.5)));
      for (int i = first; i < count; ++i) {
        const double v = low + (i + 0.5) * step;
        if (v >= std::max(va, vb)) break;
        if (v < std::min(va, vb)) continue;
        const double share = (v - va) / (vb - va);
        cuts[static_cast<std::size_t>(i)].push_back({dot(r.a + share * (r.b - r.a), along), r.held});
      }
    }
    Strands result;
    for (auto& line : cuts) {
      std::sort(line.begin(), line.end(), [](const Cut& a, const Cut& b) { return a.at < b.at; });
      for (std::size_t i = 0; i + 1 < line.size(); i += 2) {
        const double span = line[i + 1].at - line[i].at;
        if (line[i].held && line[i + 1].held && span <= wishes_.bridge_mm) {
          result.bridged += span;
          result.longest = std::max(result.longest, span);
        } else {
          result.free += span;
        }
      }
    }
    return result;
  }

  void bridge(Region& region, Undersides& result) {
    Underside face;
    face.low = {1e300, 1e300, 1e300};
    face.high = {-1e300, -1e300, -1e300};
    Vec2 facing;
    for (const std::uint32_t f : region.facets) {
      const Vec3 n = twice_normal(f);
      face.area_mm2 += length(n) / 2;
      facing = facing + 0.5 * Vec2{n.x, n.y};
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec3 p = corner(f, k);
        face.low = {std::min(face.low.x, p.x), std::min(face.low.y, p.y), std::min(face.low.z, p.z)};
        face.high = {std::max(face.high.x, p.x), std::max(face.high.y, p.y), std::max(face.high.z, p.z)};
      }
    }
    // A strand needs a wall at either end: without any, all of the face hangs free.
    Strands best;
    if (std::count_if(region.rim.begin(), region.rim.end(), [](const Rim& r) { return r.held; }) > 1) {
      best = lay(region, ways_.front());
      // A direction must be clearly better, so that rounding does not choose.
      for (std::size_t i = 1; i < ways_.size() && best.free > clearly_mm; ++i)
        if (const Strands s = lay(region, ways_[i]); s.free < best.free - clearly_mm) best = s;
    }
    const double laid = best.free + best.bridged;
    region.share_free = laid > 0 && best.bridged >= least_bridged_share * laid ? best.free / laid : 1;
    face.overhang_mm2 = region.share_free * face.area_mm2;
    face.bridge_mm = region.share_free < 1 ? best.longest : 0;
    result.overhang_mm2 += face.overhang_mm2;
    result.bridge_mm2 += face.area_mm2 - face.overhang_mm2;
    result.bridge_mm = std::max(result.bridge_mm, face.bridge_mm);
    // A face that looks straight down is cooled from its open side.
    Vec2 open;
    double around = 0;
    for (const Rim& r : region.rim) {
      around += length(r.outward);
      if (!r.held) open = open + r.outward;
    }
    if (around > 0) facing = facing + (face.area_mm2 / around) * open;
    result.facing = result.facing + region.share_free * facing;
    result.faces.push_back(face);
  }

  /// Calls use(column, z) for each column whose middle the facet covers in plan, of those rows' stretches that are
  /// wanted.
  template <typename Wanted, typename Use>
  void columns_of(std::uint32_t f, Vec2 origin, double pitch, int across, int deep, Wanted wanted, Use use) const {
    const Vec3 a = corner(f, 0), b = corner(f, 1), c = corner(f, 2);
    const double twice = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
    if (twice == 0) return;
    const auto first = [&](double low, double from, int most) {
      return std::clamp(static_cast<int>(std::ceil((low - from) / pitch - 1)), 0, most);
    };
    const int x0 = first(std::min({a.x, b.x, c.x}), origin.x, across),
              y0 = first(std::min({a.y, b.y, c.y}), origin.y, deep);
    const double x1 = std::max({a.x, b.x, c.x}), y1 = std::max({a.y, b.y, c.y});
    int end = x0;
    while (end < across && origin.x + (end + column_x) * pitch <= x1) ++end;
    const std::array<Vec2, 3> corners = {Vec2{a.x, a.y}, Vec2{b.x, b.y}, Vec2{c.x, c.y}};
    for (int j = y0; j < deep && origin.y + (j + column_y) * pitch <= y1; ++j) {
      const std::size_t row = static_cast<std::size_t>(j) * static_cast<std::size_t>(across);
      if (!wanted(row + static_cast<std::size_t>(x0), row + static_cast<std::size_t>(end))) continue;
      const double y = origin.y + (j + column_y) * pitch;
      int from = x0, to = end;
      if (end - x0 > few_columns) {
        const RowSpan span = row_span(corners, y);
        if (span.low > span.high) continue;
        const auto column = [&](double x) { return std::clamp((x - origin.x) / pitch - column_x, -2.0, across + 2.0); };
        from = std::max(from, static_cast<int>(column(span.low)) - 1);
        to = std::min(to, static_cast<int>(column(span.high)) + 2);
      }
      for (int i = from; i < to; ++i) {
        const Vec2 p{origin.x + (i + column_x) * pitch, y};
        // A quotient's sign is its numerator's against the denominator's: most columns need no division.
        const double over_a = (b.x - p.x) * (c.y - p.y) - (c.x - p.x) * (b.y - p.y),
                     over_b = (c.x - p.x) * (a.y - p.y) - (a.x - p.x) * (c.y - p.y);
        if (twice > 0 ? over_a < 0 || over_b < 0 : over_a > 0 || over_b > 0) continue;
        const double wa = over_a / twice, wb = over_b / twice;
        if (wa + wb > 1) continue;
        use(row + static_cast<std::size_t>(i), wa * a.z + wb * b.z + (1 - wa - wb) * c.z);
      }
    }
  }

  double support() const {
    if (regions_.empty()) return 0;
    const Box box = bounding_box(mesh_);
    const double pitch =
        std::max({column_mm, (box.high.x - box.low.x) / most_columns, (box.high.y - box.low.y) / most_columns});
    const int across = static_cast<int>((box.high.x - box.low.x) / pitch) + 1,
              deep = static_cast<int>((box.high.y - box.low.y) / pitch) + 1;
    const Vec2 origin{box.low.x, box.low.y};
    struct Need {
      std::size_t column;
      double z, share, floor;
    };
    std::vector<Need> needs;
    for (const Region& region : regions_)
      if (region.share_free > 0)
        for (const std::uint32_t f : region.facets)
          columns_of(
              f, origin, pitch, across, deep, [](std::size_t, std::size_t) { return true; },
              [&](std::size_t column, double z) {
                needs.push_back({column, z, region.share_free, 0});
              });
    if (needs.empty()) return 0;
    std::stable_sort(needs.begin(), needs.end(), [](const Need& a, const Need& b) { return a.column < b.column; });
    std::vector<std::size_t> begin(static_cast<std::size_t>(across) * static_cast<std::size_t>(deep) + 1, 0);
    for (const Need& need : needs) ++begin[need.column + 1];
    std::partial_sum(begin.begin(), begin.end(), begin.begin());
    for (std::uint32_t f = 0; f < mesh_.triangles.size(); ++f)
      if (twice_normal(f).z > 0)
        columns_of(
            f, origin, pitch, across, deep, [&](std::size_t from, std::size_t to) { return begin[from] < begin[to]; },
            [&](std::size_t column, double z) {
              for (std::size_t i = begin[column]; i < begin[column + 1]; ++i)
                if (z < needs[i].z && z > needs[i].floor) needs[i].floor = z;
            });
    double volume = 0;
    for (const Need& need : needs) volume += need.share * (need.z - need.floor);
    return volume * pitch * pitch;
  }

  const Mesh& mesh_;
  const std::vector<FacetEdge>& edges_;
  const PrintWishes& wishes_;
  double limit_;
  std::vector<std::uint32_t> region_of_;
  std::vector<Region> regions_;
  std::array<Vec2, directions> ways_;   ///< of strands
  std::vector<std::vector<Cut>> cuts_;  ///< of `lay`, kept for their memory
};

}  // namespace

// Counted into buckets of their lower vertex, each then sorted.
std::vector<FacetEdge> facet_edges(const Mesh& mesh) {
  std::vector<std::uint32_t> begin(mesh.vertices.size() + 1, 0);
  for (const auto& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) ++begin[std::min(t[k], t[(k + 1) % 3]) + 1];
  std::partial_sum(begin.begin(), begin.end(), begin.begin());
  std::vector<std::uint32_t> next(begin.begin(), begin.end() - 1);
  std::vector<FacetEdge> edges(3 * mesh.triangles.size());
  for (std::uint32_t f = 0; f < mesh.triangles.size(); ++f)
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = mesh.triangles[f][k], b = mesh.triangles[f][(k + 1) % 3];
      edges[next[std::min(a, b)]++] = {std::min(a, b), std::max(a, b), f, mesh.triangles[f][(k + 2) % 3]};
    }
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    std::sort(edges.begin() + begin[v], edges.begin() + begin[v + 1], [](const FacetEdge& a, const FacetEdge& b) {
      return a.high != b.high ? a.high < b.high : a.facet < b.facet;
    });
  return edges;
}

Undersides undersides_of(const Mesh& mesh, const PrintWishes& wishes) {
  return undersides_of(mesh, facet_edges(mesh), wishes);
}

Undersides undersides_of(const Mesh& mesh, const std::vector<FacetEdge>& edges, const PrintWishes& wishes) {
  return Finder(mesh, edges, wishes).find();
}

}  // namespace bedwright
