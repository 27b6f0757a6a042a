// Mass of a printed part.
#pragma once

#include <string>

namespace bedwright {

/// Volume times the material's density (params/hardware/materials.json): a solid part. 0 for an unknown material.
double solid_mass_g(double volume_mm3, const std::string& material);

}  // namespace bedwright
