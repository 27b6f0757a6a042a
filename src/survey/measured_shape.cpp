#include "survey/measured_shape.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

using Four = std::array<double, 4>;

Four operator+(const Four& a, const Four& b) {
  return {a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]};
}
Four operator*(double s, const Four& a) {
  return {s * a[0], s * a[1], s * a[2], s * a[3]};
}

/// Uniform cubic B-splines on one cell, t in 0 .. 1, and their derivatives.
Four on_cell(double t, int order) {
  const double s = 1 - t;
  switch (order) {
    case 0:
      return {s * s * s / 6, (3 * t * t * t - 6 * t * t + 4) / 6, (3 * s * s * s - 6 * s * s + 4) / 6, t * t * t / 6};
    case 1:
      return {-s * s / 2, (3 * t * t - 4 * t) / 2, (-3 * s * s + 4 * s) / 2, t * t / 2};
    default:
      return {s, 3 * t - 2, 3 * s - 2, t};
  }
}

/// The quadratic of a rim (t of its cell), `d` cells outside (negative below the box).
Four continued(double t, double d, double beyond, int order) {
  const Four value = on_cell(t, 0), slope = on_cell(t, 1), bend = on_cell(t, 2);
  const double e = std::clamp(d, -beyond, beyond), rest = d - e;
  if (order == 2) return rest == 0 ? bend : Four{};
  const Four slope_at_e = slope + e * bend;
  if (order == 1) return slope_at_e;
  return value + e * slope + (e * e / 2) * bend + rest * slope_at_e;
}

struct Axis {
  int cells;
  double low, cell, beyond;  ///< beyond in cells
};

Axis axis_x(const MeasuredShape& s) {
  const double cell = (s.high.x - s.low.x) / s.cells_x;
  return {s.cells_x, s.low.x, cell, s.beyond_mm / cell};
}
Axis axis_y(const MeasuredShape& s) {
  const double cell = (s.high.y - s.low.y) / s.cells_y;
  return {s.cells_y, s.low.y, cell, s.beyond_mm / cell};
}

struct Row {
  int i = 0;
  Four w[3];
};

Row row_of(const Axis& a, double x, int orders) {
  Row r;
  const double u = (x - a.low) / a.cell;
  double scale = 1;
  for (int k = 0; k <= orders; ++k) {
    r.w[k] = scale * spline_weights(a.cells, a.beyond, u, k, r.i);
    scale /= a.cell;
  }
  return r;
}

double sum(const MeasuredShape& s, const Row& x, int kx, const Row& y, int ky) {
  const std::size_t stride = static_cast<std::size_t>(s.cells_x) + 3;
  double total = 0;
  for (std::size_t j = 0; j < 4; ++j) {
    const double* c = &s.coefficients[(static_cast<std::size_t>(y.i) + j) * stride + static_cast<std::size_t>(x.i)];
    double along = 0;
    for (std::size_t i = 0; i < 4; ++i) along += x.w[kx][i] * c[i];
    total += y.w[ky][j] * along;
  }
  return total;
}

/// One piece along an axis: a cell, or the strip outside a rim (which uses the rim cell's splines).
struct Piece {
  int cell;
  double low, high;  ///< in cells
};

std::vector<Piece> pieces_of(const Axis& a) {
  std::vector<Piece> pieces{{0, -a.beyond, 0}};
  for (int i = 0; i < a.cells; ++i) pieces.push_back({i, static_cast<double>(i), static_cast<double>(i) + 1});
  pieces.push_back({a.cells - 1, static_cast<double>(a.cells), a.cells + a.beyond});
  return pieces;
}

Four piece_weights(const Axis& a, const Piece& p, double u, int order) {
  if (p.low < 0) return continued(0, u, a.beyond, order);
  if (p.low >= a.cells) return continued(1, u - a.cells, a.beyond, order);
  return on_cell(u - p.cell, order);
}

/// Rows: the Bezier points of the four splines on a piece (cubic; exact, both ends' values and slopes are known).
std::array<Four, 4> bezier_rows(const Axis& a, const Piece& p) {
  const double third = (p.high - p.low) / 3;
  const Four low = piece_weights(a, p, p.low, 0), high = piece_weights(a, p, p.high, 0);
  return {low, low + third * piece_weights(a, p, p.low, 1), high + -third * piece_weights(a, p, p.high, 1), high};
}

struct Patch {
  double z[4][4];  ///< [y][x]
  double width, height;
};

Patch patch_of(const MeasuredShape& s, const Axis& ax, const Piece& px, const Axis& ay, const Piece& py) {
  const auto rx = bezier_rows(ax, px), ry = bezier_rows(ay, py);
  const std::size_t stride = static_cast<std::size_t>(s.cells_x) + 3;
  double along[4][4];  // [coefficient in y][Bezier point in x]
  for (std::size_t j = 0; j < 4; ++j)
    for (std::size_t i = 0; i < 4; ++i) {
      const double* c =
          &s.coefficients[(static_cast<std::size_t>(py.cell) + j) * stride + static_cast<std::size_t>(px.cell)];
      along[j][i] = rx[i][0] * c[0] + rx[i][1] * c[1] + rx[i][2] * c[2] + rx[i][3] * c[3];
    }
  Patch p;
  for (std::size_t j = 0; j < 4; ++j)
    for (std::size_t i = 0; i < 4; ++i)
      p.z[j][i] = ry[j][0] * along[0][i] + ry[j][1] * along[1][i] + ry[j][2] * along[2][i] + ry[j][3] * along[3][i];
  p.width = (px.high - px.low) * ax.cell;
  p.height = (py.high - py.low) * ay.cell;
  return p;
}

