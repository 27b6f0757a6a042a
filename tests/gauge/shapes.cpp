#include "gauge/shapes.h"

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <map>
#include <stdexcept>

namespace shapes {
namespace {

const double pi = std::acos(-1.0);

double cross_of(Vec2 a, Vec2 b, Vec2 c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

bool in_triangle(Vec2 a, Vec2 b, Vec2 c, Vec2 p) {
  return cross_of(a, b, p) >= 0 && cross_of(b, c, p) >= 0 && cross_of(c, a, p) >= 0;
}

using Triangle = std::array<std::uint32_t, 3>;

struct Triangulation {
  std::vector<Vec2> points;
  std::vector<Triangle> triangles;
};

bool proper_cross(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  return (cross_of(a, b, c) > 0) != (cross_of(a, b, d) > 0) && (cross_of(c, d, a) > 0) != (cross_of(c, d, b) > 0);
}

/// Outer polygon with its holes bridged in; ears cut off.
Triangulation ears(const Polygon& outer, const std::vector<Polygon>& holes) {
  Triangulation t;
  std::vector<std::uint32_t> ring;
  for (Vec2 p : outer) {
    ring.push_back(static_cast<std::uint32_t>(t.points.size()));
    t.points.push_back(p);
  }
  std::vector<std::vector<std::uint32_t>> rings;
  for (const Polygon& hole : holes) {
    std::vector<std::uint32_t> r;
    for (std::size_t i = hole.size(); i-- > 0;) {
      r.push_back(static_cast<std::uint32_t>(t.points.size()));
      t.points.push_back(hole[i]);
    }
    rings.push_back(r);
  }
  while (!rings.empty()) {
    // The shortest bridge of all never crosses anything.
    double least = 1e300;
    std::size_t best_ring = 0, best_i = 0, best_k = 0;
    for (std::size_t h = 0; h < rings.size(); ++h)
      for (std::size_t i = 0; i < rings[h].size(); ++i)
        for (std::size_t k = 0; k < ring.size(); ++k) {
          const Vec2 d = t.points[rings[h][i]] - t.points[ring[k]];
          if (dot(d, d) < least) {
            // A vertex bridged twice stands in the ring twice: the bridge must leave inside its corner.
            const Vec2 before = t.points[ring[(k + ring.size() - 1) % ring.size()]], here = t.points[ring[k]],
                       after = t.points[ring[(k + 1) % ring.size()]], to = t.points[rings[h][i]];
            const bool reflex = cross_of(before, here, after) < 0;
            const bool inside = reflex ? cross_of(here, after, to) > 0 || cross_of(before, here, to) > 0
                                       : cross_of(here, after, to) > 0 && cross_of(before, here, to) > 0;
            if (!inside) continue;
            least = dot(d, d);
            best_ring = h;
            best_i = i;
            best_k = k;
          }
        }
    const auto r = rings[best_ring];
    std::vector<std::uint32_t> insert;
    for (std::size_t i = 0; i <= r.size(); ++i) insert.push_back(r[(best_i + i) % r.size()]);
    insert.push_back(ring[best_k]);
    ring.insert(ring.begin() + static_cast<std::ptrdiff_t>(best_k) + 1, insert.begin(), insert.end());
    rings.erase(rings.begin() + static_cast<std::ptrdiff_t>(best_ring));
  }
  while (ring.size() > 3) {
    bool cut = false;
    for (std::size_t i = 0; i < ring.size() && !cut; ++i) {
      const std::size_t n = ring.size();
      const std::uint32_t a = ring[(i + n - 1) % n], b = ring[i], c = ring[(i + 1) % n];
      if (cross_of(t.points[a], t.points[b], t.points[c]) <= 1e-12) continue;
      bool clear = true;
      for (std::uint32_t v : ring) {
        if (v == a || v == b || v == c) continue;
        if (in_triangle(t.points[a], t.points[b], t.points[c], t.points[v])) clear = false;
      }
      // A bridge's twin vertices must not be cut across either.
      for (std::size_t k = 0; k < n && clear; ++k) {
        const std::uint32_t p = ring[k], q = ring[(k + 1) % n];
        if (p == a || p == c || q == a || q == c || p == b || q == b) continue;
        if (proper_cross(t.points[a], t.points[c], t.points[p], t.points[q])) clear = false;
      }
      if (!clear) continue;
      t.triangles.push_back({a, b, c});
      ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(i));
      cut = true;
    }
    if (!cut) throw std::runtime_error("test shape: no ear");
  }
  t.triangles.push_back({ring[0], ring[1], ring[2]});
  return t;
}

double in_circle(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const double ax = a.x - d.x, ay = a.y - d.y, bx = b.x - d.x, by = b.y - d.y, cx = c.x - d.x, cy = c.y - d.y;
  return (ax * ax + ay * ay) * (bx * cy - cx * by) - (bx * bx + by * by) * (ax * cy - cx * ay) +
         (cx * cx + cy * cy) * (ax * by - bx * ay);
}

void flip_to_delaunay(Triangulation& t) {
  for (int pass = 0; pass < 200; ++pass) {
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::size_t> edges;
    for (std::size_t f = 0; f < t.triangles.size(); ++f)
      for (std::size_t k = 0; k < 3; ++k) edges[{t.triangles[f][k], t.triangles[f][(k + 1) % 3]}] = f;
    bool flipped = false;
    std::vector<std::uint8_t> touched(t.triangles.size(), 0);
    for (const auto& [edge, f] : edges) {
      const auto [a, b] = edge;
      const auto across = edges.find({b, a});
      if (a > b || across == edges.end()) continue;
      const std::size_t g = across->second;
      if (touched[f] || touched[g]) continue;
      const auto third = [&](std::size_t face) {
        for (std::uint32_t v : t.triangles[face])
          if (v != a && v != b) return v;
        return a;
      };
      const std::uint32_t c = third(f), d = third(g);
      const Vec2 pa = t.points[a], pb = t.points[b], pc = t.points[c], pd = t.points[d];
      if (in_circle(pa, pb, pc, pd) <= 1e-9) continue;
      if (cross_of(pc, pa, pd) <= 1e-9 || cross_of(pd, pb, pc) <= 1e-9) continue;
      t.triangles[f] = {c, a, d};
      t.triangles[g] = {d, b, c};
      touched[f] = touched[g] = 1;
      flipped = true;
    }
    if (!flipped) return;
  }
}

void insert_points(Triangulation& t, const std::vector<Vec2>& extra) {
  for (Vec2 p : extra)
    for (std::size_t f = 0; f < t.triangles.size(); ++f) {
      const auto [a, b, c] = t.triangles[f];
      const Vec2 pa = t.points[a], pb = t.points[b], pc = t.points[c];
      const double room = 1e-6;
      if (cross_of(pa, pb, p) <= room || cross_of(pb, pc, p) <= room || cross_of(pc, pa, p) <= room) continue;
      const auto v = static_cast<std::uint32_t>(t.points.size());
      t.points.push_back(p);
      t.triangles[f] = {a, b, v};
      t.triangles.push_back({b, c, v});
      t.triangles.push_back({c, a, v});
      break;
    }
}

class Builder {
 public:
  void cap(const Polygon& outer, const std::vector<Polygon>& holes, const Height& z, bool up, double grid = 0) {
    Triangulation t = ears(outer, holes);
    if (grid > 0) {
      std::vector<Vec2> extra;
      double lx = 1e300, hx = -1e300, ly = 1e300, hy = -1e300;
      for (Vec2 p : outer) {
        lx = std::min(lx, p.x);
        hx = std::max(hx, p.x);
        ly = std::min(ly, p.y);
        hy = std::max(hy, p.y);
      }
      int row = 0;
      for (double y = ly + grid / 2; y < hy; y += grid * 0.8660254, ++row)
        for (double x = lx + (row % 2 ? grid : grid / 2); x < hx; x += grid) {
          const Vec2 p{snapped(x), snapped(y)};
          bool room = inside(outer, p) && clearance(outer, p) > grid / 3;
          for (const Polygon& h : holes) room = room && !inside(h, p) && clearance(h, p) > grid / 3;
          if (room) extra.push_back(p);
        }
      flip_to_delaunay(t);
      insert_points(t, extra);
    }
    flip_to_delaunay(t);
    for (const auto& f : t.triangles) {
      std::array<std::uint32_t, 3> v;
      for (std::size_t k = 0; k < 3; ++k) v[k] = vertex(t.points[f[k]], z);
      if (!up) std::swap(v[1], v[2]);
      mesh_.triangles.push_back(v);
    }
  }
  /// Material inside the polygon (outward) or outside it.
  void wall(const Polygon& p, const Height& low, const Height& high, bool material_inside) {
    for (std::size_t i = 0; i < p.size(); ++i) {
      const Vec2 a = p[i], b = p[(i + 1) % p.size()];
      const std::uint32_t al = vertex(a, low), bl = vertex(b, low), ah = vertex(a, high), bh = vertex(b, high);
      if (material_inside) {
        mesh_.triangles.push_back({al, bl, bh});
        mesh_.triangles.push_back({al, bh, ah});
      } else {
        mesh_.triangles.push_back({al, bh, bl});
        mesh_.triangles.push_back({al, ah, bh});
      }
    }
  }
  Mesh take() { return std::move(mesh_); }

