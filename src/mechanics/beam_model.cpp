#include "mechanics/beam_model.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/trig.h"
#include "mechanics/constants.h"

namespace bedwright {
namespace {

constexpr double tonne_mm_per_kg_m = 1e-6;
constexpr double tonne_per_gram = 1e-6;
/// A rigid support, against the beam's own E I / L^3: adds a ten-millionth of the sag at most.
constexpr double rigid_ratio = 1e9;
constexpr int least_elements = 32;

using Eigen::MatrixXd;
using Eigen::VectorXd;

struct System {
  std::vector<double> x;
  MatrixXd stiffness;
  double rigid_n_mm = 0;

  int node_at(double at) const { return static_cast<int>(std::lower_bound(x.begin(), x.end(), at - 1e-9) - x.begin()); }
};

double support_stiffness(const System& system, const BeamSupport& support) {
  return support.stiffness_n_mm > 0 ? support.stiffness_n_mm : system.rigid_n_mm;
}

System system_of(const BeamModel& model) {
  if (!(model.length_mm > 0) || !(model.bend_nmm2 > 0)) throw Error("beam model: a beam needs length and stiffness");
  System system;
  std::vector<double>& x = system.x;
  const auto add = [&](double at, const char* what) {
    if (!(at >= -1e-9 && at <= model.length_mm + 1e-9))
      throw Error(std::string("beam model: ") + what + " off the beam");
    x.push_back(std::clamp(at, 0.0, model.length_mm));
  };
  for (int i = 0; i <= least_elements; ++i) x.push_back(model.length_mm * i / least_elements);
  for (const BeamSupport& s : model.supports) add(s.x_mm, "a support");
  for (const BeamForce& f : model.forces) add(f.x_mm, "a force");
  for (const BeamMass& m : model.masses) add(m.x_mm, "a mass");
  std::sort(x.begin(), x.end());
  // Closer than this and an element's stiffness drowns the rest.
  const double least = model.length_mm * 1e-6;
  x.erase(std::unique(x.begin(), x.end(), [&](double a, double b) { return b - a < least; }), x.end());

  const auto nodes = static_cast<Eigen::Index>(x.size());
  system.stiffness = MatrixXd::Zero(2 * nodes, 2 * nodes);
  for (Eigen::Index e = 0; e + 1 < nodes; ++e) {
    const double l = x[static_cast<std::size_t>(e) + 1] - x[static_cast<std::size_t>(e)];
    Eigen::Matrix4d k;
    k << 12, 6 * l, -12, 6 * l, 6 * l, 4 * l * l, -6 * l, 2 * l * l, -12, -6 * l, 12, -6 * l, 6 * l, 2 * l * l, -6 * l,
        4 * l * l;
    system.stiffness.block<4, 4>(2 * e, 2 * e) += k * (model.bend_nmm2 / (l * l * l));
  }
  const double l = model.length_mm;
  system.rigid_n_mm = rigid_ratio * model.bend_nmm2 / (l * l * l);
  for (const BeamSupport& s : model.supports) {
    const int n = 2 * system.node_at(s.x_mm);
    system.stiffness(n, n) += support_stiffness(system, s);
    system.stiffness(n + 1, n + 1) += s.turning_nmm_per_rad < 0 ? system.rigid_n_mm * l * l : s.turning_nmm_per_rad;
  }
  return system;
}

/// Hermite interpolation between nodes; `derivative` 0 or 1.
double between(const BeamSag& sag, double at, int derivative) {
  const auto after = std::upper_bound(sag.x_mm.begin(), sag.x_mm.end(), at);
  const auto i = static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(after - sag.x_mm.begin() - 1, 0, static_cast<std::ptrdiff_t>(sag.x_mm.size()) - 2));
  const double l = sag.x_mm[i + 1] - sag.x_mm[i], s = (at - sag.x_mm[i]) / l;
  const double w0 = sag.w_mm[i], w1 = sag.w_mm[i + 1], t0 = sag.slope[i] * l, t1 = sag.slope[i + 1] * l;
  if (derivative == 1)
    return ((-6 * s + 6 * s * s) * (w0 - w1) + (1 - 4 * s + 3 * s * s) * t0 + (3 * s * s - 2 * s) * t1) / l;
  return (1 - 3 * s * s + 2 * s * s * s) * w0 + (s - 2 * s * s + s * s * s) * t0 + (3 * s * s - 2 * s * s * s) * w1 +
         (s * s * s - s * s) * t1;
}

}  // namespace

