#include "mechanics/beam_model.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/banded.h"
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
constexpr double frequency_share = 1e-9;  // of a squared frequency, to which it is found

// An element joins two nodes of two unknowns each, deflection and slope.
constexpr std::size_t band_width = 3;
using Element = std::array<std::array<double, 4>, 4>;

struct System {
  std::vector<double> x;
  Band stiffness;
  double rigid_n_mm = 0;

  std::size_t node_at(double at) const {
    return static_cast<std::size_t>(std::lower_bound(x.begin(), x.end(), at - 1e-9) - x.begin());
  }
};

void add_element(Band& band, std::size_t node, const Element& k, double factor) {
  for (std::size_t i = 0; i < 4; ++i)
    for (std::size_t j = 0; j <= i; ++j) band.at(2 * node + i, 2 * node + j) += k[i][j] * factor;
}

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

  system.stiffness = Band(2 * x.size(), band_width);
  for (std::size_t e = 0; e + 1 < x.size(); ++e) {
    const double l = x[e + 1] - x[e];
    const Element k{{{12, 6 * l, -12, 6 * l},
                     {6 * l, 4 * l * l, -6 * l, 2 * l * l},
                     {-12, -6 * l, 12, -6 * l},
                     {6 * l, 2 * l * l, -6 * l, 4 * l * l}}};
    add_element(system.stiffness, e, k, model.bend_nmm2 / (l * l * l));
  }
  const double l = model.length_mm;
  system.rigid_n_mm = rigid_ratio * model.bend_nmm2 / (l * l * l);
  for (const BeamSupport& s : model.supports) {
    const std::size_t n = 2 * system.node_at(s.x_mm);
    system.stiffness.at(n, n) += support_stiffness(system, s);
    system.stiffness.at(n + 1, n + 1) += s.turning_nmm_per_rad < 0 ? system.rigid_n_mm * l * l : s.turning_nmm_per_rad;
  }
  return system;
}

/// Whether the factor's pivots are all real: rounding leaves some stiffness even to a beam that floats.
bool holds(const Band& l) {
  double least = 1e300, most = 0;
  for (std::size_t i = 0; i < l.n; ++i) {
    least = std::min(least, l.at(i, i) * l.at(i, i));
    most = std::max(most, l.at(i, i) * l.at(i, i));
  }
  return least > 1e-13 * most;
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
  System system = system_of(model);
  std::vector<double> moved(system.stiffness.n, 0.0);  // the loads, then what they do
  for (const BeamForce& f : model.forces) {
    const std::size_t n = 2 * system.node_at(f.x_mm);
    moved[n] += f.newton;
    moved[n + 1] += f.couple_nmm;
  }
  for (std::size_t e = 0; e + 1 < system.x.size(); ++e) {
    const double l = system.x[e + 1] - system.x[e], q = model.line_load_n_mm;
    const double share[4] = {q * l / 2, q * l * l / 12, q * l / 2, -q * l * l / 12};
    for (std::size_t i = 0; i < 4; ++i) moved[2 * e + i] += share[i];
  }
  if (!factor(system.stiffness) || !holds(system.stiffness)) throw Error("beam model: nothing holds the beam");
  solve(system.stiffness, moved);

  BeamSag sag;
  sag.x_mm = system.x;
  for (std::size_t i = 0; i < system.x.size(); ++i) {
    sag.w_mm.push_back(moved[2 * i]);
    sag.slope.push_back(moved[2 * i + 1]);
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
  const std::size_t n = system.stiffness.n;
  Band mass(n, band_width);
  const double m = model.mass_kg_m * tonne_mm_per_kg_m;
  if (!(m > 0)) throw Error("beam model: without mass there is no frequency");
  for (std::size_t e = 0; e + 1 < system.x.size(); ++e) {
    const double l = system.x[e + 1] - system.x[e];
    const Element element{{{156, 22 * l, 54, -13 * l},
                           {22 * l, 4 * l * l, 13 * l, -3 * l * l},
                           {54, 13 * l, 156, -22 * l},
                           {-13 * l, -3 * l * l, -22 * l, 4 * l * l}}};
    add_element(mass, e, element, m * l / 420);
  }
  for (const BeamMass& point : model.masses) {
    const std::size_t at = 2 * system.node_at(point.x_mm);
    mass.at(at, at) += point.gram * tonne_per_gram;
  }
  // The squares of the angular frequencies, one by one, by halving what is left between two numbers.
  const double l = model.length_mm, rigid = 1e-6 * model.bend_nmm2 / (m * l * l * l * l);
  const std::size_t rigid_modes = eigenvalues_below(system.stiffness, mass, rigid);
  std::vector<double> hertz;
  double low = rigid;
  for (std::size_t k = rigid_modes; k < n && static_cast<int>(hertz.size()) < count; ++k) {
    double high = 2 * low;
    while (eigenvalues_below(system.stiffness, mass, high) <= k) high *= 2;
    double from = low;
    while (high - from > frequency_share * high) {
      const double middle = from + (high - from) / 2;
      (eigenvalues_below(system.stiffness, mass, middle) <= k ? from : high) = middle;
    }
    low = from;
    hertz.push_back(std::sqrt(from + (high - from) / 2) / (2 * pi));
  }
  return hertz;
}

double rectangle_moment_mm4(double width_mm, double height_mm) {
  return width_mm * height_mm * height_mm * height_mm / 12;
}

}  // namespace bedwright