 private:
  static bool inside(const Polygon& poly, Vec2 p) {
    bool in = false;
    for (std::size_t i = 0; i < poly.size(); ++i) {
      const Vec2 a = poly[i], b = poly[(i + 1) % poly.size()];
      if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)) in = !in;
    }
    return in;
  }
  static double clearance(const Polygon& poly, Vec2 p) {
    double least = 1e300;
    for (std::size_t i = 0; i < poly.size(); ++i) {
      const Vec2 a = poly[i], d = poly[(i + 1) % poly.size()] - a;
      const double s = std::clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0);
      least = std::min(least, length(p - (a + s * d)));
    }
    return least;
  }
  std::uint32_t vertex(Vec2 p, const Height& z) {
    const Vec3 v{snapped(p.x), snapped(p.y), snapped(z(p.x, p.y))};
    const auto key = std::make_tuple(v.x, v.y, v.z);
    const auto [at, fresh] = numbers_.try_emplace(key, static_cast<std::uint32_t>(mesh_.vertices.size()));
    if (fresh) mesh_.vertices.push_back(v);
    return at->second;
  }

  Mesh mesh_;
  std::map<std::tuple<double, double, double>, std::uint32_t> numbers_;
};

Polygon subdivided(const Polygon& p, double grid) {
  if (grid <= 0) return p;
  Polygon out;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Vec2 a = p[i], b = p[(i + 1) % p.size()];
    const int n = std::max(1, static_cast<int>(std::ceil(length(b - a) / grid)));
    for (int k = 0; k < n; ++k) {
      const Vec2 q = a + (static_cast<double>(k) / n) * (b - a);
      out.push_back({snapped(q.x), snapped(q.y)});
    }
  }
  return out;
}

}  // namespace

