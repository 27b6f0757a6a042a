#include "gauge/match.h"

#include <algorithm>
#include <cmath>

#include "gauge/cylinders.h"

namespace bedwright {
namespace {

constexpr std::size_t coarse_samples = 150, fine_samples = 1500;
constexpr std::size_t kept_motions = 16;
constexpr double whole_share = 0.97;
constexpr double pair_mm = 0.03;  // how well two distances between holes must agree

struct Frame {
  Vec3 origin, x, y, z;
};

/// Takes frame `from` to frame `to`; `hand` -1 mirrors across the from frame's y.
Transform between(const Frame& from, const Frame& to, double hand) {
  Transform t;
  const Vec3 a[3] = {from.x, hand * from.y, from.z}, b[3] = {to.x, to.y, to.z};
  for (int i = 0; i < 3; ++i) {
    const auto part = [i](Vec3 v) { return i == 0 ? v.x : i == 1 ? v.y : v.z; };
    double row[3] = {0, 0, 0};
    for (int k = 0; k < 3; ++k) {
      row[0] += part(b[k]) * a[k].x;
      row[1] += part(b[k]) * a[k].y;
      row[2] += part(b[k]) * a[k].z;
    }
    for (int k = 0; k < 3; ++k) t.m[static_cast<std::size_t>(4 * i + k)] = row[k];
  }
  const Vec3 moved = turn(t, from.origin), by = to.origin - moved;
  t.m[3] = by.x;
  t.m[7] = by.y;
  t.m[11] = by.z;
  return t;
}

/// z along `axis`, x toward `toward` as far as it is across.
bool make_frame(Vec3 origin, Vec3 axis, Vec3 toward, Frame& out) {
  const Vec3 across = toward - dot(toward, axis) * axis;
  const double l = length(across);
  if (!(l > 1e-3)) return false;
  out = {origin, (1 / l) * across, {}, axis};
  out.y = cross(out.z, out.x);
  return true;
}

std::vector<Transform> box_turns(const MeasuredBody& file, const MeasuredBody& target) {
  std::vector<Transform> out;
  const Vec3 from = 0.5 * (file.box().low + file.box().high), to = 0.5 * (target.box().low + target.box().high);
  const auto add = [&](Transform r) {
    const Vec3 moved = turn(r, from);
    out.push_back(compose(shift(to - moved), r));
    // Boxes that differ (a boss gone) may still share a face.
    const Box turned =
        bounding_box(Mesh{{moved + turn(r, file.box().low - from), moved + turn(r, file.box().high - from)}, {}});
    out.push_back(compose(shift({to.x - moved.x, to.y - moved.y, target.box().low.z - turned.low.z}), r));
    out.push_back(compose(shift({to.x - moved.x, to.y - moved.y, target.box().high.z - turned.high.z}), r));
  };
  Transform mirror;
  mirror.m[0] = -1;
  for (int hand = 0; hand < 2; ++hand)
    for (int up = 0; up < 6; ++up)
      for (int spin = 0; spin < 4; ++spin) {
        const Transform raise = up < 4 ? quarter_turn(0, up) : quarter_turn(1, up == 4 ? 1 : 3);
        const Transform r = compose(quarter_turn(2, spin), raise);
        add(hand == 0 ? r : compose(r, mirror));
      }
  return out;
}

struct Hole {
  Vec3 ends[2];
  Vec3 axis;
  double diameter;
  bool slot;
};

std::vector<Hole> holes_of(const MeasuredBody& s) {
  std::vector<Hole> out;
  for (const MeasuredFeature& f : s.features()) {
    const bool slot = f.kind == "slot" || f.kind == "counterbore_slot";
    if (!slot && f.kind != "hole" && f.kind != "counterbore") continue;
    out.push_back({{f.at, f.at - f.depth_mm * f.axis}, f.axis, f.diameter_mm, slot});
  }
  return out;
}

bool alike(const Hole& a, const Hole& b) {
  return std::fabs(a.diameter - b.diameter) < pair_mm && a.slot == b.slot;
}

/// Every two holes of the file against the farthest pairs of the target.
std::vector<Transform> hole_pairs(const MeasuredBody& file, const MeasuredBody& target) {
  std::vector<Transform> out;
  const std::vector<Hole> f = holes_of(file), t = holes_of(target);
  const auto span = [](const Hole& a, const Hole& b) {
    const Vec3 d = b.ends[0] - a.ends[0];
    return length(d - dot(d, a.axis) * a.axis);
  };
  struct Pair {
    double span;
    std::size_t i, k;
  };
  std::vector<Pair> bases;
  for (std::size_t i = 0; i < t.size(); ++i)
    for (std::size_t k = 0; k < t.size(); ++k)
      if (i != k && length(cross(t[i].axis, t[k].axis)) < 1e-3) {
        const double s = span(t[i], t[k]);
        if (s > 1) bases.push_back({s, i, k});
      }
  std::stable_sort(bases.begin(), bases.end(), [](const Pair& a, const Pair& b) { return a.span > b.span; });
  if (bases.size() > 6) bases.resize(6);
  for (const Pair& base : bases) {
    const Hole &ti = t[base.i], &tk = t[base.k];
    for (std::size_t i = 0; i < f.size(); ++i)
      for (std::size_t k = 0; k < f.size(); ++k) {
        if (i == k || !alike(f[i], ti) || !alike(f[k], tk)) continue;
        if (std::fabs(span(f[i], f[k]) - base.span) > pair_mm) continue;
        for (int end = 0; end < 2; ++end)
          for (double side : {1.0, -1.0})
            for (double hand : {1.0, -1.0}) {
              Frame from, to;
              if (!make_frame(ti.ends[end], upward(ti.axis), tk.ends[0] - ti.ends[0], to)) continue;
              const int file_end =
                  dot(f[i].axis, side * upward(f[i].axis)) * dot(ti.axis, upward(ti.axis)) > 0 ? end : 1 - end;
              if (!make_frame(f[i].ends[file_end], side * upward(f[i].axis), f[k].ends[0] - f[i].ends[0], from))
                continue;
              out.push_back(between(from, to, hand));
            }
      }
    if (out.size() > 400) break;
  }
  return out;
}

/// Single holes: the other direction points to the surface's centre, or any way where that is on the axis.
std::vector<Transform> single_holes(const MeasuredBody& file, const MeasuredBody& target) {
  std::vector<Transform> out;
  const std::vector<Hole> f = holes_of(file), t = holes_of(target);
  for (std::size_t k = 0; k < std::min<std::size_t>(t.size(), 2); ++k)
    for (std::size_t i = 0; i < std::min<std::size_t>(f.size(), 8); ++i)
      for (int end = 0; end < 2; ++end)
        for (double side : {1.0, -1.0})
          for (double hand : {1.0, -1.0})
            for (int spin = 0; spin < 4; ++spin) {
              Frame from, to;
              const Vec3 ta = upward(t[k].axis), fa = side * upward(f[i].axis);
              const AxisFrame any_t(ta), any_f(fa);
              Vec3 toward = target.area_centre() - t[k].ends[0], file_toward = file.area_centre() - f[i].ends[0];
              const bool central = length(cross(toward, ta)) < 0.05;
              if (central && spin == 0) toward = any_t.u, file_toward = any_f.u;
              if (central && spin == 1) toward = any_t.u, file_toward = any_f.v;
              if (central && spin == 2) toward = any_t.u, file_toward = -any_f.u;
              if (central && spin == 3) toward = any_t.u, file_toward = -any_f.v;
              if (!central && spin > 0) continue;
              if (!make_frame(t[k].ends[end], ta, toward, to) || !make_frame(f[i].ends[end], fa, file_toward, from))
                continue;
              out.push_back(between(from, to, hand));
            }
  return out;
}

/// Equal shapes have equal distances from their surface's centre: a far corner and a second one fix the turn.
std::vector<Transform> far_corners(const MeasuredBody& file, const MeasuredBody& target) {
  std::vector<Transform> out;
  const Vec3 tc = target.area_centre(), fc = file.area_centre();
  const auto& tv = target.mesh().vertices;
  const auto& fv = file.mesh().vertices;
  if (tv.empty() || fv.empty()) return out;
  Vec3 first{}, second{};
  double most = -1;
  for (const Vec3& v : tv)
    if (length(v - tc) > most) {
      most = length(v - tc);
      first = v - tc;
    }
  double widest = -1;
  for (const Vec3& v : tv) {
    const double w = length(cross(v - tc, first));
    if (w > widest) {
      widest = w;
      second = v - tc;
    }
  }
  Frame to;
  if (!(most > 0) || !make_frame(tc, (1 / most) * first, second, to)) return out;
  constexpr double slack = 2e-3;
  const double l1 = length(first), l2 = length(second), apart = length(second - first);
  std::vector<Vec3> ones, twos;
  for (const Vec3& v : fv) {
    const double d = length(v - fc);
    if (std::fabs(d - l1) < slack) ones.push_back(v - fc);
    if (std::fabs(d - l2) < slack) twos.push_back(v - fc);
  }
  for (const Vec3& a : ones)
    for (const Vec3& b : twos) {
      if (std::fabs(length(b - a) - apart) > 2 * slack) continue;
      Frame from;
      if (!make_frame(fc, (1 / length(a)) * a, b, from)) continue;
      for (double hand : {1.0, -1.0}) out.push_back(between(from, to, hand));
      if (out.size() > 2000) return out;
    }
  return out;
}

double share_of(const std::vector<Vec3>& file, const std::vector<Vec3>& target, const MeasuredBody& f,
                const MeasuredBody& t, const Transform& motion, double enough) {
  const Transform back = inverse(motion);
  const std::size_t all = file.size() + target.size();
  std::size_t near = 0, seen = 0;
  const std::size_t longest = std::max(file.size(), target.size());
  for (std::size_t i = 0; i < longest; ++i) {
    if (i < file.size()) {
      near += t.tree().distance(apply(motion, file[i]), near_mm) < near_mm;
      ++seen;
    }
    if (i < target.size()) {
      near += f.tree().distance(apply(back, target[i]), near_mm) < near_mm;
      ++seen;
    }
    if (static_cast<double>(near + all - seen) < enough * static_cast<double>(all)) return 0;
  }
  return static_cast<double>(near) / static_cast<double>(all);
}

/// Of every vertex and every facet's middle: all corners of a hole that is missing lie on the faces it would open in.
double largest_distance(const Mesh& from, const MeasuredBody& to, const Transform& motion, double worst) {
  const auto look = [&](Vec3 v) {
    const Vec3 p = apply(motion, v);
    double within = std::max(4 * worst, near_mm), d = to.tree().distance(p, within);
    while (d >= within && within < deviation_cap_mm) {
      within *= 8;
      d = to.tree().distance(p, within);
    }
    worst = std::max(worst, d);
  };
  for (const Vec3& v : from.vertices) look(v);
  for (const auto& t : from.triangles)
    look((1.0 / 3) * (from.vertices[t[0]] + from.vertices[t[1]] + from.vertices[t[2]]));
  return std::min(worst, deviation_cap_mm);
}

}  // namespace

MeasuredBody::MeasuredBody(const Mesh& mesh, const std::vector<MeasuredFeature>& features)
    : mesh_(mesh), features_(features), tree_(mesh), box_(bounding_box(mesh)) {
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const double twice = length(cross(b - a, c - a));
    centre_ = centre_ + (twice / 3) * (a + b + c);
    area_ += twice / 2;
  }
  if (area_ > 0) centre_ = (0.5 / area_) * centre_;
}