BeamSag sag_of(const BeamModel& model) {
  const System system = system_of(model);
  VectorXd load = VectorXd::Zero(system.stiffness.rows());
  for (const BeamForce& f : model.forces) {
    const int n = 2 * system.node_at(f.x_mm);
    load[n] += f.newton;
    load[n + 1] += f.couple_nmm;
  }
  for (std::size_t e = 0; e + 1 < system.x.size(); ++e) {
    const double l = system.x[e + 1] - system.x[e], q = model.line_load_n_mm;
    const auto n = static_cast<Eigen::Index>(2 * e);
    load.segment<4>(n) += Eigen::Vector4d(q * l / 2, q * l * l / 12, q * l / 2, -q * l * l / 12);
  }
  const Eigen::LDLT<MatrixXd> solver(system.stiffness);
  const VectorXd pivots = solver.vectorD();
  if (!(pivots.minCoeff() > 1e-13 * pivots.maxCoeff())) throw Error("beam model: nothing holds the beam");
  const VectorXd moved = solver.solve(load);

  BeamSag sag;
  sag.x_mm = system.x;
  for (std::size_t i = 0; i < system.x.size(); ++i) {
    sag.w_mm.push_back(moved[static_cast<Eigen::Index>(2 * i)]);
    sag.slope.push_back(moved[static_cast<Eigen::Index>(2 * i + 1)]);
    if (sag.w_mm.back() > sag.greatest_mm) {
      sag.greatest_mm = sag.w_mm.back();
      sag.greatest_at_mm = system.x[i];
    }
  }
  for (const BeamSupport& s : model.supports)
    sag.support_n.push_back(support_stiffness(system, s) * moved[2 * system.node_at(s.x_mm)]);
  return sag;
}

double deflection_at(const BeamSag& sag, double x_mm) {
  return between(sag, x_mm, 0);
}
double slope_at(const BeamSag& sag, double x_mm) {
  return between(sag, x_mm, 1);
}

std::vector<double> frequencies_of(const BeamModel& model, int count) {
  const System system = system_of(model);
  const Eigen::Index n = system.stiffness.rows();
  MatrixXd mass = MatrixXd::Zero(n, n);
  const double m = model.mass_kg_m * tonne_mm_per_kg_m;
  if (!(m > 0)) throw Error("beam model: without mass there is no frequency");
  for (std::size_t e = 0; e + 1 < system.x.size(); ++e) {
    const double l = system.x[e + 1] - system.x[e];
    Eigen::Matrix4d element;
    element << 156, 22 * l, 54, -13 * l, 22 * l, 4 * l * l, 13 * l, -3 * l * l, 54, 13 * l, 156, -22 * l, -13 * l,
        -3 * l * l, -22 * l, 4 * l * l;
    const auto at = static_cast<Eigen::Index>(2 * e);
    mass.block<4, 4>(at, at) += element * (m * l / 420);
  }
  for (const BeamMass& point : model.masses) {
    const int at = 2 * system.node_at(point.x_mm);
    mass(at, at) += point.gram * tonne_per_gram;
  }
  const Eigen::GeneralizedSelfAdjointEigenSolver<MatrixXd> solver(system.stiffness, mass, Eigen::EigenvaluesOnly);
  const double l = model.length_mm, unit = model.bend_nmm2 / (m * l * l * l * l);
  std::vector<double> hertz;
  for (Eigen::Index k = 0; k < n && static_cast<int>(hertz.size()) < count; ++k)
    if (const double squared = solver.eigenvalues()[k]; squared > 1e-6 * unit)
      hertz.push_back(std::sqrt(squared) / (2 * pi));
  return hertz;
}

double rectangle_moment_mm4(double width_mm, double height_mm) {
  return width_mm * height_mm * height_mm * height_mm / 12;
}

}  // namespace bedwright
