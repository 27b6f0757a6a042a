#include "base/facets_cross.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/exact.h"

namespace bedwright {
namespace {

using Corners = std::array<Vec3, 3>;

Corners corners_of(const Mesh& mesh, std::uint32_t f) {
  const auto& t = mesh.triangles[f];
  return {mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]};
}

/// The coordinate to drop so that the facet keeps an area in the plane of the other two.
int dropped_axis(const Corners& t) {
  const Vec3 n = cross(t[1] - t[0], t[2] - t[0]);
  const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
  return x >= y && x >= z ? 0 : y >= z ? 1 : 2;
}

bool between(double a, double b, double v) {
  return std::min(a, b) <= v && v <= std::max(a, b);
}

bool segments_meet(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d, int drop) {
  const int abc = orient_plane(a, b, c, drop), abd = orient_plane(a, b, d, drop);
  const int cda = orient_plane(c, d, a, drop), cdb = orient_plane(c, d, b, drop);
  if (abc * abd < 0 && cda * cdb < 0) return true;
  const auto on = [](const Vec3& p, const Vec3& q, const Vec3& v) {
    return between(p.x, q.x, v.x) && between(p.y, q.y, v.y) && between(p.z, q.z, v.z);
  };
  return (abc == 0 && on(a, b, c)) || (abd == 0 && on(a, b, d)) || (cda == 0 && on(c, d, a)) ||
         (cdb == 0 && on(c, d, b));
}

bool inside_plane(const Corners& t, const Vec3& p, int drop) {
  const int a = orient_plane(t[0], t[1], p, drop), b = orient_plane(t[1], t[2], p, drop),
            c = orient_plane(t[2], t[0], p, drop);
  return (a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0);
}

bool coplanar_meet(const Corners& s, const Corners& t) {
  const int drop = dropped_axis(s);
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k)
      if (segments_meet(s[i], s[(i + 1) % 3], t[k], t[(k + 1) % 3], drop)) return true;
  return inside_plane(s, t[0], drop) || inside_plane(t, s[0], drop);
}

bool segment_meets(const Vec3& p, const Vec3& q, const Corners& t) {
  const int sp = orient(t[0], t[1], t[2], p), sq = orient(t[0], t[1], t[2], q);
  if (sp * sq > 0) return false;
  if (sp == 0 && sq == 0) {
    const int drop = dropped_axis(t);
    for (int i = 0; i < 3; ++i)
      if (segments_meet(p, q, t[i], t[(i + 1) % 3], drop)) return true;
    return inside_plane(t, p, drop);
  }
  const int a = orient(p, q, t[0], t[1]), b = orient(p, q, t[1], t[2]), c = orient(p, q, t[2], t[0]);
  return (a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0);
}

/// Whether the line of an edge of s, seen along the dropped axis, has s on one side and all of t strictly on the other:
/// then they do not meet, whatever their heights.
bool edge_parts(const Corners& s, const Corners& t, int drop) {
  const int side = orient_plane(s[0], s[1], s[2], drop);
  if (side == 0) return false;
  for (int i = 0; i < 3; ++i) {
    const Vec3 &a = s[i], &b = s[(i + 1) % 3];
    if (orient_plane(a, b, t[0], drop) == -side && orient_plane(a, b, t[1], drop) == -side &&
        orient_plane(a, b, t[2], drop) == -side)
      return true;
  }
  return false;
}

/// The same for facets that share v: all of t but v lies strictly beyond the edge v-a of s, or t1 lies on its far end.
bool ray_parts(const Vec3& v, const Vec3& a, const Vec3& b, const Vec3& t1, const Vec3& t2, int drop) {
  const int side = orient_plane(v, a, b, drop);
  if (side == 0) return false;
  const int one = orient_plane(v, a, t1, drop);
  if (one == side) return false;
  const int two = orient_plane(v, a, t2, drop);
  if (two == side || (one == 0 && two == 0)) return false;
  // On the line itself, but behind v: of such products of one sign none is lost to rounding.
  const auto behind = [&](const Vec3& t) {
    const Vec3 p = a - v, q = t - v;
    const double x = drop == 0 ? 0 : p.x * q.x, y = drop == 1 ? 0 : p.y * q.y, z = drop == 2 ? 0 : p.z * q.z;
    return x + y + z < 0;
  };
  return (one != 0 || behind(t1)) && (two != 0 || behind(t2));
}

/// Whether a plane across the axis has s on one side and t on the other, and they do not meet in it either: only what
/// of them lies in it could, and that lies apart.
template <double Vec3::*axis, double Vec3::*u, double Vec3::*v>
bool plane_parts(const Corners& s, const Corners& t) {
  const auto [s_low, s_high] = std::minmax({s[0].*axis, s[1].*axis, s[2].*axis});
  const auto [t_low, t_high] = std::minmax({t[0].*axis, t[1].*axis, t[2].*axis});
  if (s_high < t_low || t_high < s_low) return true;
  if (s_high > t_low && t_high > s_low) return false;
  const double at = s_high == t_low ? s_high : s_low;
  const auto box = [at](const Corners& c) {
    std::array<double, 4> b = {1e300, -1e300, 1e300, -1e300};
    for (const Vec3& p : c)
      if (p.*axis == at) b = {std::min(b[0], p.*u), std::max(b[1], p.*u), std::min(b[2], p.*v), std::max(b[3], p.*v)};
    return b;
  };
  const std::array<double, 4> a = box(s), b = box(t);
  return a[0] > b[1] || b[0] > a[1] || a[2] > b[3] || b[2] > a[3];
}