std::vector<Vec3> MeasuredBody::samples(std::size_t count) const {
  std::vector<Vec3> out;
  const std::size_t vertices = mesh_.vertices.size(), facets = mesh_.triangles.size();
  const std::size_t corners = std::min(count / 4, vertices);
  for (std::size_t i = 0; i < corners; ++i) out.push_back(mesh_.vertices[i * vertices / corners]);
  if (facets == 0 || !(area_ > 0)) return out;
  // The rest evenly by area, so that lettering with its many facets does not outvote the faces it stands in. Points
  // within a facet follow the plane's most even sequence (M. Roberts, 2018).
  const std::size_t spread = count - count / 4;
  double passed = 0;
  std::size_t f = 0;
  const auto area_at = [&](std::size_t i) {
    const auto& t = mesh_.triangles[i];
    return 0.5 *
           length(cross(mesh_.vertices[t[1]] - mesh_.vertices[t[0]], mesh_.vertices[t[2]] - mesh_.vertices[t[0]]));
  };
  double here = area_at(0);
  for (std::size_t i = 0; i < spread; ++i) {
    const double wanted = (static_cast<double>(i) + 0.5) / static_cast<double>(spread) * area_;
    while (passed + here < wanted && f + 1 < facets) {
      passed += here;
      here = area_at(++f);
    }
    double u = static_cast<double>(i) * 0.7548776662466927, v = static_cast<double>(i) * 0.5698402909980532;
    u -= std::floor(u);
    v -= std::floor(v);
    if (u + v > 1) u = 1 - u, v = 1 - v;
    const auto& t = mesh_.triangles[f];
    const Vec3 a = mesh_.vertices[t[0]];
    out.push_back(a + u * (mesh_.vertices[t[1]] - a) + v * (mesh_.vertices[t[2]] - a));
  }
  return out;
}

