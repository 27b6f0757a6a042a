// How a part lies on the print bed: every way it can lie is weighed, and the least cost wins.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/mesh.h"
#include "parts/part.h"
#include "print/undersides.h"

namespace bedwright {

/// The ways, by their names in a kit's `pose`: as_installed, upside_down, on_front, on_rear, on_left, on_right.
enum class Way { as_installed, upside_down, on_front, on_rear, on_left, on_right };
const char* to_text(Way way);

/// One way of lying, weighed. Print frame.
struct Weighed {
  Way way = Way::as_installed;
  Transform print_to_part;  ///< p_part = M p_print; rotation by quarter turns and a shift on the lattice
  double overhang_mm2 = 0;  ///< faces down flatter than the printer bears, off the bed, and does not bridge
  double bridge_mm2 = 0;    ///< faces down and bridges
  double bridge_mm = 0;     ///< its longest span
  double support_mm3 = 0;
  double contact_mm2 = 0;       ///< area lying on the bed
  double contact_width_mm = 0;  ///< narrow side of its box
  double footprint_mm2 = 0;     ///< of the box
  double height_mm = 0;
  double staircase_mm = 0;            ///< steps on the seat (print/staircase.h); 0 where there is no seat
  bool across_layers = false;         ///< screws, weight and bed bend the part across its layers' bond
  double time_min = 0;                ///< a proxy, to compare poses by
  bool fits = false;                  ///< the printer
  bool stands = false;                ///< on enough contact, and not too slender
  bool exact = true;                  ///< the file keeps every coordinate
  double cost = 0;                    ///< mm2 of overhang that it is worth
  std::vector<Underside> undersides;  ///< largest overhang first
  bool turned_to_cooling = false;     ///< its undersides face where the cooling air comes from: not to be turned again
};

struct Pose : Weighed {
  bool by_kit = false;         ///< the kit says so
  bool pointed = false;        ///< holes that lie in this pose have points (parts/pointed_holes.h)
  double eased_mm = 0;         ///< the edge that it stands on is eased by that much (parts/bed_edges.h)
  std::vector<std::string> sharp;  ///< chamfers along the bed that could not be built
  std::string why;             ///< one sentence
  std::vector<Weighed> tried;  ///< all six, in the order of Way
};

/// Weighs all six ways (and, for each, the turn about Z that fits the bed and faces the cooling air) and takes the one
/// with the least cost, or the one that the part's setting `pose` names. Print frame: box centre at x = y = 0
/// (snapped), lowest point at z = 0.
Pose choose_pose(const Part& part, const Mesh& solid, const PrinterProfile& printer);

/// What is up in this pose, in the part's plan; nothing where the part lies flat or upside down.
std::optional<Vec2> up_in_plan(const Pose& pose);

/// What to do about first-layer flare where the part's edges on the bed have no chamfer; empty where they have one, and
/// for shims, whose faces alone matter.
std::string flare_note(const Part& part, const Pose& pose);

/// The same way again with another solid of the part; the other ways keep what they weighed.
Pose weighed_again(const Pose& pose, const Part& part, const Mesh& solid, const PrinterProfile& printer);

/// The solid in the print frame, coordinates still on the lattice.
Mesh in_print_frame(const Mesh& solid, const Pose& pose);

}  // namespace bedwright
