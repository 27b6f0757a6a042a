// Tables of bought things: standard screws, washers, nuts, clearance holes, rails, carriages, inserts, materials,
// and general tolerances. Values come from params/hardware/*.json (built into the program), each row with its source.
// Lookups throw BadInput-free: they return nullptr for an unknown name; the kit reader has already checked names.
#pragma once

#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

/// ISO metric coarse thread with its clearance holes (ISO 273) and counterbore (DIN 974-1 row 1).
struct ThreadSize {
  std::string id;  ///< "M3"
  double diameter_mm = 0, pitch_mm = 0;
  double clearance_fine_mm = 0, clearance_medium_mm = 0, clearance_coarse_mm = 0;
  double counterbore_mm = 0;
};

/// ISO 4762 socket head cap screw. head_diameter is the knurled maximum: what a pocket must pass.
struct CapScrew {
  std::string thread;
  double head_diameter_mm = 0, head_height_mm = 0, key_mm = 0;
};

/// Heat-set insert. No standard: typical values, to be overruled by the kit.
struct InsertSize {
  std::string id;  ///< "m4-standard"
  std::string thread;
  double outer_mm = 0, length_mm = 0, hole_mm = 0, least_wall_mm = 0, boss_mm = 0;
};

struct Material {
  std::string id;  ///< "asa"
  double density_g_cm3 = 0;
  double modulus_gpa = 0;
  double expansion_per_k = 0;
  double softening_c = 0;  ///< heat deflection at 0.45 MPa, low end of the range
  bool printed = false;
};

const ThreadSize* find_thread(const std::string& id);
const CapScrew* find_cap_screw(const std::string& thread);
const InsertSize* find_insert(const std::string& id);
const Material* find_material(const std::string& id);
const RailSize* find_rail(const std::string& id);
const CarriageSize* find_carriage(const std::string& id);
/// All ids of a table ("threads", "cap_screws", "inserts", "materials", "rails", "carriages", "washers", "nuts").
std::vector<std::string> hardware_ids(const std::string& table);
/// The built-in table as JSON: `note`, and `rows` with their source, for tests and for tables not yet typed here.
const Json& hardware_table(const std::string& table);

/// Greatest stress on a printed material under a head or washer; 15 for one without a number of its own.
double clamp_limit_mpa(const std::string& material);
/// ISO 273 hole for a thread; fit is "fine", "medium" or "coarse". 0 for an unknown thread.
double clearance_hole_mm(const std::string& thread, const std::string& fit);
/// ISO 2768-1 permissible deviation (+-) for a linear size; 0 where the class states none.
double general_tolerance_mm(double size_mm, const std::string& tolerance_class);

}  // namespace bedwright
