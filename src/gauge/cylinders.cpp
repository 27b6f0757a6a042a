#include "gauge/cylinders.h"

#include <algorithm>
#include <cmath>

#include "base/trig.h"
#include "gauge/fit_circle.h"

namespace bedwright {
namespace {

constexpr double most_turn = 50 * rad_per_deg;    // an eight-sided hole turns by 45 at each edge
constexpr double smooth_turn = 20 * rad_per_deg;  // below this a neighbour across another edge makes it a curved face
constexpr double least_turn = 1e-4;
constexpr double parallel_sine = 2e-3;
constexpr double least_coverage = 4 * rad_per_deg;
constexpr double full_coverage = 355 * rad_per_deg;
constexpr std::size_t least_facets_of_round = 8;
// Neighbouring facets of an arc are equally long; two of them beside a straight wall are not, though four corners of
// any such trapezium lie on a circle.
constexpr double equal_facets = 0.03;
constexpr double longest_facet = 1.3;

struct Segment {
  Vec2 p, q;  ///< ends of the patch seen along the axis
  Vec2 normal;
  double low, high;
};

class Finder {
 public:
  Finder(const Mesh& mesh, const Patches& patches, std::vector<std::uint8_t>& taken)
      : mesh_(mesh), all_(patches), taken_(taken), seen_(patches.patches.size(), 0) {}

  std::vector<Cylinder> find() {
    std::vector<Cylinder> found;
    for (std::uint32_t a = 0; a < all_.patches.size(); ++a) {
      const Patch& patch = all_.patches[a];
      for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links && !taken_[a]; ++i) {
        const Link& link = all_.links[i];
        if (link.to < a || taken_[link.to] || !turns(link)) continue;
        if (!is_wall(a, link.along) || !is_wall(link.to, link.along)) continue;
        if (parallel_links(a, link.along) + parallel_links(link.to, link.along) < 3) continue;
        Cylinder c;
        if (grow(a, link, c)) {
          for (std::uint32_t p : c.patches) taken_[p] = 1;
          found.push_back(std::move(c));
        }
      }
    }
    return found;
  }