double bend_bound(const Patch& p) {
  double xx = 0, yy = 0, xy = 0;
  for (int j = 0; j < 4; ++j)
    for (int i = 0; i < 2; ++i) {
      xx = std::max(xx, std::fabs(p.z[j][i] - 2 * p.z[j][i + 1] + p.z[j][i + 2]));
      yy = std::max(yy, std::fabs(p.z[i][j] - 2 * p.z[i + 1][j] + p.z[i + 2][j]));
    }
  for (int j = 0; j < 3; ++j)
    for (int i = 0; i < 3; ++i)
      xy = std::max(xy, std::fabs(p.z[j + 1][i + 1] - p.z[j + 1][i] - p.z[j][i + 1] + p.z[j][i]));
  return std::max(6 * xx / (p.width * p.width), 6 * yy / (p.height * p.height)) + 9 * xy / (p.width * p.height);
}

bool meets(const Axis& ax, const Piece& px, const Axis& ay, const Piece& py, Vec2 centre, double reach) {
  const double x = std::clamp(centre.x, ax.low + px.low * ax.cell, ax.low + px.high * ax.cell);
  const double y = std::clamp(centre.y, ay.low + py.low * ay.cell, ay.low + py.high * ay.cell);
  return length(Vec2{x, y} - centre) <= reach;
}

}  // namespace

std::array<double, 4> spline_weights(int cells, double beyond, double u, int order, int& i) {
  if (u < 0) {
    i = 0;
    return continued(0, u, beyond, order);
  }
  if (u > cells) {
    i = cells - 1;
    return continued(1, u - cells, beyond, order);
  }
  i = std::min(static_cast<int>(u), cells - 1);
  return on_cell(u - i, order);
}

SpotOnShape spot_on(const MeasuredShape& shape, Vec2 p) {
  const Row x = row_of(axis_x(shape), p.x, 2), y = row_of(axis_y(shape), p.y, 2);
  return {sum(shape, x, 0, y, 0),
          {sum(shape, x, 1, y, 0), sum(shape, x, 0, y, 1)},
          sum(shape, x, 2, y, 0),
          sum(shape, x, 1, y, 1),
          sum(shape, x, 0, y, 2)};
}

double height_on(const MeasuredShape& shape, Vec2 p) {
  const Row x = row_of(axis_x(shape), p.x, 0), y = row_of(axis_y(shape), p.y, 0);
  return sum(shape, x, 0, y, 0);
}

double curvature_bound(const MeasuredShape& shape, Vec2 centre, double reach) {
  const Axis ax = axis_x(shape), ay = axis_y(shape);
  double bound = 0;
  for (const Piece& py : pieces_of(ay))
    for (const Piece& px : pieces_of(ax))
      if (meets(ax, px, ay, py, centre, reach)) bound = std::max(bound, bend_bound(patch_of(shape, ax, px, ay, py)));
  return bound;
}

double beyond_data(const MeasuredShape& shape, Vec2 p) {
  const std::vector<Vec2>& hull = shape.hull;
  double least = 1e300;
  bool outside = false;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Vec2 a = hull[i], d = hull[(i + 1) % hull.size()] - a;
    outside = outside || cross(d, p - a) < 0;
    const double t = std::clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0);
    least = std::min(least, length(p - (a + t * d)));
  }
  return outside ? least : 0;
}

double continuation_bound_mm(const MeasuredShape& shape, double distance) {
  const Axis ax = axis_x(shape), ay = axis_y(shape);
  const std::vector<Piece> xs = pieces_of(ax), ys = pieces_of(ay);
  double third = 0;
  // A cubic's third derivative is its third difference of Bezier points; across, the points' hull holds it.
  for (std::size_t j = 1; j + 1 < ys.size(); ++j)
    for (std::size_t i = 1; i + 1 < xs.size(); ++i) {
      const Patch p = patch_of(shape, ax, xs[i], ay, ys[j]);
      for (int k = 0; k < 4; ++k) {
        const double x = p.z[k][3] - 3 * p.z[k][2] + 3 * p.z[k][1] - p.z[k][0];
        const double y = p.z[3][k] - 3 * p.z[2][k] + 3 * p.z[1][k] - p.z[0][k];
        third = std::max(third, 6 * std::fabs(x) / (p.width * p.width * p.width));
        third = std::max(third, 6 * std::fabs(y) / (p.height * p.height * p.height));
      }
    }
  return third * distance * distance * distance / 6;
}

}  // namespace bedwright
