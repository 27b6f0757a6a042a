// Holes across an end bracket, along it and down through it; openings for what passes.
#include <algorithm>

#include "base/mesh.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "parts/bracket_designer.h"
#include "parts/end_bracket.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double least_under_head_mm = 3;  // plastic that a head clamps
constexpr double sink_step_mm = 0.5;
constexpr double roof_skin_mm = 2;  // over an opening

Along along_of(const std::string& axis) {
  return axis == "x" ? Along::x : axis == "y" ? Along::y : Along::z;
}

}  // namespace

double head_bore_mm(const std::string& thread) {
  return find_thread(thread)->counterbore_mm;
}

double BracketDesigner::first_meeting(Along along, double at, double from, double way, double most) const {
  double nearest = most;
  for (std::size_t i = 0; i < inner.size(); ++i) {
    Vec2 a = inner[i], b = inner[(i + 1) % inner.size()];
    if (along == Along::x) {
      a = {a.y, a.x};
      b = {b.y, b.x};
    }
    if ((a.x <= at) == (b.x <= at)) continue;
    const double w = a.y + (b.y - a.y) * (at - a.x) / (b.x - a.x);
    if (way * (w - from) > bracket_same_mm) nearest = std::min(nearest, way * (w - from));
  }
  return nearest;
}

BracketDesigner::Stretch BracketDesigner::stretch_of(const Json& screw, Along along, double at, double radius,
                                                     double* way) const {
  const std::string id = screw.at("id").get<std::string>();
  double from = y_of(plan.outer_mm);
  *way = -plan.outward();
  if (along == Along::x) {
    const bool left = screw.value("from", "left") == "left";
    from = left ? plan.left_mm : plan.right_mm;
    *way = left ? 1 : -1;
  }
  constexpr double none = 1e9;
  const double near = first_meeting(along, at - radius, from, *way, none),
               here = first_meeting(along, at, from, *way, none),
               beyond = first_meeting(along, at + radius, from, *way, none);
  const double back = y_of(plan.inner_mm), front = y_of(plan.outer_mm);
  const bool beside = along == Along::x && (at < std::min(back, front) + radius || at > std::max(back, front) - radius);
  if (here >= none || beside)
    throw refuse("bracket-screw", "screw-" + id, "the screw " + id + " does not come to the base",
                 "move it to where base lies behind the bracket, or measure base.outline_mm again");
  return {from, from + *way * here,
          std::fabs(near - here) < bracket_same_mm && std::fabs(beyond - here) < bracket_same_mm};
}

void BracketDesigner::add_screw(const Json& screw) {
  const std::string id = screw.at("id").get<std::string>(), thread = screw.at("screw").get<std::string>();
  const Along along = along_of(screw.at("along").get<std::string>());
  const Vec2 at = plane_size(screw.at("at_mm"));
  const double hole = clearance_hole_mm(thread, screw.at("fit").get<std::string>()), bore = head_bore_mm(thread);
  if (along == Along::z) {
    add_upright_screw(screw, {at.x, y_of(at.y)}, hole, bore);
    return;
  }
  const double z = z_of(at.y), across = along == Along::x ? y_of(at.x) : at.x;
  double way = 1;
  const Stretch run = stretch_of(screw, along, across, hole / 2, &way);
  const double plastic = way * (run.far - run.head);
  const double sink = sink_for(screw, plastic);
  const double wide = sink > 0 ? bore : hole, point = wide / 2 / std::sqrt(0.5);
  const double below = (up > 0 ? wide / 2 : point), above = (up > 0 ? point : wide / 2);
  if (z - below < bracket_skin_mm || z + above > top - bracket_skin_mm)
    throw refuse("bracket-screw", "screw-" + id,
                 "the screw " + id + " needs from " + decimal(below + bracket_skin_mm, 1) +
                     " above the bracket's lower face to " + decimal(above + bracket_skin_mm, 1) +
                     " below its upper one; it stands " + decimal(z, 1) + " above and " + decimal(top - z, 1) +
                     " below",
                 "move it by " + decimal(std::max(below + bracket_skin_mm - z, z + above + bracket_skin_mm - top), 1) +
                     " mm, or make height_mm larger");
  const auto space = [&](double w) { return in_space(along, {across, z}, w); };
  const auto bounds = [&](double a, double b) {
    return std::make_pair(Bound::at(std::min(a, b)), Bound::at(std::max(a, b)));
  };
  const Vec3 out = (-way) * unit(along);
  const double bearing = run.head + way * sink;
  // From beyond the head's face, or the bore's floor, to beyond the far one.
  const auto whole = bounds(sink > 0 ? bearing : run.head - way * beyond_face_mm, run.far + way * beyond_face_mm);
  Feature f = teardrop_hole("screw-" + id, FeatureKind::clearance_hole, along, space(bearing), out, hole, whole.first,
                            whole.second, up, compensation());
  f.through = true;
  // Each face of the made part lies `grown` further out than drawn; the contour's is in the plan already.
  const double grown = compensation().outline_mm / 2;
  if (run.square)
    f.dimensions.push_back(
        dimension("depth", plastic - grown - sink, plastic - sink + (sink > 0 ? 0 : grown), 2 * height_tolerance_mm));
  features.push_back(std::move(f));
  if (sink <= 0) return;
  const auto sunk = bounds(run.head - way * beyond_face_mm, bearing);
  Feature c = teardrop_hole("sink-" + id, FeatureKind::counterbore, along, space(run.head), out, bore, sunk.first,
                            sunk.second, up, compensation());
  c.dimensions.push_back(dimension("depth", sink, sink + grown, 2 * height_tolerance_mm));
  features.push_back(std::move(c));
}