 private:
  static bool turns(const Link& link) { return link.angle_rad > least_turn && link.angle_rad < most_turn; }
  bool parallel(const Link& link, Vec3 axis) const {
    return length(cross(link.along, axis)) < std::max(parallel_sine, 4 * all_.tolerance_mm / link.length_mm);
  }
  /// A wall has no smooth neighbour across an edge of another direction.
  bool is_wall(std::uint32_t p, Vec3 axis) const {
    const Patch& patch = all_.patches[p];
    if (std::fabs(dot(patch.normal, axis)) > 0.01) return false;
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i)
      if (all_.links[i].angle_rad < smooth_turn && !parallel(all_.links[i], axis)) return false;
    return true;
  }
  int parallel_links(std::uint32_t p, Vec3 axis) const {
    const Patch& patch = all_.patches[p];
    int count = 0;
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i)
      count += turns(all_.links[i]) && parallel(all_.links[i], axis);
    return count;
  }

  Segment segment_of(std::uint32_t p, const AxisFrame& frame) const {
    const Patch& patch = all_.patches[p];
    Segment s;
    const Vec2 n = frame.flat(patch.normal);
    s.normal = (1 / length(n)) * n;
    const Vec2 along{-s.normal.y, s.normal.x};
    double least = 1e300, most = -1e300;
    s.low = 1e300;
    s.high = -1e300;
    for (std::uint32_t i = patch.first_border; i < patch.first_border + patch.borders; ++i) {
      const Vec3 at = mesh_.vertices[start_of(mesh_, all_.borders[i])];
      const Vec2 w = frame.flat(at);
      const double t = dot(w, along), z = dot(at, frame.axis);
      if (t < least) {
        least = t;
        s.p = w;
      }
      if (t > most) {
        most = t;
        s.q = w;
      }
      s.low = std::min(s.low, z);
      s.high = std::max(s.high, z);
    }
    return s;
  }

  bool grow(std::uint32_t a, const Link& seed, Cylinder& out) {
    const AxisFrame frame(upward(seed.along));
    const double tolerance = 4 * all_.tolerance_mm;
    const Segment sa = segment_of(a, frame), sb = segment_of(seed.to, frame);
    const double facet_length = length(sa.q - sa.p);
    if (std::fabs(length(sb.q - sb.p) - facet_length) > equal_facets * facet_length + tolerance) return false;
    // The two segments share an end; the other ends and it give the first circle.
    const double pp = length(sa.p - sb.q), qq = length(sa.q - sb.p);
    const Vec2 joint = pp < qq ? 0.5 * (sa.p + sb.q) : 0.5 * (sa.q + sb.p);
    const Vec2 far_a = pp < qq ? sa.q : sa.p, far_b = pp < qq ? sb.p : sb.q;
    const auto first = circle_through(far_a, joint, far_b);
    if (!first) return false;
    Circle circle = *first;
    const auto inward = [&](const Segment& s) { return dot(s.normal, circle.centre - 0.5 * (s.p + s.q)); };
    const bool concave = inward(sa) > 0;
    if (concave != (inward(sb) > 0) || concave == seed.convex) return false;
    double facet_radius = inward(sa) * (concave ? 1 : -1);

    std::vector<std::uint32_t> members{a, seed.to};
    std::vector<Segment> segments{sa, sb};
    ++stamp_;
    seen_[a] = seen_[seed.to] = stamp_;
    const auto fits = [&](const Segment& s) {
      if ((inward(s) > 0) != concave || length(s.q - s.p) > longest_facet * facet_length + tolerance) return false;
      const double rp = length(s.p - circle.centre), rq = length(s.q - circle.centre);
      if (std::fabs(rp - circle.radius) < tolerance && std::fabs(rq - circle.radius) < tolerance) return true;
      return std::fabs(std::fabs(inward(s)) - facet_radius) < tolerance && rp < circle.radius + tolerance &&
             rq < circle.radius + tolerance;
    };
    for (int pass = 0; pass < 8; ++pass) {
      const std::size_t before = members.size();
      for (std::size_t m = 0; m < members.size(); ++m) {
        const Patch& patch = all_.patches[members[m]];
        for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i) {
          const Link& link = all_.links[i];
          if (taken_[link.to] || seen_[link.to] == stamp_ || !turns(link) || link.convex == concave) continue;
          if (!parallel(link, frame.axis) || !is_wall(link.to, frame.axis)) continue;
          const Segment s = segment_of(link.to, frame);
          if (!fits(s)) continue;
          seen_[link.to] = stamp_;
          members.push_back(link.to);
          segments.push_back(s);
        }
      }
      if (members.size() == before && pass > 0) break;
      if (members.size() < 3) return false;
      std::vector<Vec2> ends;
      for (const Segment& s : segments)
        for (Vec2 e : {s.p, s.q})
          if (std::fabs(length(e - circle.centre) - circle.radius) < tolerance) ends.push_back(e);
      if (const auto better = fitted_circle(ends)) circle = *better;
      double sum = 0;
      for (const Segment& s : segments) sum += std::fabs(inward(s));
      facet_radius = sum / static_cast<double>(segments.size());
    }
    out.axis = frame.axis;
    out.point = frame.space(circle.centre, 0);
    out.vertex_radius = circle.radius;
    out.concave = concave;
    out.patches = members;
    std::sort(out.patches.begin(), out.patches.end());
    out.low = 1e300;
    out.high = -1e300;
    for (const Segment& s : segments) {
      out.low = std::min(out.low, s.low);
      out.high = std::max(out.high, s.high);
    }
    out.coverage_rad = coverage(segments, circle.centre);
    out.full = out.coverage_rad > full_coverage && members.size() >= least_facets_of_round;
    return out.coverage_rad > least_coverage;
  }

  static double coverage(const std::vector<Segment>& segments, Vec2 centre) {
    std::vector<std::pair<double, double>> spans;
    for (const Segment& s : segments) {
      const Vec2 p = s.p - centre, q = s.q - centre;
      double from = atan2_rad(p.y, p.x);
      double by = atan2_rad(cross(p, q), dot(p, q));
      if (by < 0) {
        from += by;
        by = -by;
      }
      if (from < -pi) from += 2 * pi;
      if (from + by > pi) {
        spans.push_back({from, pi});
        spans.push_back({-pi, from + by - 2 * pi});
      } else {
        spans.push_back({from, from + by});
      }
    }
    std::sort(spans.begin(), spans.end());
    double sum = 0, reached = -1e300;
    for (const auto& [from, to] : spans) {
      if (to <= reached) continue;
      sum += to - std::max(from, reached);
      reached = to;
    }
    return sum;
  }

  const Mesh& mesh_;
  const Patches& all_;
  std::vector<std::uint8_t>& taken_;
  std::vector<std::uint32_t> seen_;
  std::uint32_t stamp_ = 0;
};

}  // namespace

Vec3 upward(Vec3 d) {
  const double x = std::fabs(d.x), y = std::fabs(d.y), z = std::fabs(d.z);
  const double leading = z >= x && z >= y ? d.z : x >= y ? d.x : d.y;
  return leading < 0 ? -d : d;
}

AxisFrame::AxisFrame(Vec3 unit_axis) : axis(unit_axis) {
  const double x = std::fabs(axis.x), y = std::fabs(axis.y), z = std::fabs(axis.z);
  const Vec3 helper = z >= x && z >= y ? Vec3{0, 1, 0} : x >= y ? Vec3{0, 0, 1} : Vec3{1, 0, 0};
  const Vec3 w = cross(helper, axis);
  u = (1 / length(w)) * w;
  v = cross(axis, u);
}

std::vector<Cylinder> find_cylinders(const Mesh& mesh, const Patches& patches, std::vector<std::uint8_t>& taken) {
  taken.assign(patches.patches.size(), 0);
  return Finder(mesh, patches, taken).find();
}

}  // namespace bedwright
