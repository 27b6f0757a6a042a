#include "mechanics/plate_model.h"

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <algorithm>
#include <array>
#include <cmath>

#include "base/error.h"
#include "base/trig.h"
#include "mechanics/constants.h"

namespace bedwright {
namespace {

constexpr int bend_dofs = 16, flat_nodes = 9;
constexpr int element_dofs = bend_dofs + 2 * flat_nodes;
/// g/cm3 to t/mm3: with N and mm, seconds come out.
constexpr double tonne_mm3 = 1e-9;
constexpr double tonne_per_gram = 1e-6;

using Matrix3 = Eigen::Matrix3d;
using ElementMatrix = Eigen::Matrix<double, element_dofs, element_dofs>;
using Solver = Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>>;

/// Gauss-Legendre with 4 points: exact for the elements' products (degree 7). Source: closed form.
const std::array<double, 4> gauss_at = {-0.86113631159405258, -0.33998104358485626, 0.33998104358485626,
                                        0.86113631159405258};
const std::array<double, 4> gauss_weight = {0.34785484513745386, 0.65214515486254614, 0.65214515486254614,
                                            0.34785484513745386};

/// Cubic Hermite functions on [0, length]: value and slope at the start, value and slope at the end.
struct Hermite {
  std::array<double, 4> value, slope, bend;
};

Hermite hermite(double s, double length) {
  const double l = length;
  return {{1 - 3 * s * s + 2 * s * s * s, l * (s - 2 * s * s + s * s * s), 3 * s * s - 2 * s * s * s,
           l * (s * s * s - s * s)},
          {(-6 * s + 6 * s * s) / l, 1 - 4 * s + 3 * s * s, (6 * s - 6 * s * s) / l, 3 * s * s - 2 * s},
          {(-6 + 12 * s) / (l * l), (-4 + 6 * s) / l, (6 - 12 * s) / (l * l), (6 * s - 2) / l}};
}

/// Quadratic Lagrange functions on [0, length]: start, middle, end.
struct Lagrange {
  std::array<double, 3> value, slope;
};

Lagrange lagrange(double s, double length) {
  return {{(1 - s) * (1 - 2 * s), 4 * s * (1 - s), s * (2 * s - 1)},
          {(4 * s - 3) / length, (4 - 8 * s) / length, (4 * s - 1) / length}};
}

/// The 16 bending functions at (s, t): node order (0,0) (1,0) (0,1) (1,1), each w, w_x, w_y, w_xy.
template <class X, class Y>
std::array<double, bend_dofs> bending(const X& in_x, const Y& in_y) {
  std::array<double, bend_dofs> out{};
  for (int j = 0; j < 2; ++j)
    for (int i = 0; i < 2; ++i)
      for (int d = 0; d < 4; ++d) {
        const auto ix = static_cast<std::size_t>(2 * i + (d & 1)), iy = static_cast<std::size_t>(2 * j + (d >> 1));
        out[static_cast<std::size_t>(4 * (2 * j + i) + d)] = in_x[ix] * in_y[iy];
      }
  return out;
}

/// Stretch (A), coupling (B) and bending (D) stiffness of a stack of layers about z = 0.
struct Laminate {
  Matrix3 stretch = Matrix3::Zero(), coupling = Matrix3::Zero(), bend = Matrix3::Zero();
  double mass_t_mm2 = 0;
};

Laminate laminate_of(const PlateCell& cell, double zero = 0) {
  Laminate laminate;
  for (const PlateLayer& layer : cell) {
    const double a = layer.bottom_mm - zero, b = layer.top_mm - zero;
    Matrix3 plane_stress;
    const double e = layer.modulus_mpa / (1 - layer.poisson * layer.poisson);
    plane_stress << e, e * layer.poisson, 0, e * layer.poisson, e, 0, 0, 0, e * (1 - layer.poisson) / 2;
    laminate.stretch += plane_stress * (b - a);
    laminate.coupling += plane_stress * ((b * b - a * a) / 2);
    laminate.bend += plane_stress * ((b * b * b - a * a * a) / 3);
    laminate.mass_t_mm2 += layer.density_g_cm3 * tonne_mm3 * (b - a);
  }
  return laminate;
}

struct Grid {
  int columns = 0, rows = 0;
  bool coupled = false;     ///< whether in-plane displacements are needed
  std::vector<int> number;  ///< of each raw degree of freedom among the free ones; -1: held or in a hole
  int free = 0;

