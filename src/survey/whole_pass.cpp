#include "survey/whole_pass.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace bedwright {
namespace {

/// Two points side by side: lanes are added up at the end, so that the sums are the same whatever the processor has.
using Two = double __attribute__((vector_size(16)));
constexpr std::size_t run_points = 256;  // points whose distances stay in the nearest cache

Two two(double v) {
  return Two{v, v};
}
Two root(Two v) {
  return Two{std::sqrt(v[0]), std::sqrt(v[1])};
}

/// A sphere and a quadric as one point after the other wants them.
struct Gauge {
  explicit Gauge(const Estimate& estimate) : left(estimate.left) {
    const ShapeModel& m = estimate.sphere;
    const double size = std::sqrt(1 + m.lean_x * m.lean_x + m.lean_y * m.lean_y);
    n = {m.lean_x / size, m.lean_y / size, 1 / size};
    k = m.curvature;
    offset = m.offset;
    by_lean = (1 - k * offset) / size;
    to_unit = 1 / m.reach;
    origin = m.origin;
    foot = m.origin + offset * n;
  }
  Vec3 n, foot, origin;
  double k, offset, by_lean, to_unit;
  const std::array<double, quadric_terms>& left;
};

/// Sums of powers of x and y up to the fourth, of d with powers up to the second, and of the sphere's derivatives.
struct Moments {
  Two powers[15] = {}, with_d[6] = {}, normal[10] = {}, rhs[4] = {}, squares = {};
  Two low[3] = {two(1e300), two(1e300), two(1e300)}, high[3] = {two(-1e300), two(-1e300), two(-1e300)};

  /// `weight`: 1, or 0 where a lane repeats the point of the other.
  void take(const Gauge& g, Two px, Two py, Two pz, Two height, Two square, Two s, Two d, Two weight) {
    const Two x = (px - two(g.origin.x)) * two(g.to_unit), y = (py - two(g.origin.y)) * two(g.to_unit);
    const Two inverse = two(1) / s, along = height + two(g.offset);
    const Two qx = px - two(g.origin.x), qy = py - two(g.origin.y);
    const Two by = two(g.by_lean) * inverse;
    const Two j[4] = {-(two(1) + two(g.k) * height) * inverse, by * (qx - along * two(g.n.x)),
                      by * (qy - along * two(g.n.y)), (square - d * d) * two(0.5) * inverse};
    int at = 0;
#pragma GCC unroll 4
    for (int a = 0; a < 4; ++a) {
      const Two wj = weight * j[a];
      rhs[a] -= wj * d;
#pragma GCC unroll 4
      for (int b = 0; b <= a; ++b) normal[at++] += wj * j[b];
    }
    const Two xx = weight * x * x, xy = weight * x * y, yy = weight * y * y, wx = weight * x, wy = weight * y;
    const Two second[6] = {weight, wx, wy, xx, xy, yy};
#pragma GCC unroll 6
    for (int a = 0; a < 6; ++a) {
      powers[a] += second[a];
      with_d[a] += second[a] * d;
    }
    const Two x2 = x * x, y2 = y * y, xyu = x * y;
    powers[6] += xx * x;
    powers[7] += xx * y;
    powers[8] += xy * y;
    powers[9] += yy * y;
    powers[10] += xx * x2;
    powers[11] += xx * xyu;
    powers[12] += xx * y2;
    powers[13] += xy * y2;
    powers[14] += yy * y2;
    squares += weight * d * d;
    const Two p[3] = {px, py, pz};
#pragma GCC unroll 3
    for (int a = 0; a < 3; ++a) {
      low[a] = p[a] < low[a] ? p[a] : low[a];
      high[a] = p[a] > high[a] ? p[a] : high[a];
    }
  }

