// A straight beam on supports that may give: a rail where its base is missing, a bracket's span, a gauge bar.
//
// Euler-Bernoulli beam, cubic elements with a node at every support, load and mass, so that deflections and slopes
// there are exact; frequencies with elements of at most 1/32 of the length, good to 1e-4. Source: beam theory, any
// strength-of-materials text. Where it ends: no shear (about 3 (height / span)^2 of the sag), small slopes.
// Units: mm, N, MPa, Hz. x along the beam from its start; loads and deflections positive down.
#pragma once

#include <vector>

namespace bedwright {

struct BeamSupport {
  double x_mm = 0;
  double stiffness_n_mm = 0;       ///< 0: rigid
  double turning_nmm_per_rad = 0;  ///< resists the slope; < 0: rigidly
};

struct BeamForce {
  double x_mm = 0;
  double newton = 0;
  double couple_nmm = 0;  ///< positive: turns the beam so that it falls with rising x
};

struct BeamMass {
  double x_mm = 0;
  double gram = 0;
};

struct BeamModel {
  double length_mm = 0;
  double bend_nmm2 = 0;  ///< E I
  double mass_kg_m = 0;
  std::vector<BeamSupport> supports;
  std::vector<BeamForce> forces;
  std::vector<BeamMass> masses;
  double line_load_n_mm = 0;
};

struct BeamSag {
  std::vector<double> x_mm, w_mm, slope;  ///< at the nodes; slope dw/dx in radians
  std::vector<double> support_n;          ///< in the model's order; positive: the support carries
  double greatest_mm = 0, greatest_at_mm = 0;
};

/// Throws Error for a beam without length or stiffness, a support, force or mass off the beam, or one that nothing
/// holds.
BeamSag sag_of(const BeamModel& model);
double deflection_at(const BeamSag& sag, double x_mm);
double slope_at(const BeamSag& sag, double x_mm);
/// The lowest `count` natural frequencies, rising; motions as a rigid body are left out.
std::vector<double> frequencies_of(const BeamModel& model, int count);

/// Second moment of area of a rectangle about its middle, mm4. b h^3 / 12.
double rectangle_moment_mm4(double width_mm, double height_mm);

}  // namespace bedwright
