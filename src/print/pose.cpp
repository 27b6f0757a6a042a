#include "print/pose.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "base/lattice.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

// Facing down steeper than 45 degrees from vertical; a 45 degree chamfer itself prints, so 3 degrees are allowed for
// the facets of one (cosine of 42 degrees). Common practice for material extrusion.
constexpr double overhang_normal_z = -0.7431448254773942;
// A facet lies on the bed if its corners do; the lattice makes flat faces exactly flat.
constexpr double on_bed_mm = 1e-6;
// What a standing part needs to stay on the bed: common practice, no source.
constexpr double least_standing_contact_mm2 = 60;
constexpr double most_slender = 15;  // height over the narrow side of the contact
// A millimetre more of height is worth this much overhang: a tall print is slow and weak across its layers.
constexpr double height_cost_mm2_per_mm = 2;
// Another way than as installed must be better by this share, so that small changes of a kit do not turn a part.
constexpr double worth_turning = 0.95;
// Less overhang than this bridges or droops without harm; it is no reason to turn a part off its chamfered face.
constexpr double harmless_overhang_mm2 = 25;
// float32 holds the fine lattice below this; above, each coordinate is looked at.
constexpr double fine_lattice_mm = 256;

enum Way { as_installed, upside_down, on_front, on_rear, on_left, on_right };

Transform turn_for(Way way) {
  switch (way) {
    case as_installed:
      return {};
    case upside_down:
      return quarter_turn(0, 2);
    case on_front:
      return quarter_turn(0, 1);
    case on_rear:
      return quarter_turn(0, 3);
    case on_left:
      return quarter_turn(1, 3);
    default:
      return quarter_turn(1, 1);
  }
}

const char* edge_name(Way way) {
  switch (way) {
    case on_front:
      return "front";
    case on_rear:
      return "rear";
    case on_left:
      return "left";
    default:
      return "right";
  }
}

struct Candidate {
  Way way = as_installed;
  Transform part_to_print;
  double overhang = 0, contact = 0, contact_width = 0;
  Vec3 size{};
  bool fits = false, exact = true;
};

bool exact_in_float(const Mesh& mesh) {
  return std::all_of(mesh.vertices.begin(), mesh.vertices.end(), [](Vec3 v) {
    return double(float(v.x)) == v.x && double(float(v.y)) == v.y && double(float(v.z)) == v.z;
  });
}

/// Overhang and contact of a mesh in its print frame.
void weigh(Candidate& c, const Mesh& mesh) {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], d = mesh.vertices[t[2]];
    const Vec3 n = cross(b - a, d - a);
    const double twice = length(n);
    if (twice == 0 || n.z >= overhang_normal_z * twice) continue;
    if (std::max({a.z, b.z, d.z}) > on_bed_mm) {
      c.overhang += twice / 2;
      continue;
    }
    c.contact += twice / 2;
    for (Vec3 p : {a, b, d}) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
  }
  if (c.contact > 0) c.contact_width = std::min(high.x - low.x, high.y - low.y);
}

bool fits_bed(Vec3 size, Vec3 bed) {
  return size.x <= bed.x && size.y <= bed.y && size.z <= bed.z;
}

Candidate try_way(Way way, const Mesh& solid, Vec3 bed) {
  Candidate c;
  c.way = way;
  Transform turned = turn_for(way);
  Box box = bounding_box(transformed(solid, turned));
  c.size = box.high - box.low;
  const Vec3 across{c.size.y, c.size.x, c.size.z};
  if (!fits_bed(c.size, bed) && fits_bed(across, bed)) {
    turned = compose(quarter_turn(2, 1), turned);
    box = bounding_box(transformed(solid, turned));
    c.size = box.high - box.low;
  }
  c.fits = fits_bed(c.size, bed);
  const Vec3 centre = snap(0.5 * (box.low + box.high));
  c.part_to_print = compose(shift({-centre.x, -centre.y, -box.low.z}), turned);
  const Mesh mesh = transformed(solid, c.part_to_print);
  weigh(c, mesh);
  c.exact = std::max({c.size.x / 2, c.size.y / 2, c.size.z}) < fine_lattice_mm || exact_in_float(mesh);
  return c;
}

bool stands_firm(const Candidate& c) {
  return c.contact >= least_standing_contact_mm2 && c.size.z <= most_slender * c.contact_width;
}

bool allowed(const Candidate& c) {
  if (!c.exact) return false;
  return c.way == as_installed || stands_firm(c);
}

double cost(const Candidate& c) {
  return c.overhang + height_cost_mm2_per_mm * c.size.z;
}

bool better(const Candidate& c, const Candidate& than) {
  if (c.fits != than.fits) return c.fits;
  if (than.way == as_installed && than.overhang <= harmless_overhang_mm2) return false;
  const double share = than.way == as_installed ? worth_turning : 1 - 1e-6;
  return cost(c) < share * cost(than);
}

bool has_bosses_below(const Part& part) {
  return std::any_of(part.features.begin(), part.features.end(),
                     [](const Feature& f) { return f.kind == FeatureKind::boss && f.axis.z < 0; });
}

std::string mm2(double area) {
  return decimal(area, 0) + " mm2";
}

std::string reason(const Candidate& chosen, const Candidate& lying, const Part& part) {
  if (chosen.way == as_installed) {
    if (!stands_firm(chosen) && chosen.contact < least_standing_contact_mm2 && chosen.overhang > 0)
      return "lies as installed, with " + mm2(chosen.contact) +
             " on the bed: it has no flat face large enough to stand on, so it needs support";
    std::string text = "lies as installed, flat on " + mm2(chosen.contact);
    if (chosen.overhang >= 0.5) text += "; " + mm2(chosen.overhang) + " face down off the bed";
    return text;
  }
  const std::string way = chosen.way == upside_down ? std::string("lies upside down")
                                                    : std::string("stands on its ") + edge_name(chosen.way) + " edge";
  if (lying.fits < chosen.fits) return way + ": as installed it does not fit the printer";
  return way + ": lying as installed, " + mm2(lying.overhang) + " of the underside would hang over" +
         (has_bosses_below(part) ? " beside the bosses" : " in the air") + ", against " + mm2(chosen.overhang);
}

}  // namespace

Pose choose_pose(const Part& part, const Mesh& solid, const PrinterProfile& printer) {
  const Candidate lying = try_way(as_installed, solid, printer.bed_mm);
  Candidate best = lying;
  for (Way way : {upside_down, on_front, on_rear, on_left, on_right}) {
    const Candidate c = try_way(way, solid, printer.bed_mm);
    if (allowed(c) && better(c, best)) best = c;
  }
  Pose pose;
  pose.print_to_part = inverse(best.part_to_print);
  pose.overhang_mm2 = best.overhang;
  pose.contact_mm2 = best.contact;
  pose.height_mm = best.size.z;
  pose.why = reason(best, lying, part);
  return pose;
}

Mesh in_print_frame(const Mesh& solid, const Pose& pose) {
  return transformed(solid, inverse(pose.print_to_part));
}

}  // namespace bedwright
