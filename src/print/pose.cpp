#include "print/pose.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/lattice.h"
#include "base/numbers.h"
#include "print/staircase.h"

namespace bedwright {
namespace {

// What a standing part needs to stay on the bed: common practice, no source.
constexpr double least_standing_contact_mm2 = 60;
constexpr double most_slender = 15;  // height over the narrow side of the contact
// What the parts of a pose's cost are worth in mm2 of overhang: common practice, no source. A millimetre of height
// makes a print slow and shaky; a cubic centimetre of support is torn off by hand; a bridge sags a little.
constexpr double height_cost_mm2_per_mm = 2;
constexpr double support_cost_mm2_per_mm3 = 0.02;
constexpr double bridge_cost = 0.1;
// A seat whose steps exceed what is allowed does not mate: this much for each multiple beyond.
constexpr double staircase_cost_mm2 = 600;
// Bending across the layers: their bond is about half of the material's strength (handbooks say 20 to 90 %).
constexpr double across_layers_cost_mm2 = 100;
// Another way than as installed must be better by this share, so that small changes of a kit do not turn a part.
constexpr double worth_turning = 0.95;
// Less overhang than this bridges or droops without harm; it is no reason to turn a part off its chamfered face.
constexpr double harmless_overhang_mm2 = 25;
// float32 holds the fine lattice below this; above, each coordinate is looked at.
constexpr double fine_lattice_mm = 256;
// For the time proxy only: common practice, no source.
constexpr double print_mm_s = 60, layer_change_s = 6, share_filled = 0.6, support_filled = 0.2;
// Undersides must face some way by at least this share of themselves to be turned to the cooling air.
constexpr double faces_somewhere = 0.1;

constexpr std::array<Way, 6> ways = {Way::as_installed, Way::upside_down, Way::on_front,
                                     Way::on_rear,      Way::on_left,     Way::on_right};

Transform turn_for(Way way) {
  switch (way) {
    case Way::as_installed:
      return {};
    case Way::upside_down:
      return quarter_turn(0, 2);
    case Way::on_front:
      return quarter_turn(0, 1);
    case Way::on_rear:
      return quarter_turn(0, 3);
    case Way::on_left:
      return quarter_turn(1, 3);
    default:
      return quarter_turn(1, 1);
  }
}

const char* edge_name(Way way) {
  switch (way) {
    case Way::on_front:
      return "front";
    case Way::on_rear:
      return "rear";
    case Way::on_left:
      return "left";
    default:
      return "right";
  }
}

bool lies_flat(Way way) {
  return way == Way::as_installed || way == Way::upside_down;
}

bool exact_in_float(const Mesh& mesh) {
  return std::all_of(mesh.vertices.begin(), mesh.vertices.end(), [](Vec3 v) {
    return double(float(v.x)) == v.x && double(float(v.y)) == v.y && double(float(v.z)) == v.z;
  });
}

bool fits_bed(Vec3 size, Vec3 bed) {
  return size.x <= bed.x && size.y <= bed.y && size.z <= bed.z;
}

Vec2 direction_of(const std::string& side) {
  if (side == "front") return {0, -1};
  if (side == "rear") return {0, 1};
  if (side == "left") return {-1, 0};
  return {1, 0};
}

Vec2 quarter_turned(Vec2 v, int quarters) {
  for (int i = 0; i < quarters; ++i) v = {-v.y, v.x};
  return v;
}

/// Screws run along part Z and the bed's weight does: a part that is wider than thick bends under them, across its
/// layers when it stands.
bool bends_across(const Part& part, Vec3 part_size, Way way) {
  const bool screwed = std::any_of(part.features.begin(), part.features.end(), [](const Feature& f) {
    return f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::slot || f.kind == FeatureKind::insert_pocket;
  });
  return screwed && !lies_flat(way) && std::max(part_size.x, part_size.y) > part_size.z;
}

double time_proxy_min(const Weighed& w, double volume_mm3, const PrinterProfile& printer) {
  const double flow = printer.line_mm * printer.layer_mm * print_mm_s;
  const double laid = share_filled * volume_mm3 + support_filled * w.support_mm3;
  const double layers = std::max(1.0, w.height_mm / printer.layer_mm);
  return (laid / flow + layers * layer_change_s) / 60;
}

class Scale {
 public:
  Scale(const Part& part, const Mesh& solid, const PrinterProfile& printer)
      : part_(part),
        solid_(solid),
        printer_(printer),
        wishes_(printer.wishes),
        edges_(facet_edges(solid)),
        seat_(seat_facets(part, solid)),
        volume_(volume(solid)),
        size_(size_of(solid)) {}