double snapped(double v) {
  return std::floor(v * 65536.0 + 0.5) / 65536.0;
}

Polygon circle(Vec2 centre, double diameter, int facets, bool outside, double start_rad) {
  const double r = diameter / 2 / (outside ? std::cos(pi / facets) : 1.0);
  Polygon p;
  for (int i = 0; i < facets; ++i) {
    const double a = start_rad + 2 * pi * (i + 0.5) / facets;
    p.push_back({snapped(centre.x + r * std::cos(a)), snapped(centre.y + r * std::sin(a))});
  }
  return p;
}

Polygon slot(Vec2 centre, double width, double length, Vec2 along, int facets) {
  const double r = width / 2, half = (length - width) / 2, step = 2 * pi / facets;
  const double start = std::atan2(along.y, along.x);
  Polygon p;
  for (int end = 0; end < 2; ++end) {
    const double sign = end == 0 ? 1 : -1;
    const Vec2 c = centre + (sign * half) * along;
    for (int i = 0; i < facets / 2; ++i) {
      const double a = start + end * pi - pi / 2 + (i + 0.5) * step;
      p.push_back(
          {snapped(c.x + r / std::cos(step / 2) * std::cos(a)), snapped(c.y + r / std::cos(step / 2) * std::sin(a))});
    }
  }
  return p;
}