double BracketDesigner::sink_for(const Json& screw, double plastic) const {
  if (screw.contains("sink_mm")) return screw.at("sink_mm").get<double>();
  const std::string id = screw.at("id").get<std::string>();
  JointSolution first;
  for (double sink = 0; sink <= std::max(0.0, plastic - least_under_head_mm) + bracket_same_mm; sink += sink_step_mm) {
    const JointSolution solved = solve_window(
        base_joint(kit, request.id, material(), 1, screw, s.at("clearance_mm").get<double>(), plastic - sink));
    if (solved.ok) return sink;
    if (sink == 0) first = solved;
  }
  throw refuse("no-screw-length", "screw-" + id, "for the screw " + id + ": " + first.why, first.remedy);
}

void BracketDesigner::add_upright_screw(const Json& screw, Vec2 at, double hole, double bore) {
  const std::string id = screw.at("id").get<std::string>();
  const double sink = sink_for(screw, top);
  features.push_back(clearance_hole("screw-" + id, at, hole, Bound::open(), Bound::open(), top - sink, compensation()));
  if (sink > 0) features.push_back(counterbore("sink-" + id, at, bore, top - sink, top, compensation()));
}

void BracketDesigner::add_opening(const Json& opening) {
  const std::string id = "opening-" + opening.at("id").get<std::string>(), what = opening.at("for").get<std::string>();
  const Along along = along_of(opening.at("along").get<std::string>());
  const Vec2 size = plane_size(opening.at("size_mm"));
  Vec2 at = plane_size(opening.at("at_mm"));
  Feature f;
  f.id = id;
  f.kind = FeatureKind::notch;
  f.effect = Effect::cut;
  f.along = along;
  f.from = f.to = Bound::open();
  if (along == Along::z) {
    at.y = y_of(at.y);
    f.profile = {rectangle_loop(at, size, bracket_open_corner_mm)};
    f.at = {at.x, at.y, top};
    f.through = true;
    if (std::fabs(size.x - size.y) > 1)
      f.dimensions = {dimension("width", std::min(size.x, size.y), height_tolerance_mm)};
    features.push_back(std::move(f));
    say_at(at.x, "opening for the " + what + ", from top to bottom");
    return;
  }
  at = {along == Along::x ? y_of(at.x) : at.x, z_of(at.y)};
  const double bed = up > 0 ? 0 : top, roof_side = up > 0 ? top : 0;
  double sill = at.y - up * size.y / 2;
  const double eaves = at.y + up * size.y / 2;
  const bool bridged = opening.at("roof") == "bridge";
  const double ridge = eaves + (bridged ? 0 : up * size.x / 2);
  const bool open_below = up * (sill - bed) <= bracket_skin_mm;
  if (open_below) sill = bed - up * beyond_face_mm;
  if (up * (roof_side - ridge) < roof_skin_mm - bracket_same_mm)
    throw refuse("bracket-opening", id,
                 "the opening for the " + what + ", with its roof of 45 degrees, comes within " +
                     decimal(up * (roof_side - ridge), 1) + " mm of the " + (up > 0 ? "upper" : "lower") + " face",
                 "lower it by " + decimal(roof_skin_mm - up * (roof_side - ridge), 1) +
                     " mm, make it narrower, raise the bracket (height_mm), or let it bridge (roof: bridge)");
  if (bridged && size.x > kit.printer.wishes.bridge_mm)
    throw refuse("bracket-opening", id,
                 "the opening for the " + what + " would bridge " + decimal(size.x, 1) + " mm; the printer bridges " +
                     decimal(kit.printer.wishes.bridge_mm, 1),
                 "give it a roof (roof: point), or make it narrower");
  std::vector<Vec2> corners = {{at.x - size.x / 2, sill}, {at.x + size.x / 2, sill}, {at.x + size.x / 2, eaves}};
  if (!bridged) corners.push_back({at.x, ridge});
  corners.push_back({at.x - size.x / 2, eaves});
  f.profile = {polygon_loop(corners)};
  f.through = !open_below;
  f.at = in_space(along, {at.x, (sill + eaves) / 2}, along == Along::y ? y_of(plan.outer_mm) : plan.left_mm);
  f.axis = along == Along::y ? Vec3{0, plan.outward(), 0} : Vec3{-1, 0, 0};
  f.dimensions = {dimension("width", size.x, height_tolerance_mm),
                  dimension(along == Along::x ? "y" : "x", at.x, position_tolerance_mm)};
  if (!open_below && up > 0) f.dimensions.push_back(dimension("sill", sill, height_tolerance_mm));
  features.push_back(std::move(f));
  say_at(along == Along::y ? at.x : 0,
         "opening for the " + what + (open_below ? ", open to the print bed's side" : "") +
             (bridged ? "; its roof bridges " + decimal(size.x, 1) + " mm" : ", under a roof of 45 degrees"));
}