  int bend_node(int i, int j) const { return j * (columns + 1) + i; }
  int flat_node(int i, int j) const { return j * (2 * columns + 1) + i; }
  int bend_count() const { return 4 * (columns + 1) * (rows + 1); }
  int raw_count() const { return bend_count() + (coupled ? 2 * (2 * columns + 1) * (2 * rows + 1) : 0); }
  std::vector<int> of_element(int i, int j) const {
    std::vector<int> raw;
    for (int b = 0; b < 2; ++b)
      for (int a = 0; a < 2; ++a)
        for (int d = 0; d < 4; ++d) raw.push_back(4 * bend_node(i + a, j + b) + d);
    if (!coupled) return raw;
    for (int b = 0; b < 3; ++b)
      for (int a = 0; a < 3; ++a)
        for (int d = 0; d < 2; ++d) raw.push_back(bend_count() + 2 * flat_node(2 * i + a, 2 * j + b) + d);
    return raw;
  }
};

void check(const PlateModel& model) {
  const auto rises = [](const std::vector<double>& lines) {
    if (lines.size() < 2) return false;
    for (std::size_t i = 1; i < lines.size(); ++i)
      if (!(lines[i] > lines[i - 1]) || !std::isfinite(lines[i])) return false;
    return std::isfinite(lines[0]);
  };
  if (!rises(model.x_lines) || !rises(model.y_lines)) throw Error("plate model: grid lines must rise");
  if (model.cells.size() != (model.x_lines.size() - 1) * (model.y_lines.size() - 1))
    throw Error("plate model: one cell for each rectangle of the grid is needed");
  for (const PlateCell& cell : model.cells)
    for (const PlateLayer& layer : cell)
      if (!(layer.top_mm > layer.bottom_mm) || !(layer.modulus_mpa > 0) || !(layer.poisson >= 0) ||
          !(layer.poisson < 0.5) || !(layer.density_g_cm3 >= 0))
        throw Error("plate model: a layer needs thickness, stiffness, and a Poisson's ratio from 0 to below 0.5");
}

/// Which line interval holds v; -1 outside.
int interval_of(const std::vector<double>& lines, double v) {
  if (!(v >= lines.front() && v <= lines.back())) return -1;
  const auto after = std::upper_bound(lines.begin(), lines.end(), v);
  return static_cast<int>(std::min(after - lines.begin() - 1, static_cast<std::ptrdiff_t>(lines.size()) - 2));
}

struct Spot {
  int column = -1, row = -1;
  double s = 0, t = 0;
};

/// The cell with material that holds the point; a point on a line belongs to either side.
Spot spot_of(const PlateModel& model, Vec2 at, const char* what) {
  const int columns = static_cast<int>(model.x_lines.size()) - 1;
  const auto solid = [&](int i, int j) { return !model.cells[static_cast<std::size_t>(j * columns + i)].empty(); };
  const int i0 = interval_of(model.x_lines, at.x), j0 = interval_of(model.y_lines, at.y);
  if (i0 >= 0 && j0 >= 0)
    for (int j = j0; j >= std::max(0, j0 - 1); --j)
      for (int i = i0; i >= std::max(0, i0 - 1); --i) {
        const auto iu = static_cast<std::size_t>(i), ju = static_cast<std::size_t>(j);
        if (model.x_lines[iu + 1] < at.x || model.y_lines[ju + 1] < at.y || !solid(i, j)) continue;
        return {i, j, (at.x - model.x_lines[iu]) / (model.x_lines[iu + 1] - model.x_lines[iu]),
                (at.y - model.y_lines[ju]) / (model.y_lines[ju + 1] - model.y_lines[ju])};
      }
  throw Error(std::string("plate model: ") + what + " stands off the plate or in a hole");
}

double width(const std::vector<double>& lines, int i) {
  return lines[static_cast<std::size_t>(i) + 1] - lines[static_cast<std::size_t>(i)];
}

std::array<double, bend_dofs> bending_at(const PlateModel& model, const Spot& spot) {
  return bending(hermite(spot.s, width(model.x_lines, spot.column)).value,
                 hermite(spot.t, width(model.y_lines, spot.row)).value);
}

Grid number_dofs(const PlateModel& model, const std::vector<Laminate>& laminates) {
  Grid grid;
  grid.columns = static_cast<int>(model.x_lines.size()) - 1;
  grid.rows = static_cast<int>(model.y_lines.size()) - 1;
  for (const Laminate& laminate : laminates)
    // Evenly layered cells have a coupling of rounding size only.
    if (laminate.coupling.norm() > 1e-9 * std::sqrt(laminate.stretch.norm() * laminate.bend.norm()))
      grid.coupled = true;
  std::vector<bool> used(static_cast<std::size_t>(grid.raw_count()), false);
  for (int j = 0; j < grid.rows; ++j)
    for (int i = 0; i < grid.columns; ++i)
      if (!model.cells[static_cast<std::size_t>(j * grid.columns + i)].empty())
        for (const int raw : grid.of_element(i, j)) used[static_cast<std::size_t>(raw)] = true;

  const auto hold = [&](int i, int j, PlateEdge edge, int along, int across) {
    if (edge == PlateEdge::free) return;
    const auto node = static_cast<std::size_t>(4 * grid.bend_node(i, j));
    used[node] = used[node + static_cast<std::size_t>(along)] = false;
    if (edge == PlateEdge::clamped) used[node + static_cast<std::size_t>(across)] = used[node + 3] = false;
  };
  for (int j = 0; j <= grid.rows; ++j) {
    hold(0, j, model.left, 2, 1);
    hold(grid.columns, j, model.right, 2, 1);
  }
  for (int i = 0; i <= grid.columns; ++i) {
    hold(i, 0, model.front, 1, 2);
    hold(i, grid.rows, model.rear, 1, 2);
  }
  if (grid.coupled) {
    // In-plane, nothing holds the plate: three displacements are pinned, which strains nothing.
    std::vector<std::array<int, 2>> nodes;
    for (int j = 0; j <= 2 * grid.rows; ++j)
      for (int i = 0; i <= 2 * grid.columns; ++i)
        if (used[static_cast<std::size_t>(grid.bend_count() + 2 * grid.flat_node(i, j))]) nodes.push_back({i, j});
    const std::array<int, 2> first = nodes.front();
    std::array<int, 2> far = first;
    for (const std::array<int, 2>& node : nodes)
      if (node[0] - first[0] > far[0] - first[0]) far = node;
    const auto raw = [&](const std::array<int, 2>& node) {
      return static_cast<std::size_t>(grid.bend_count() + 2 * grid.flat_node(node[0], node[1]));
    };
    used[raw(first)] = used[raw(first) + 1] = used[raw(far) + 1] = false;
  }
  grid.number.assign(used.size(), -1);
  for (std::size_t k = 0; k < used.size(); ++k)
    if (used[k]) grid.number[k] = grid.free++;
  return grid;
}

ElementMatrix stiffness_of(const Laminate& laminate, double a, double b, bool coupled) {
  ElementMatrix k = ElementMatrix::Zero();
  Eigen::Matrix<double, 6, 6> law;
  law << laminate.stretch, laminate.coupling, laminate.coupling, laminate.bend;
  Eigen::Matrix<double, 6, element_dofs> strain = Eigen::Matrix<double, 6, element_dofs>::Zero();
  for (std::size_t gy = 0; gy < 4; ++gy)
    for (std::size_t gx = 0; gx < 4; ++gx) {
      const double s = (gauss_at[gx] + 1) / 2, t = (gauss_at[gy] + 1) / 2;
      const Hermite x = hermite(s, a), y = hermite(t, b);
      const auto xx = bending(x.bend, y.value), yy = bending(x.value, y.bend), xy = bending(x.slope, y.slope);
      for (int d = 0; d < bend_dofs; ++d) {
        const auto u = static_cast<std::size_t>(d);
        // w is downward, z up: the fibre at z is strained by z w_xx.
        strain(3, d) = xx[u];
        strain(4, d) = yy[u];
        strain(5, d) = 2 * xy[u];
      }
      if (coupled) {
        const Lagrange p = lagrange(s, a), q = lagrange(t, b);
        for (std::size_t jn = 0; jn < 3; ++jn)
          for (std::size_t in = 0; in < 3; ++in) {
            const int d = bend_dofs + 2 * static_cast<int>(3 * jn + in);
            strain(0, d) = strain(2, d + 1) = p.slope[in] * q.value[jn];
            strain(1, d + 1) = strain(2, d) = p.value[in] * q.slope[jn];
          }
      }
      k += strain.transpose() * law * strain * (gauss_weight[gx] * gauss_weight[gy] * a * b / 4);
    }
  return k;
}

/// The stretch-weighted middle of the whole plate. Heights counted from there need the least coupling, and none at all
/// where every cell is alike.
double neutral_height(const PlateModel& model) {
  const std::size_t columns = model.x_lines.size() - 1;
  double stretch = 0, moment = 0;
  for (std::size_t k = 0; k < model.cells.size(); ++k) {
    const Laminate laminate = laminate_of(model.cells[k]);
    const double area =
        width(model.x_lines, static_cast<int>(k % columns)) * width(model.y_lines, static_cast<int>(k / columns));
    stretch += laminate.stretch(0, 0) * area;
    moment += laminate.coupling(0, 0) * area;
  }
  return stretch > 0 ? moment / stretch : 0;
}

struct Assembly {
  Grid grid;
  std::vector<Laminate> laminates;
  Eigen::SparseMatrix<double> stiffness;
  double rigid_n_mm = 0;
  double span_mm = 0, bend_nmm = 0;
};

Assembly assemble(const PlateModel& model) {
  check(model);
  Assembly assembly;
  const double zero = neutral_height(model);
  for (const PlateCell& cell : model.cells) assembly.laminates.push_back(laminate_of(cell, zero));
  assembly.grid = number_dofs(model, assembly.laminates);
  const Grid& grid = assembly.grid;
  if (grid.free == 0) throw Error("plate model: nothing is left to move");

  std::vector<Eigen::Triplet<double>> entries;
  const int dofs = grid.coupled ? element_dofs : bend_dofs;
  for (int j = 0; j < grid.rows; ++j)
    for (int i = 0; i < grid.columns; ++i) {
      const auto cell = static_cast<std::size_t>(j * grid.columns + i);
      if (model.cells[cell].empty()) continue;
      const ElementMatrix k =
          stiffness_of(assembly.laminates[cell], width(model.x_lines, i), width(model.y_lines, j), grid.coupled);
      const std::vector<int> raw = grid.of_element(i, j);
      for (int c = 0; c < dofs; ++c)
        for (int r = 0; r < dofs; ++r) {
          const int row = grid.number[static_cast<std::size_t>(raw[static_cast<std::size_t>(r)])];
          const int column = grid.number[static_cast<std::size_t>(raw[static_cast<std::size_t>(c)])];
          if (row >= 0 && column >= 0) entries.emplace_back(row, column, k(r, c));
        }
    }
  assembly.span_mm =
      std::max(model.x_lines.back() - model.x_lines.front(), model.y_lines.back() - model.y_lines.front());
  for (const Laminate& laminate : assembly.laminates)
    assembly.bend_nmm = std::max(assembly.bend_nmm, laminate.bend(0, 0));
  assembly.rigid_n_mm = rigid_support_ratio * assembly.bend_nmm / (assembly.span_mm * assembly.span_mm);
  for (const PlateSupport& support : model.supports) {
    const Spot spot = spot_of(model, support.at, "a support");
    const auto shape = bending_at(model, spot);
    const std::vector<int> raw = grid.of_element(spot.column, spot.row);
    const double k = support.stiffness_n_mm > 0 ? support.stiffness_n_mm : assembly.rigid_n_mm;
    for (std::size_t r = 0; r < bend_dofs; ++r)
      for (std::size_t c = 0; c < bend_dofs; ++c) {
        const int row = grid.number[static_cast<std::size_t>(raw[r])],
                  column = grid.number[static_cast<std::size_t>(raw[c])];
        if (row >= 0 && column >= 0) entries.emplace_back(row, column, k * shape[r] * shape[c]);
      }
  }
  assembly.stiffness.resize(grid.free, grid.free);
  assembly.stiffness.setFromTriplets(entries.begin(), entries.end());
  return assembly;
}

void add_force(const PlateModel& model, const Grid& grid, const Spot& spot, double newton, Eigen::VectorXd& load) {
  const auto shape = bending_at(model, spot);
  const std::vector<int> raw = grid.of_element(spot.column, spot.row);
  for (std::size_t d = 0; d < bend_dofs; ++d)
    if (const int n = grid.number[static_cast<std::size_t>(raw[d])]; n >= 0) load[n] += newton * shape[d];
}

/// Pressure over the overlap of a rectangle with a cell, by Gauss points within that overlap: exact.
void add_pressure(const PlateModel& model, const Grid& grid, int i, int j, Vec2 least, Vec2 greatest, double mpa,
                  Eigen::VectorXd& load) {
  const auto iu = static_cast<std::size_t>(i), ju = static_cast<std::size_t>(j);
  const double x0 = std::max(least.x, model.x_lines[iu]), x1 = std::min(greatest.x, model.x_lines[iu + 1]);
  const double y0 = std::max(least.y, model.y_lines[ju]), y1 = std::min(greatest.y, model.y_lines[ju + 1]);
  if (!(x1 > x0) || !(y1 > y0)) return;
  for (std::size_t gy = 0; gy < 4; ++gy)
    for (std::size_t gx = 0; gx < 4; ++gx) {
      const double x = (x0 + x1) / 2 + gauss_at[gx] * (x1 - x0) / 2, y = (y0 + y1) / 2 + gauss_at[gy] * (y1 - y0) / 2;
      const Spot spot{i, j, (x - model.x_lines[iu]) / width(model.x_lines, i),
                      (y - model.y_lines[ju]) / width(model.y_lines, j)};
      add_force(model, grid, spot, mpa * gauss_weight[gx] * gauss_weight[gy] * (x1 - x0) * (y1 - y0) / 4, load);
    }
}

Eigen::VectorXd load_of(const PlateModel& model, const Assembly& assembly) {
  const Grid& grid = assembly.grid;
  Eigen::VectorXd load = Eigen::VectorXd::Zero(grid.free);
  for (const PlateForce& force : model.forces)
    add_force(model, grid, spot_of(model, force.at, "a force"), force.newton, load);
  if (model.own_weight)
    for (const PlateMass& mass : model.masses)
      add_force(model, grid, spot_of(model, mass.at, "a mass"), mass.gram * 1e-3 * standard_gravity, load);
  for (int j = 0; j < grid.rows; ++j)
    for (int i = 0; i < grid.columns; ++i) {
      const auto cell = static_cast<std::size_t>(j * grid.columns + i);
      if (model.cells[cell].empty()) continue;
      const Vec2 least{model.x_lines.front(), model.y_lines.front()},
          greatest{model.x_lines.back(), model.y_lines.back()};
      if (model.own_weight)  // t/mm2 times mm/s2
        add_pressure(model, grid, i, j, least, greatest, assembly.laminates[cell].mass_t_mm2 * standard_gravity * 1e3,
                     load);
      for (const PlatePressure& p : model.pressures) add_pressure(model, grid, i, j, p.least, p.greatest, p.mpa, load);
    }
  return load;
}

Eigen::SparseMatrix<double> mass_matrix(const PlateModel& model, const Assembly& assembly) {
  const Grid& grid = assembly.grid;
  std::vector<Eigen::Triplet<double>> entries;
  const auto add = [&](const Spot& spot, double tonnes) {
    const auto shape = bending_at(model, spot);
    const std::vector<int> raw = grid.of_element(spot.column, spot.row);
    for (std::size_t r = 0; r < bend_dofs; ++r)
      for (std::size_t c = 0; c < bend_dofs; ++c) {
        const int row = grid.number[static_cast<std::size_t>(raw[r])],
                  column = grid.number[static_cast<std::size_t>(raw[c])];
        if (row >= 0 && column >= 0) entries.emplace_back(row, column, tonnes * shape[r] * shape[c]);
      }
  };
  for (int j = 0; j < grid.rows; ++j)
    for (int i = 0; i < grid.columns; ++i) {
      const auto cell = static_cast<std::size_t>(j * grid.columns + i);
      if (model.cells[cell].empty()) continue;
      const double area = width(model.x_lines, i) * width(model.y_lines, j);
      for (std::size_t gy = 0; gy < 4; ++gy)
        for (std::size_t gx = 0; gx < 4; ++gx)
          add({i, j, (gauss_at[gx] + 1) / 2, (gauss_at[gy] + 1) / 2},
              assembly.laminates[cell].mass_t_mm2 * area * gauss_weight[gx] * gauss_weight[gy] / 4);
    }
  for (const PlateMass& mass : model.masses) add(spot_of(model, mass.at, "a mass"), mass.gram * tonne_per_gram);
  Eigen::SparseMatrix<double> matrix(grid.free, grid.free);
  matrix.setFromTriplets(entries.begin(), entries.end());
  return matrix;
}

}  // namespace

PlateModel refined(const PlateModel& model, int n) {
  const auto split = [n](const std::vector<double>& lines) {
    std::vector<double> out{lines.front()};
    for (std::size_t i = 1; i < lines.size(); ++i)
      for (int k = 1; k <= n; ++k) out.push_back(k == n ? lines[i] : lines[i - 1] + (lines[i] - lines[i - 1]) * k / n);
    return out;
  };
  PlateModel fine = model;
  fine.x_lines = split(model.x_lines);
  fine.y_lines = split(model.y_lines);
  const std::size_t columns = model.x_lines.size() - 1, fine_columns = fine.x_lines.size() - 1;
  fine.cells.assign(fine_columns * (fine.y_lines.size() - 1), {});
  for (std::size_t k = 0; k < fine.cells.size(); ++k) {
    const auto nu = static_cast<std::size_t>(n);
    fine.cells[k] = model.cells[(k / fine_columns / nu) * columns + (k % fine_columns) / nu];
  }
  return fine;
}

PlateSag sag_of(const PlateModel& model) {
  const Assembly assembly = assemble(model);
  const Eigen::VectorXd load = load_of(model, assembly);
  const Solver solver(assembly.stiffness);
  // A plate that can move as a body leaves a pivot that is only rounding.
  const double stiffest = solver.info() == Eigen::Success ? solver.vectorD().cwiseAbs().maxCoeff() : 0;
  if (solver.info() != Eigen::Success || !(solver.vectorD().minCoeff() > 1e-14 * stiffest))
    throw Error("plate model: nothing holds the plate");
  const Eigen::VectorXd moved = solver.solve(load);

  PlateSag sag;
  const Grid& grid = assembly.grid;
  sag.node_dofs.assign(static_cast<std::size_t>(grid.bend_count()), 0);
  for (std::size_t k = 0; k < sag.node_dofs.size(); ++k)
    if (grid.number[k] >= 0) sag.node_dofs[k] = moved[grid.number[k]];
  for (int j = 0; j <= grid.rows; ++j)
    for (int i = 0; i <= grid.columns; ++i) {
      const double w = sag.node_dofs[static_cast<std::size_t>(4 * grid.bend_node(i, j))];
      if (w > sag.greatest_mm) {
        sag.greatest_mm = w;
        sag.where = {model.x_lines[static_cast<std::size_t>(i)], model.y_lines[static_cast<std::size_t>(j)]};
      }
    }
  for (const PlateCell& cell : model.cells)
    if (!cell.empty()) {
      double bottom = cell.front().bottom_mm, top = cell.front().top_mm;
      for (const PlateLayer& layer : cell) {
        bottom = std::min(bottom, layer.bottom_mm);
        top = std::max(top, layer.top_mm);
      }
      sag.thickness_mm = std::max(sag.thickness_mm, top - bottom);
    }
  sag.small_deflection = sag.greatest_mm <= small_deflection_share * sag.thickness_mm;
  for (const PlateSupport& support : model.supports)
    sag.support_n += (support.stiffness_n_mm > 0 ? support.stiffness_n_mm : assembly.rigid_n_mm) *
                     deflection_at(model, sag, support.at);
  return sag;
}

double deflection_at(const PlateModel& model, const PlateSag& sag, Vec2 at) {
  const Spot spot = spot_of(model, at, "the point asked for");
  const auto shape = bending_at(model, spot);
  const int columns = static_cast<int>(model.x_lines.size()) - 1;
  double w = 0;
  for (int n = 0; n < 4; ++n)
    for (int d = 0; d < 4; ++d) {
      const int node = (spot.row + n / 2) * (columns + 1) + spot.column + n % 2;
      w += shape[static_cast<std::size_t>(4 * n + d)] * sag.node_dofs[static_cast<std::size_t>(4 * node + d)];
    }
  return w;
}

std::vector<double> frequencies_of(const PlateModel& model, int count) {
  const Assembly assembly = assemble(model);
  const Eigen::SparseMatrix<double> mass = mass_matrix(model, assembly);
  const int n = assembly.grid.free;
  double areal = 0;
  for (const Laminate& laminate : assembly.laminates) areal = std::max(areal, laminate.mass_t_mm2);
  if (!(areal > 0)) throw Error("plate model: without density there is no frequency");
  // A shift makes the system of an unheld plate definite; it is of the order of the first mode and taken off again.
  const double span2 = assembly.span_mm * assembly.span_mm;
  const double shift = assembly.bend_nmm / (areal * span2 * span2);
  const Solver solver(Eigen::SparseMatrix<double>(assembly.stiffness + shift * mass));
  if (solver.info() != Eigen::Success) throw Error("plate model: its parts do not hang together");

  constexpr int rigid_motions = 3, spare = 8, most_rounds = 200;
  const int size = std::min(n, count + rigid_motions + spare);
  // Subspace iteration (Bathe, from memory). Any start will do that no mode is blind to: fixed, so that runs agree.
  Eigen::MatrixXd x(n, size);
  std::uint32_t state = 1;
  for (int c = 0; c < size; ++c)
    for (int r = 0; r < n; ++r) {
      state = state * 1664525u + 1013904223u;
      x(r, c) = static_cast<double>(state >> 8) / 16777216.0 - 0.5;
    }
  Eigen::VectorXd values = Eigen::VectorXd::Zero(size);
  for (int round = 0; round < most_rounds; ++round) {
    const Eigen::MatrixXd right = mass * x;
    const Eigen::MatrixXd y = solver.solve(right);
    const Eigen::MatrixXd small_k = y.transpose() * right, my = mass * y, small_m = y.transpose() * my;
    const Eigen::GeneralizedSelfAdjointEigenSolver<Eigen::MatrixXd> small((small_k + small_k.transpose()) / 2,
                                                                          (small_m + small_m.transpose()) / 2);
    x = y * small.eigenvectors();
    const Eigen::VectorXd& next = small.eigenvalues();
    const int wanted = std::min(size, count + rigid_motions);
    const double change = ((next - values).head(wanted).array().abs() / next.head(wanted).array()).maxCoeff();
    values = next;
    if (change < 1e-10) break;
  }
  std::vector<double> hertz;
  for (int k = 0; k < size && static_cast<int>(hertz.size()) < count; ++k) {
    const double squared = values[k] - shift;
    if (squared > 1e-6 * shift) hertz.push_back(std::sqrt(squared) / (2 * pi));
  }
  return hertz;
}

double plate_mass_g(const PlateModel& model) {
  check(model);
  const std::size_t columns = model.x_lines.size() - 1;
  double tonnes = 0;
  for (std::size_t k = 0; k < model.cells.size(); ++k)
    tonnes += laminate_of(model.cells[k]).mass_t_mm2 * width(model.x_lines, static_cast<int>(k % columns)) *
              width(model.y_lines, static_cast<int>(k / columns));
  return tonnes / tonne_per_gram;
}

}  // namespace bedwright