  Weighed weigh(Way way) const {
    Weighed w;
    w.way = way;
    Transform turned = turn_for(way);
    Vec3 size = size_of(transformed(solid_, turned));
    if (!fits_bed(size, printer_.bed_mm) && fits_bed({size.y, size.x, size.z}, printer_.bed_mm)) {
      turned = compose(quarter_turn(2, 1), turned);
      std::swap(size.x, size.y);
    }
    w.fits = fits_bed(size, printer_.bed_mm);
    Transform part_to_print = stood(turned);
    Mesh mesh = transformed(solid_, part_to_print);
    const Undersides under = undersides_of(mesh, edges_, wishes_);
    if (const int quarters = turn_to_cooling(under, size)) {
      part_to_print = stood(compose(quarter_turn(2, quarters), turned));
      mesh = transformed(solid_, part_to_print);
      size = size_of(mesh);
    }
    w.turned_to_cooling = cooled(under);
    w.print_to_part = inverse(part_to_print);
    w.overhang_mm2 = under.overhang_mm2;
    w.bridge_mm2 = under.bridge_mm2;
    w.bridge_mm = under.bridge_mm;
    w.support_mm3 = under.support_mm3;
    w.contact_mm2 = under.contact_mm2;
    w.contact_width_mm = under.contact_width_mm;
    w.undersides = under.faces;
    w.footprint_mm2 = size.x * size.y;
    w.height_mm = size.z;
    w.staircase_mm = staircase_mm(solid_, seat_, part_to_print, {printer_.first_layer_mm, printer_.layer_mm});
    w.across_layers = bends_across(part_, size_, way);
    w.time_min = time_proxy_min(w, volume_, printer_);
    w.stands = w.contact_mm2 >= least_standing_contact_mm2 && w.height_mm <= most_slender * w.contact_width_mm;
    w.exact = std::max({size.x / 2, size.y / 2, size.z}) < fine_lattice_mm || exact_in_float(mesh);
    w.cost = w.overhang_mm2 + support_cost_mm2_per_mm3 * w.support_mm3 + bridge_cost * w.bridge_mm2 +
             height_cost_mm2_per_mm * w.height_mm + (w.across_layers ? across_layers_cost_mm2 : 0) +
             staircase_cost_mm2 * std::max(0.0, w.staircase_mm / wishes_.seat_step_mm - 1);
    return w;
  }

 private:
  static Vec3 size_of(const Mesh& mesh) {
    const Box box = bounding_box(mesh);
    return box.high - box.low;
  }
  Transform stood(const Transform& turned) const {
    const Box box = bounding_box(transformed(solid_, turned));
    const Vec3 centre = snap(0.5 * (box.low + box.high));
    return compose(shift({-centre.x, -centre.y, -box.low.z}), turned);
  }
  bool cooled(const Undersides& under) const {
    return !wishes_.cooling_from.empty() && under.overhang_mm2 > harmless_overhang_mm2 &&
           length(under.facing) > faces_somewhere * under.overhang_mm2;
  }
  int turn_to_cooling(const Undersides& under, Vec3 size) const {
    if (!cooled(under)) return 0;
    const Vec2 air = direction_of(wishes_.cooling_from);
    int best = 0;
    for (int quarters = 1; quarters < 4; ++quarters) {
      const Vec3 turned = quarters == 2 ? size : Vec3{size.y, size.x, size.z};
      if (fits_bed(size, printer_.bed_mm) && !fits_bed(turned, printer_.bed_mm)) continue;
      if (dot(quarter_turned(under.facing, quarters), air) > dot(quarter_turned(under.facing, best), air) + 1e-6)
        best = quarters;
    }
    return best;
  }