Polygon rectangle(Vec2 c, Vec2 size) {
  const double x = size.x / 2, y = size.y / 2;
  return {{c.x - x, c.y - y}, {c.x + x, c.y - y}, {c.x + x, c.y + y}, {c.x - x, c.y + y}};
}

Polygon rounded_rectangle(Vec2 c, Vec2 size, double radius, int facets_a_corner) {
  Polygon p;
  for (int corner = 0; corner < 4; ++corner) {
    const double sx = corner == 0 || corner == 3 ? 1 : -1, sy = corner < 2 ? 1 : -1;
    const Vec2 m{c.x + sx * (size.x / 2 - radius), c.y + sy * (size.y / 2 - radius)};
    for (int i = 0; i <= facets_a_corner; ++i) {
      const double a = corner * pi / 2 + (pi / 2) * i / facets_a_corner;
      p.push_back({snapped(m.x + radius * std::cos(a)), snapped(m.y + radius * std::sin(a))});
    }
  }
  return p;
}

double polygon_area(const Polygon& p) {
  double twice = 0;
  for (std::size_t i = 0; i < p.size(); ++i) twice += bedwright::cross(p[i], p[(i + 1) % p.size()]);
  return twice / 2;
}

Height flat(double z) {
  return [z](double, double) { return z; };
}
Height sphere(double radius, Vec2 apex, double height, int sign) {
  return [=](double x, double y) {
    const double d2 = (x - apex.x) * (x - apex.x) + (y - apex.y) * (y - apex.y);
    return height - sign * (d2 / (radius + std::sqrt(radius * radius - d2)));
  };
}
Height cylinder(double radius, double apex_x, double height, int sign) {
  return [=](double x, double) {
    const double d2 = (x - apex_x) * (x - apex_x);
    return height - sign * (d2 / (radius + std::sqrt(radius * radius - d2)));
  };
}
Height two_radius(double rx, double ry, Vec2 apex, double height, int sign) {
  return [=](double x, double y) {
    const double u = x - apex.x, v = y - apex.y;
    const double a = rx - ry + std::sqrt(ry * ry - v * v);
    return height - sign * (rx - std::sqrt(a * a - u * u));
  };
}
Height tilted(double slope_x, double slope_y, double z) {
  return [=](double x, double y) { return z + slope_x * x + slope_y * y; };
}

Mesh build(const Plate& plate) {
  Builder b;
  const Height bottom = flat(0);
  std::vector<Polygon> top_holes, bottom_holes;
  const Polygon outline = subdivided(plate.outline, plate.grid_mm);
  using Kind = Column::Kind;
  for (const Column& c : plate.columns) {
    const Height level = flat(c.level);
    const Polygon at_top = subdivided(c.outer, plate.grid_mm);
    switch (c.kind) {
      case Kind::hole:
        top_holes.push_back(at_top);
        bottom_holes.push_back(at_top);
        b.wall(at_top, bottom, plate.top, false);
        break;
      case Kind::counterbore_top:
        top_holes.push_back(at_top);
        bottom_holes.push_back(c.inner);
        b.wall(at_top, level, plate.top, false);
        b.cap(at_top, {c.inner}, level, true);
        b.wall(c.inner, bottom, level, false);
        break;
      case Kind::blind_top:
        top_holes.push_back(at_top);
        b.wall(at_top, level, plate.top, false);
        b.cap(at_top, {}, level, true);
        break;
      case Kind::blind_bottom:
        bottom_holes.push_back(c.outer);
        b.wall(c.outer, bottom, level, false);
        b.cap(c.outer, {}, level, false);
        break;
      case Kind::boss_bottom:
        bottom_holes.push_back(c.outer);
        b.wall(c.outer, level, bottom, true);
        b.cap(c.outer, c.inner.empty() ? std::vector<Polygon>{} : std::vector<Polygon>{c.inner}, level, false);
        if (!c.inner.empty()) {
          b.wall(c.inner, level, flat(c.inner_level), false);
          b.cap(c.inner, {}, flat(c.inner_level), false);
        }
        break;
      case Kind::boss_top:
        top_holes.push_back(at_top);
        b.wall(at_top, plate.top, level, true);
        b.cap(at_top, c.inner.empty() ? std::vector<Polygon>{} : std::vector<Polygon>{c.inner}, level, true);
        if (!c.inner.empty()) {
          b.wall(c.inner, flat(c.inner_level), level, false);
          b.cap(c.inner, {}, flat(c.inner_level), true);
        }
        break;
    }
  }
  b.wall(outline, bottom, plate.top, true);
  b.cap(outline, top_holes, plate.top, true, plate.grid_mm);
  b.cap(outline, bottom_holes, bottom, false);
  return b.take();
}