bool disjoint_cross(const Corners& s, const Corners& t) {
  if (plane_parts<&Vec3::x, &Vec3::y, &Vec3::z>(s, t) || plane_parts<&Vec3::y, &Vec3::z, &Vec3::x>(s, t) ||
      plane_parts<&Vec3::z, &Vec3::x, &Vec3::y>(s, t))
    return false;
  int st[3], ts[3];
  for (int i = 0; i < 3; ++i) st[i] = orient(s[0], s[1], s[2], t[i]);
  if (st[0] == st[1] && st[1] == st[2] && st[0] != 0) return false;
  const int drop = dropped_axis(s);
  if (edge_parts(s, t, drop) || edge_parts(t, s, drop)) return false;
  if (st[0] == 0 && st[1] == 0 && st[2] == 0) return coplanar_meet(s, t);
  for (int i = 0; i < 3; ++i) ts[i] = orient(t[0], t[1], t[2], s[i]);
  if (ts[0] == ts[1] && ts[1] == ts[2] && ts[0] != 0) return false;
  for (int i = 0; i < 3; ++i) {
    if (st[i] * st[(i + 1) % 3] <= 0 && segment_meets(t[i], t[(i + 1) % 3], s)) return true;
    if (ts[i] * ts[(i + 1) % 3] <= 0 && segment_meets(s[i], s[(i + 1) % 3], t)) return true;
  }
  return false;
}

/// Facets that share v: whether a plane across the axis through v has all of one but v on one side, the other on the
/// other side or in it.
template <double Vec3::*axis>
bool plane_parts_at(const Vec3& v, const Vec3& s1, const Vec3& s2, const Vec3& t1, const Vec3& t2) {
  const double at = v.*axis;
  const auto [s_low, s_high] = std::minmax(s1.*axis, s2.*axis);
  const auto [t_low, t_high] = std::minmax(t1.*axis, t2.*axis);
  return (s_high <= at && t_low >= at && (s_high < at || t_low > at)) ||
         (t_high <= at && s_low >= at && (t_high < at || s_low > at));
}

/// Facets with one common vertex v, the rest s1 s2 and t1 t2: beyond v they can only meet where the edge opposite v of
/// one reaches the other.
bool fan_cross(const Vec3& v, const Vec3& s1, const Vec3& s2, const Vec3& t1, const Vec3& t2) {
  if (plane_parts_at<&Vec3::x>(v, s1, s2, t1, t2) || plane_parts_at<&Vec3::y>(v, s1, s2, t1, t2) ||
      plane_parts_at<&Vec3::z>(v, s1, s2, t1, t2))
    return false;
  const int a = orient(v, s1, s2, t1), b = orient(v, s1, s2, t2);
  if (a * b > 0) return false;
  const Corners s{v, s1, s2}, t{v, t1, t2};
  const int drop = dropped_axis(s);
  if (ray_parts(v, s1, s2, t1, t2, drop) || ray_parts(v, s2, s1, t1, t2, drop) || ray_parts(v, t1, t2, s1, s2, drop) ||
      ray_parts(v, t2, t1, s1, s2, drop))
    return false;
  if (a != 0 || b != 0) {
    const int c = orient(v, t1, t2, s1), d = orient(v, t1, t2, s2);
    if (c * d > 0) return false;
    return segment_meets(t1, t2, s) || segment_meets(s1, s2, t);
  }
  // One plane: they overlap if their angles at v do.
  const int turn_s = orient_plane(v, s1, s2, drop), turn_t = orient_plane(v, t1, t2, drop);
  if (turn_s == 0 || turn_t == 0) return false;
  const Vec3 &sa = turn_s > 0 ? s1 : s2, &sb = turn_s > 0 ? s2 : s1, &ta = turn_t > 0 ? t1 : t2,
             &tb = turn_t > 0 ? t2 : t1;
  const auto strictly_in = [&](const Vec3& from, const Vec3& to, const Vec3& p) {
    return orient_plane(v, from, p, drop) > 0 && orient_plane(v, p, to, drop) > 0;
  };
  const auto same_ray = [&](const Vec3& p, const Vec3& q) {
    return orient_plane(v, p, q, drop) == 0 && dot(p - v, q - v) > 0;
  };
  return strictly_in(sa, sb, ta) || strictly_in(sa, sb, tb) || strictly_in(ta, tb, sa) || strictly_in(ta, tb, sb) ||
         (same_ray(sa, ta) && same_ray(sb, tb));
}

/// Facets with a common edge ab: they overlap only if flat and on one side of it.
bool hinge_cross(const Vec3& a, const Vec3& b, const Vec3& s, const Vec3& t) {
  if (orient(a, b, s, t) != 0) return false;
  const int drop = dropped_axis({a, b, s});
  return orient_plane(a, b, s, drop) * orient_plane(a, b, t, drop) > 0;
}

}  // namespace

bool facets_cross(const Mesh& mesh, std::uint32_t f, std::uint32_t g) {
  const auto &s = mesh.triangles[f], &t = mesh.triangles[g];
  int shared = 0, si[3] = {}, ti[3] = {};
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k)
      if (s[i] == t[k] && shared < 3) {
        si[shared] = i;
        ti[shared++] = k;
      }
  const Corners a = corners_of(mesh, f), b = corners_of(mesh, g);
  switch (shared) {
    case 0:
      return disjoint_cross(a, b);
    case 1:
      return fan_cross(a[si[0]], a[(si[0] + 1) % 3], a[(si[0] + 2) % 3], b[(ti[0] + 1) % 3], b[(ti[0] + 2) % 3]);
    case 2:
      return hinge_cross(a[si[0]], a[si[1]], a[3 - si[0] - si[1]], b[3 - ti[0] - ti[1]]);
    default:
      return true;  // the same facet twice
  }
}

}  // namespace bedwright