Motion judged(const MeasuredBody& file, const MeasuredBody& target, const Transform& file_to_target) {
  Motion m;
  m.file_to_target = file_to_target;
  m.mirrored = determinant(file_to_target) < 0;
  m.share = share_of(file.samples(fine_samples), target.samples(fine_samples), file, target, file_to_target, 0);
  m.deviation_mm = deviation_cap_mm;
  if (m.share > whole_share) {
    m.deviation_mm = largest_distance(file.mesh(), target, file_to_target, 0);
    m.deviation_mm = largest_distance(target.mesh(), file, inverse(file_to_target), m.deviation_mm);
  }
  return m;
}

std::vector<Motion> motions(const MeasuredBody& file, const MeasuredBody& target) {
  std::vector<Transform> tries{Transform{}};
  for (auto source : {box_turns, hole_pairs, single_holes, far_corners}) {
    const std::vector<Transform> more = source(file, target);
    tries.insert(tries.end(), more.begin(), more.end());
  }
  const std::vector<Vec3> f = file.samples(coarse_samples), t = target.samples(coarse_samples);
  struct Scored {
    double share;
    std::size_t order;
  };
  std::vector<Scored> scored;
  double best = 0;
  for (std::size_t i = 0; i < tries.size(); ++i) {
    const double share = share_of(f, t, file, target, tries[i], 0.6 * best);
    best = std::max(best, share);
    scored.push_back({share, i});
  }
  std::stable_sort(scored.begin(), scored.end(), [](const Scored& a, const Scored& b) { return a.share > b.share; });
  // The best of each hand and of each way up, so that a doubtful file is not decided by a hair of coarse samples.
  std::vector<Motion> out;
  std::vector<int> kept(4, 0);
  for (const Scored& s : scored) {
    const Transform& m = tries[s.order];
    const std::size_t group = (determinant(m) < 0 ? 2u : 0u) + (m.m[10] > 0.99996 ? 0u : 1u);
    if (kept[group] >= static_cast<int>(kept_motions / 4)) continue;
    bool known = false;
    for (const Motion& o : out) {
      double far = 0;
      for (std::size_t k = 0; k < 16; ++k) far = std::max(far, std::fabs(o.file_to_target.m[k] - m.m[k]));
      known = known || far < 1e-4;
    }
    if (known) continue;
    ++kept[group];
    out.push_back(judged(file, target, m));
  }
  std::stable_sort(out.begin(), out.end(), [](const Motion& a, const Motion& b) {
    return a.deviation_mm != b.deviation_mm ? a.deviation_mm < b.deviation_mm : a.share > b.share;
  });
  return out;
}

}  // namespace bedwright