  PassSums sums(std::size_t kept) const {
    PassSums out;
    out.kept = kept;
    if (kept == 0) return out;
    const auto both = [](Two v) { return v[0] + v[1]; };
    int at = 0;
    for (int a = 0; a < 4; ++a) {
      out.rhs(a) = both(rhs[a]);
      for (int b = 0; b <= a; ++b) out.normal(a, b) = out.normal(b, a) = both(normal[at++]);
    }
    // Where the product of two of 1, x, y, x2, xy, y2 stands among the powers.
    constexpr int place[6][6] = {{0, 1, 2, 3, 4, 5},    {1, 3, 4, 6, 7, 8},    {2, 4, 5, 7, 8, 9},
                                 {3, 6, 7, 10, 11, 12}, {4, 7, 8, 11, 12, 13}, {5, 8, 9, 12, 13, 14}};
    Eigen::Matrix<double, 6, 6> products, to_terms = Eigen::Matrix<double, 6, 6>::Zero();
    Eigen::Matrix<double, 6, 1> d;
    for (int a = 0; a < 6; ++a) {
      d(a) = both(with_d[a]);
      for (int b = 0; b < 6; ++b) products(a, b) = both(powers[place[a][b]]);
    }
    // The terms are 1, x, y, x2 + y2, x2 - y2, xy.
    to_terms(0, 0) = to_terms(1, 1) = to_terms(2, 2) = to_terms(5, 4) = 1;
    to_terms(3, 3) = to_terms(3, 5) = to_terms(4, 3) = 1;
    to_terms(4, 5) = -1;
    out.terms = to_terms * products * to_terms.transpose();
    out.terms_rhs = to_terms * d;
    out.squares = both(squares);
    out.low = {std::min(low[0][0], low[0][1]), std::min(low[1][0], low[1][1]), std::min(low[2][0], low[2][1])};
    out.high = {std::max(high[0][0], high[0][1]), std::max(high[1][0], high[1][1]), std::max(high[2][0], high[2][1])};
    return out;
  }
};

struct Piece {
  PassSums sure;
  std::vector<Cell> cells;
  std::vector<Vec3> doubtful;
};

/// What a run of points has of distances.
struct Distances {
  double height[run_points], square[run_points], s[run_points], d[run_points], r[run_points];
};

void measure(const Gauge& g, const Vec3* points, std::size_t count, Distances& out) {
  for (std::size_t i = 0; i < count; i += 2) {
    const Vec3 &a = points[i], &b = points[i + 1 < count ? i + 1 : i];
    const Two px{a.x, b.x}, py{a.y, b.y}, pz{a.z, b.z};
    const Two ux = px - two(g.foot.x), uy = py - two(g.foot.y), uz = pz - two(g.foot.z);
    const Two square = ux * ux + uy * uy + uz * uz, height = ux * two(g.n.x) + uy * two(g.n.y) + uz * two(g.n.z);
    const Two power = two(g.k) * square + two(2) * height, s = root(two(1) + two(g.k) * power);
    const Two d = power / (two(1) + s);
    const Two x = (px - two(g.origin.x)) * two(g.to_unit), y = (py - two(g.origin.y)) * two(g.to_unit);
    const auto& c = g.left;
    const Two left =
        two(c[0]) + x * (two(c[1]) + x * two(c[3] + c[4]) + y * two(c[5])) + y * (two(c[2]) + y * two(c[3] - c[4]));
    const Two r = d - left;
    for (std::size_t l = 0; l < 2; ++l) {
      out.height[i + l] = height[l];
      out.square[i + l] = square[l];
      out.s[i + l] = s[l];
      out.d[i + l] = d[l];
      out.r[i + l] = r[l];
    }
  }
}

/// What one piece of the points comes to, run after run.
class Look {
 public:
  Look(const Gauge& gauge, double sure_mm, double possible_mm, const Grid& grid)
      : gauge_(gauge), sure_mm_(sure_mm), possible_mm_(possible_mm), grid_(grid) {
    piece_.cells.resize(cells_across * cells_across);
  }

  void take(const Vec3* points, std::size_t count) {
    for (std::size_t from = 0; from < count; from += run_points)
      some(points + from, std::min(run_points, count - from));
  }
  Piece piece() {
    piece_.sure = moments_.sums(kept_);
    return std::move(piece_);
  }

 private:
  void some(const Vec3* p, std::size_t count) {
    measure(gauge_, p, count, at_);
    std::uint16_t sure[run_points + 1];
    std::size_t n = 0;
    for (std::size_t i = 0; i < count; ++i) {
      const double off = std::fabs(at_.r[i]);
      sure[n] = static_cast<std::uint16_t>(i);
      n += off <= sure_mm_;
      if (off > sure_mm_ && off <= possible_mm_) piece_.doubtful.push_back(p[i]);
    }
    kept_ += n;
    Moments moments = moments_;  // a copy of its own, which no other store can be taken to change
    for (std::size_t i = 0; i < n; i += 2) {
      const std::size_t a = sure[i], b = sure[i + 1 < n ? i + 1 : i];
      const auto both = [a, b](const double* v) { return Two{v[a], v[b]}; };
      moments.take(gauge_, Two{p[a].x, p[b].x}, Two{p[a].y, p[b].y}, Two{p[a].z, p[b].z}, both(at_.height),
                   both(at_.square), both(at_.s), both(at_.d), Two{1, i + 1 < n ? 1.0 : 0.0});
    }
    moments_ = moments;
    for (std::size_t i = 0; i < n; ++i) {
      const Vec3& q = p[sure[i]];
      const double d = at_.d[sure[i]];
      Cell& cell = piece_.cells[cell_of(grid_, q)];
      cell.n += 1;
      cell.x += q.x;
      cell.y += q.y;
      cell.d += d;
    }
  }

  const Gauge& gauge_;
  double sure_mm_, possible_mm_;
  const Grid& grid_;
  Piece piece_;
  Moments moments_;
  Distances at_{};
  std::size_t kept_ = 0;
};

}  // namespace

WholePass look_over(const Cloud& cloud, const Estimate& estimate, double sure_mm, double possible_mm, const Grid& grid,
                    const AtOnce& at_once) {
  const Gauge gauge(estimate);
  std::vector<Piece> pieces(cloud.pieces);
  each_at_once(at_once, cloud.pieces, [&](std::size_t k) {
    Look look(gauge, sure_mm, possible_mm, grid);
    cloud.give(k, [&](const Vec3* points, std::size_t count) { look.take(points, count); });
    pieces[k] = look.piece();
  });
  WholePass pass;
  pass.cells.resize(cells_across * cells_across);
  for (const Piece& piece : pieces) {
    add(pass.sure, piece.sure);
    for (std::size_t c = 0; c < pass.cells.size(); ++c) {
      Cell& cell = pass.cells[c];
      const Cell& more = piece.cells[c];
      cell = {cell.n + more.n, cell.x + more.x, cell.y + more.y, cell.d + more.d};
    }
    pass.doubtful.insert(pass.doubtful.end(), piece.doubtful.begin(), piece.doubtful.end());
  }
  return pass;
}

}  // namespace bedwright