void BracketDesigner::refuse_crowding() const {
  const auto box_of = [&](const Feature& f) {
    PlaneBox b = bounding_box(f.profile.front());
    const double low = f.from.kind == Bound::Kind::flat ? f.from.z_mm : -1e6,
                 high = f.to.kind == Bound::Kind::flat ? f.to.z_mm : 1e6;
    const Vec3 p = in_space(f.along, b.low, low), q = in_space(f.along, b.high, high);
    return Box{p, q};
  };
  const auto is_screw = [](const Feature& f) {
    return f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::slot || f.kind == FeatureKind::counterbore;
  };
  const auto is_opening = [](const Feature& f) { return f.kind == FeatureKind::notch && f.id != "contour"; };
  // What belongs to one screw, or to the joint between the halves, meets as drawn.
  const auto family = [](const std::string& id) {
    for (const char* own : {"pin-", "split-screw", "nut-pocket", "head-pocket"})
      if (id.rfind(own, 0) == 0) return std::string("split");
    for (const char* own : {"screw-", "sink-"})
      if (id.rfind(own, 0) == 0) return id.substr(std::string(own).size());
    return id.rfind("rail-slot-", 0) == 0 ? std::string("rail-slot") : id;
  };
  for (std::size_t i = 0; i < features.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) {
      const Feature &a = features[k], &b = features[i];
      const bool screw_a = is_screw(a), screw_b = is_screw(b);
      if (!(screw_a || is_opening(a)) || !(screw_b || is_opening(b)) || !(screw_a || screw_b)) continue;
      if (family(a.id) == family(b.id)) continue;
      const Box p = box_of(a), q = box_of(b);
      const double gap = std::max({p.low.x - q.high.x, q.low.x - p.high.x, p.low.y - q.high.y, q.low.y - p.high.y,
                                   p.low.z - q.high.z, q.low.z - p.high.z});
      if (gap >= bracket_skin_mm) continue;
      throw refuse(
          "bracket-crowded", b.id,
          b.id + " and " + a.id +
              (gap > 0 ? " leave " + decimal(gap, 1) + " mm between them" : std::string(" run into each other")),
          "move one of them by " + decimal(bracket_skin_mm - gap, 1) + " mm or more");
    }
}

}  // namespace bedwright
