// A thin plate with ribs as a finite-element model: how far it sags, and how it rings.
//
// Kirchhoff plate on a grid of rectangles: Bogner-Fox-Schmit element (bicubic Hermite: w, w_x, w_y, w_xy at each node),
// with biquadratic in-plane displacements where a cell's layers do not lie evenly about z = 0 (a rib on one face pulls
// on the sheet it stiffens). Each cell is a stack of layers; a cell without layers is a hole. Deflections and squared
// frequencies converge with the fourth power of the cell size where the solution is smooth.
// Source: Bogner, Fox, Schmit 1965 (from memory); plate theory: Timoshenko, Theory of Plates and Shells (from memory).
//
// Where it ends: no shear deformation (about (thickness / span)^2 of the sag), no creep, no layer slip, deflections
// small against the thickness; narrow ribs twist more stiffly than they should.
// Units: mm, N, MPa (N/mm2), g/cm3, Hz. Frame: the caller's; z up, loads and deflections positive down.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// The text-book limit of small deflections: half the thickness (Roark, Formulas for Stress and Strain, from memory).
inline constexpr double small_deflection_share = 0.5;

/// What "rigid" means for a support: this many times the stiffness of the plate itself (D / span^2). The sag it adds
/// is one part in a million of the plate's.
inline constexpr double rigid_support_ratio = 1e6;

struct PlateLayer {
  double bottom_mm = 0, top_mm = 0;
  double modulus_mpa = 0;
  double poisson = 0;
  double density_g_cm3 = 0;
};

using PlateCell = std::vector<PlateLayer>;

enum class PlateEdge { free, simply_supported, clamped };

struct PlateSupport {
  Vec2 at;
  double stiffness_n_mm = 0;  ///< 0: rigid
};

struct PlateForce {
  Vec2 at;
  double newton = 0;
};

struct PlateMass {
  Vec2 at;
  double gram = 0;
};

/// Pressure over a rectangle.
struct PlatePressure {
  Vec2 least, greatest;
  double mpa = 0;
};

struct PlateModel {
  std::vector<double> x_lines, y_lines;  ///< rising; at least two each
  std::vector<PlateCell> cells;          ///< row by row from the least y: cells[row * (columns) + column]
  PlateEdge left = PlateEdge::free, right = PlateEdge::free, front = PlateEdge::free, rear = PlateEdge::free;
  std::vector<PlateSupport> supports;
  std::vector<PlateForce> forces;
  std::vector<PlateMass> masses;  ///< ride on the plate: they count in its modes, and weigh if own_weight
  std::vector<PlatePressure> pressures;
  bool own_weight = false;
};

struct PlateSag {
  double greatest_mm = 0;  ///< largest downward deflection at any node
  Vec2 where;
  double thickness_mm = 0;        ///< of the thickest cell, for the small-deflection limit
  bool small_deflection = true;   ///< greatest_mm <= small_deflection_share * thickness_mm
  std::vector<double> node_dofs;  ///< w, w_x, w_y, w_xy of each node, row by row
  double support_n = 0;           ///< sum of the supports' forces; balances the loads unless an edge is held
};

/// Refined: every cell split into n x n alike.
PlateModel refined(const PlateModel& model, int n);

/// Throws Error for lines that do not rise, a wrong number of cells, a layer of no thickness or stiffness, a support or
/// load off the plate or in a hole, or a plate that nothing holds.
PlateSag sag_of(const PlateModel& model);

/// Downward deflection anywhere on the plate.
double deflection_at(const PlateModel& model, const PlateSag& sag, Vec2 at);

/// The `count` lowest natural frequencies in Hz, rising; rigid motions of a plate that nothing holds are left out.
std::vector<double> frequencies_of(const PlateModel& model, int count);

/// Mass of the plate itself, without what rides on it.
double plate_mass_g(const PlateModel& model);

}  // namespace bedwright