  const Part& part_;
  const Mesh& solid_;
  const PrinterProfile& printer_;
  const PrintWishes& wishes_;
  std::vector<FacetEdge> edges_;
  std::vector<std::uint32_t> seat_;
  double volume_;
  Vec3 size_;
};

bool allowed(const Weighed& w) {
  return w.exact && (w.way == Way::as_installed || w.stands);
}

bool better(const Weighed& w, const Weighed& than, double step_allowed) {
  if (w.fits != than.fits) return w.fits;
  if (than.way == Way::as_installed && than.overhang_mm2 <= harmless_overhang_mm2 && than.staircase_mm <= step_allowed)
    return false;
  const double share = than.way == Way::as_installed ? worth_turning : 1 - 1e-6;
  return w.cost < share * than.cost;
}

bool has_bosses_below(const Part& part) {
  return std::any_of(part.features.begin(), part.features.end(),
                     [](const Feature& f) { return f.kind == FeatureKind::boss && f.axis.z < 0; });
}

std::string mm2(double area) {
  return decimal(area, 0) + " mm2";
}

std::string how(Way way) {
  if (way == Way::as_installed) return "lies as installed";
  if (way == Way::upside_down) return "lies upside down";
  return std::string("stands on its ") + edge_name(way) + " edge";
}

std::string reason(const Pose& chosen, const Weighed& lying, const Part& part, const PrintWishes& wishes) {
  if (chosen.by_kit)
    return how(chosen.way) + " because the kit says so (pose): " + mm2(chosen.overhang_mm2) + " hang over, " +
           mm2(chosen.contact_mm2) + " on the bed";
  std::string text = how(chosen.way);
  if (chosen.way == Way::as_installed) {
    if (!chosen.stands && chosen.contact_mm2 < least_standing_contact_mm2 && chosen.overhang_mm2 > 0)
      return text + ", with " + mm2(chosen.contact_mm2) +
             " on the bed: it has no flat face large enough to stand on, so it needs support";
    text += ", flat on " + mm2(chosen.contact_mm2);
    if (chosen.overhang_mm2 >= 0.5) text += "; " + mm2(chosen.overhang_mm2) + " face down off the bed";
    return text;
  }
  if (lying.fits < chosen.fits) return text + ": as installed it does not fit the printer";
  const bool steps = lying.staircase_mm > wishes.seat_step_mm && chosen.staircase_mm < lying.staircase_mm;
  if (lying.overhang_mm2 > chosen.overhang_mm2) {
    text += ": lying as installed, " + mm2(lying.overhang_mm2) + " of the underside would hang over" +
            (has_bosses_below(part) ? " beside the bosses" : " in the air") + ", against " + mm2(chosen.overhang_mm2);
    if (steps)
      text += ", and its seat would have steps of " + decimal(lying.staircase_mm, 3) + " mm, against " +
              decimal(chosen.staircase_mm, 3);
  } else if (steps) {
    text += ": lying as installed, its seat would have steps of " + decimal(lying.staircase_mm, 3) + " mm, against " +
            decimal(chosen.staircase_mm, 3);
  } else {
    text += ": it needs less support than as installed";
  }
  return text + (chosen.across_layers ? "; it then bends across its layers" : "");
}

}  // namespace

const char* to_text(Way way) {
  constexpr const char* names[] = {"as_installed", "upside_down", "on_front", "on_rear", "on_left", "on_right"};
  return names[static_cast<std::size_t>(way)];
}

Pose choose_pose(const Part& part, const Mesh& solid, const PrinterProfile& printer) {
  const PrintWishes& wishes = printer.wishes;
  const Scale scale(part, solid, printer);
  Pose pose;
  for (const Way way : ways) pose.tried.push_back(scale.weigh(way));
  const std::string wanted = part.settings.is_object() ? part.settings.value("pose", "auto") : "auto";
  std::size_t best = 0;
  for (std::size_t i = 1; i < ways.size(); ++i)
    if (allowed(pose.tried[i]) && better(pose.tried[i], pose.tried[best], wishes.seat_step_mm)) best = i;
  for (std::size_t i = 0; i < ways.size(); ++i)
    if (wanted == to_text(ways[i])) {
      best = i;
      pose.by_kit = true;
    }
  static_cast<Weighed&>(pose) = pose.tried[best];
  pose.why = reason(pose, pose.tried[0], part, wishes);
  return pose;
}

std::optional<Vec2> up_in_plan(const Pose& pose) {
  if (lies_flat(pose.way)) return std::nullopt;
  const Vec3 up = turn(pose.print_to_part, {0, 0, 1});
  return Vec2{up.x, up.y};
}

std::string flare_note(const Part& part, const Pose& pose) {
  if (part.family == "shim" || pose.eased_mm > 0) return "";
  const char* scrape = "scrape first-layer flare off before the part is fitted";
  const auto crossing = [](const Feature& f) { return f.kind == FeatureKind::chamfer && crosses(f); };
  const bool bevelled =
      std::any_of(part.features.begin(), part.features.end(), [](const Feature& f) { return f.chamfer_mm > 0; });
  if (std::any_of(part.features.begin(), part.features.end(), crossing))
    return std::string("its straight edges on the bed have a chamfer, its round and short ones") +
           (pose.sharp.empty() ? "" : " and some others") + " have none: " + scrape;
  if (bevelled && pose.way == Way::as_installed) return "";
  return std::string(lies_flat(pose.way) ? "its edges on the bed have" : "the edge it is printed on has") +
         " no chamfer: " + scrape;
}

Pose weighed_again(const Pose& pose, const Part& part, const Mesh& solid, const PrinterProfile& printer) {
  Pose again = pose;
  const auto way = static_cast<std::size_t>(pose.way);
  again.tried.at(way) = Scale(part, solid, printer).weigh(pose.way);
  static_cast<Weighed&>(again) = again.tried[way];
  again.why = reason(again, again.tried[0], part, printer.wishes);
  return again;
}

Mesh in_print_frame(const Mesh& solid, const Pose& pose) {
  return transformed(solid, inverse(pose.print_to_part));
}

}  // namespace bedwright
