// What moves with the bed, before and after, gram.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

/// A printed part as it leaves the printer: walls solid, the rest at the infill's share. Skin: area x walls x line width,
/// at most the whole volume. Good to about a tenth: top and bottom layers count as walls of the same thickness.
double printed_mass_g(double volume_mm3, double area_mm2, const std::string& material, const PrinterProfile& printer);

/// A made part as the sum needs it.
struct PrintedPart {
  std::string id, family, material;
  int quantity = 1;
  double volume_mm3 = 0, area_mm2 = 0;
};

struct MassTerm {
  std::string name;
  int quantity = 1;
  double each_g = 0;
  bool known = true;
  bool moves = true;
};

struct MovingMass {
  std::vector<MassTerm> terms;
  double after_g = 0;
  std::optional<double> before_g;
  bool complete = true;  ///< nothing that moves is unknown; screws and inserts are left out, and said
};

MovingMass moving_mass(const Kit& kit, const std::vector<PrintedPart>& parts);

}  // namespace bedwright