Mesh turned_profile(const std::vector<Vec2>& radius_z, int facets) {
  Mesh m;
  const auto count = static_cast<std::uint32_t>(radius_z.size()), turn = static_cast<std::uint32_t>(facets);
  for (int i = 0; i < facets; ++i) {
    const double a = 2 * pi * i / facets;
    for (const Vec2& p : radius_z)
      m.vertices.push_back({snapped(p.x * std::cos(a)), snapped(p.x * std::sin(a)), snapped(p.y)});
  }
  for (std::uint32_t i = 0; i < turn; ++i)
    for (std::uint32_t k = 0; k < count; ++k) {
      const std::uint32_t n = (i + 1) % turn, l = (k + 1) % count;
      const std::uint32_t a = i * count + k, b = n * count + k, c = n * count + l, d = i * count + l;
      m.triangles.push_back({a, b, c});
      m.triangles.push_back({a, c, d});
    }
  return m;
}

Mesh box(Vec3 low, Vec3 high) {
  Plate p;
  p.outline = {{low.x, low.y}, {high.x, low.y}, {high.x, high.y}, {low.x, high.y}};
  p.top = flat(high.z - low.z);
  Mesh m = build(p);
  for (Vec3& v : m.vertices) v.z += low.z;
  return m;
}

Mesh joined(const Mesh& a, const Mesh& b) {
  Mesh m = a;
  const auto first = static_cast<std::uint32_t>(a.vertices.size());
  m.vertices.insert(m.vertices.end(), b.vertices.begin(), b.vertices.end());
  for (auto t : b.triangles) m.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
  return m;
}

Mesh inside_out(Mesh m) {
  for (auto& t : m.triangles) std::swap(t[1], t[2]);
  return m;
}

Mesh soup(const Mesh& m) {
  Mesh s;
  for (const auto& t : m.triangles) {
    const auto first = static_cast<std::uint32_t>(s.vertices.size());
    for (std::uint32_t v : t) s.vertices.push_back(m.vertices[v]);
    s.triangles.push_back({first, first + 1, first + 2});
  }
  return s;
}

std::string ascii_stl(const Mesh& m) {
  std::string out = "solid test\n";
  char line[256];
  for (const auto& t : m.triangles) {
    out += "  facet normal 0 0 0\n    outer loop\n";
    for (std::uint32_t v : t) {
      const Vec3 p = m.vertices[v];
      std::snprintf(line, sizeof line, "      vertex %.9g %.9g %.9g\n", p.x, p.y, p.z);
      out += line;
    }
    out += "    endloop\n  endfacet\n";
  }
  return out + "endsolid test\n";
}

std::string binary_stl(const Mesh& m, const std::string& header) {
  std::string out = header;
  out.resize(80, ' ');
  const auto put = [&out](std::uint32_t bits) {
    for (int i = 0; i < 4; ++i) out += static_cast<char>((bits >> (8 * i)) & 255);
  };
  const auto put_float = [&put](double v) {
    const float f = static_cast<float>(v);
    std::uint32_t bits;
    std::memcpy(&bits, &f, 4);
    put(bits);
  };
  put(static_cast<std::uint32_t>(m.triangles.size()));
  for (const auto& t : m.triangles) {
    for (int i = 0; i < 3; ++i) put_float(0);
    for (std::uint32_t v : t) {
      put_float(m.vertices[v].x);
      put_float(m.vertices[v].y);
      put_float(m.vertices[v].z);
    }
    out += '\0';
    out += '\0';
  }
  return out;
}

}  // namespace shapes
