#include <cmath>

#include "base/numbers.h"
#include "joints/clamp.h"
#include "output/envelope_report.h"
#include "output/machine_report.h"
#include "output/report.h"

namespace bedwright {
namespace {

constexpr double least_underside_mm2 = 0.5;

Json or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

Json rounded_by_unit(double value, const std::string& unit) {
  return unit == "mm" ? rounded_length(value) : rounded_6(value);
}

Json features_json(const Part& part) {
  Json list = Json::array();
  for (const Feature& f : part.features) {
    list.push_back(
        {{"id", f.id}, {"kind", to_text(f.kind)}, {"at_mm", point_json(f.at)}, {"axis", point_json(f.axis)}});
    if (crosses(f)) list.back()["along"] = f.along == Along::x ? "x" : "y";
    if (crosses(f) || f.kind == FeatureKind::notch) list.back()["through"] = f.through;
  }
  return list;
}

/// By placement; empty for parts that do not follow the frame.
Json seat_gaps_json(const Report& r, const std::string& part) {
  Json list = Json::array();
  for (const SeatGap& g : r.seat_gaps) {
    if (g.part != part) continue;
    list.push_back({{"placement", g.placement},
                    {"least_mm", rounded_length(g.least_mm)},
                    {"least_at_mm", point_json(g.least_at)},
                    {"greatest_mm", rounded_length(g.greatest_mm)},
                    {"greatest_at_mm", point_json(g.greatest_at)},
                    {"bears_mm2", rounded_6(g.bears_mm2)}});
  }
  return list;
}

Json float_json(const Report& r, const std::string& joint) {
  for (const HoleFloat& f : r.floats)
    if (f.joint == joint)
      return {{"fastener", f.fixed ? "fixed" : "floating"}, {"placement", or_null(f.placement)},
              {"hole_mm", rounded_length(f.hole_mm)},       {"screw_mm", rounded_length(f.screw_mm)},
              {"zone_mm", rounded_length(f.zone_mm)},       {"extra_mm", rounded_length(f.extra_mm)},
              {"used_mm", rounded_length(f.used_mm)},       {"left_mm", rounded_length(f.left_mm)}};
  return nullptr;
}

Json interference_json(const Interference& i) {
  return {{"first", i.first},
          {"second", i.second},
          {"part", or_null(i.part)},
          {"at_mm", point_json(i.at)},
          {"depth_mm", rounded_length(i.depth_mm)},
          {"axis", std::string(1, i.axis)},
          {"bed_y_mm", i.moving ? Json{rounded_length(i.from_mm), rounded_length(i.to_mm)} : Json(nullptr)}};
}

/// Where the part hangs over, largest first, print frame; what is too small to matter is left out.
Json undersides_json(const Pose& pose) {
  Json list = Json::array();
  for (const Underside& u : pose.undersides) {
    if (u.area_mm2 < least_underside_mm2) continue;
    list.push_back({{"low_mm", point_json(u.low)},
                    {"high_mm", point_json(u.high)},
                    {"area_mm2", rounded_6(u.area_mm2)},
                    {"overhang_mm2", rounded_6(u.overhang_mm2)},
                    {"bridge_mm", rounded_length(u.bridge_mm)}});
  }
  return list;
}

/// Every way the part could lie, with what it was weighed by.
Json tried_json(const Pose& pose) {
  Json list = Json::array();
  for (const Weighed& w : pose.tried)
    list.push_back({{"way", to_text(w.way)},
                    {"cost", rounded_6(w.cost)},
                    {"overhang_mm2", rounded_6(w.overhang_mm2)},
                    {"bridge_mm2", rounded_6(w.bridge_mm2)},
                    {"bridge_mm", rounded_length(w.bridge_mm)},
                    {"support_mm3", rounded_6(w.support_mm3)},
                    {"contact_mm2", rounded_6(w.contact_mm2)},
                    {"footprint_mm2", rounded_6(w.footprint_mm2)},
                    {"height_mm", rounded_length(w.height_mm)},
                    {"staircase_mm", rounded_length(w.staircase_mm)},
                    {"across_layers", w.across_layers},
                    {"time_min", rounded_6(w.time_min)},
                    {"fits", w.fits},
                    {"stands", w.stands}});
  return list;
}

Json part_json(const Report& r, const PartReport& p) {
  Json matrix = Json::array();
  // Not rounded: every entry is a whole number or on the lattice, and the bytes of the file depend on it.
  for (double m : p.pose.print_to_part.m) matrix.push_back(m == 0 ? 0.0 : m);
  return {{"id", p.part.id},
          {"family", p.part.family},
          {"quantity", p.part.quantity},
          {"hand", to_text(p.part.hand)},
          {"mirror_of", or_null(p.part.mirror_of)},
          {"placements", p.part.placements},
          {"material", p.part.material},
          {"mating_code", p.mating_code},
          {"mating_group", p.mating_group},
          {"file", p.file},
          {"sha256", p.sha256},
          {"shape_sha256", p.shape_sha256},
          {"bytes", p.bytes},
          {"triangles", p.triangles},
          {"volume_mm3", rounded_6(p.volume_mm3)},
          {"area_mm2", rounded_6(p.area_mm2)},
          {"mass_g", rounded_6(p.mass_g)},
          {"bbox_mm", point_json(p.box_mm)},
          {"print_to_part", matrix},
          {"pose",
           {{"why", p.pose.why},
            {"overhang_mm2", rounded_6(p.pose.overhang_mm2)},
            {"contact_mm2", rounded_6(p.pose.contact_mm2)},
            {"height_mm", rounded_length(p.pose.height_mm)},
            {"by_kit", p.pose.by_kit},
            {"way", to_text(p.pose.way)},
            {"undersides", undersides_json(p.pose)},
            {"tried", tried_json(p.pose)}}},
          {"mark", p.part.visible_mark ? Json{{"face", p.part.mark_face}, {"text", p.part.mark_text}} : Json(nullptr)},
          {"statements", p.part.statements},
          {"mesh", mesh_json(p.mesh)},
          {"features", features_json(p.part)},
          {"seat_gap", seat_gaps_json(r, p.part.id)},
          {"dimensions", dimensions_json(p.dimensions)}};
}

Json layers_json(const Joint& joint) {
  Json list = Json::array();
  for (const JointLayer& layer : joint.layers)
    list.push_back({{"name", layer.name},
                    {"mm", rounded_length(layer.mm)},
                    {"plus_minus_mm", rounded_length(layer.plus_minus_mm)},
                    {"printed", layer.printed}});
  return list;
}

Json length_or_null(const std::optional<double>& mm) {
  return mm ? Json(rounded_length(*mm)) : Json(nullptr);
}

Json joint_json(const Report& r, const JointSolution& s) {
  const Clamp clamp = clamp_of(s.joint);
  Json fits = Json::array();
  for (const StockLength& l : s.fits)
    fits.push_back({{"mm", rounded_length(l.mm)}, {"choice", l.choice}, {"at_hand", l.at_hand}});
  return {{"id", s.joint.id},
          {"screw", s.joint.thread},
          {"quantity", s.joint.count},
          {"grip_mm", {rounded_length(s.grip_least_mm), rounded_length(s.grip_greatest_mm)}},
          {"window_mm", {rounded_length(s.window_least_mm), length_or_null(s.window_greatest_mm)}},
          {"pick_mm", length_or_null(s.pick_mm)},
          {"ok", s.ok},
          {"why", s.why},
          {"remedy", s.remedy},
          {"part", s.joint.part},
          {"head", s.joint.head},
          {"washer_mm", rounded_length(s.joint.washer_mm)},
          {"layers", layers_json(s.joint)},
          {"anchor",
           {{"kind", s.joint.anchor.kind},
            {"depth_mm", rounded_length(s.joint.anchor.depth_mm)},
            {"blind", s.joint.anchor.blind}}},
          {"behind",
           {{"known", s.joint.behind.known},
            {"what", s.joint.behind.what},
            {"clear_mm", length_or_null(s.joint.behind.clear_mm)}}},
          {"also_holds", or_null(s.joint.also_holds)},
          {"grip_rss_mm", {rounded_length(s.grip_rss_least_mm), rounded_length(s.grip_rss_greatest_mm)}},
          {"needed_mm", rounded_length(s.needed_mm)},
          {"engagement_mm", rounded_length(s.engagement_mm)},
          {"engagement_turns", rounded_6(s.engagement_turns)},
          {"tip_free_mm", length_or_null(s.tip_free_mm)},
          {"second_choice", s.second_choice},
          {"fits", fits},
          {"length_tolerance_mm", rounded_length(s.length_tolerance_mm)},
          {"length_tolerance_counted", s.joint.rules.length_tolerance},
          {"existing_mm", s.joint.existing ? Json(rounded_length(s.joint.existing->length_mm)) : Json(nullptr)},
          {"torque_nm", {rounded_6(clamp.torque_least_nm), rounded_6(clamp.torque_greatest_nm)}},
          {"torque_source", clamp.source},
          {"float", float_json(r, s.joint.id)},
          {"clamp_mpa", clamp.on_plastic ? Json(rounded_6(clamp.stress_mpa)) : Json(nullptr)}};
}

Json finding_json(const Finding& f) {
  Json json = {{"code", f.code},
               {"severity", to_text(f.severity)},
               {"part", f.part},
               {"feature", f.feature},
               {"message", f.message},
               {"value", rounded_by_unit(f.value, f.unit)},
               {"limit", rounded_by_unit(f.limit, f.unit)},
               {"unit", f.unit},
               {"remedy", f.remedy}};
  if (f.places.empty()) return json;
  Json& places = json["places"] = Json::array();
  for (const FindingPlace& p : f.places) {
    places.push_back({{"on", p.on}});
    if (p.at_mm) places.back()["at_mm"] = {rounded_length(p.at_mm->x), rounded_length(p.at_mm->y), rounded_length(p.at_mm->z)};
  }
  return json;
}

Json notes_json(const std::vector<Note>& notes) {
  Json list = Json::array();
  for (const Note& note : notes) list.push_back({{"pointer", note.pointer}, {"text", note.text}});
  return list;
}

template <typename T, typename F>
Json list_json(const std::vector<T>& items, F one) {
  Json list = Json::array();
  for (const T& item : items) list.push_back(one(item));
  return list;
}

}  // namespace

Json point_json(Vec3 p) {
  return {rounded_length(p.x), rounded_length(p.y), rounded_length(p.z)};
}
Json point_json(Vec2 p) {
  return {rounded_length(p.x), rounded_length(p.y)};
}

Json mesh_json(const MeshHealth& m) {
  Json mesh = {{"closed", m.closed},
               {"oriented", m.oriented},
               {"self_intersections", m.self_intersections},
               {"degenerate", m.degenerate},
               {"pieces", m.pieces},
               {"open_edges", m.open_edges},
               {"euler", m.euler},
               {"least_height_mm", rounded_6(m.least_height_mm)}};
  if (!m.all_asked) mesh["search_given_up"] = true;
  return mesh;
}

Json dimensions_json(const std::vector<MeasuredDimension>& dimensions) {
  Json list = Json::array();
  for (const MeasuredDimension& d : dimensions) {
    if (!d.measured_mm) continue;
    list.push_back({{"feature", d.feature},
                    {"quantity", d.quantity},
                    {"nominal_mm", rounded_length(d.nominal_mm)},
                    {"modelled_mm", rounded_length(d.modelled_mm)},
                    {"measured_mm", rounded_length(*d.measured_mm)},
                    {"deviation_mm", rounded_length(d.deviation_mm)},
                    {"tolerance_mm", rounded_length(d.tolerance_mm)},
                    {"ok", d.ok}});
  }
  return list;
}

Json report_document(const Report& r) {
  Json document = {{"format", "bedwright/report/1"},
                   {"kit", r.kit},
                   {"revision", r.revision},
                   {"title", r.title},
                   {"input_sha256", r.input_sha256},
                   {"parts", list_json(r.parts, [&](const PartReport& p) { return part_json(r, p); })},
                   {"joints", list_json(r.joints, [&](const JointSolution& s) { return joint_json(r, s); })},
                   {"wrong_ways", r.wrong_ways},
                   {"fit_envelope", envelope_json(r.envelope)},
                   {"interference", list_json(r.interferences, interference_json)},
                   {"findings", list_json(r.findings, finding_json)},
                   {"notes", notes_json(r.notes)},
                   {"assumed", notes_json(r.assumed)},
                   {"files", r.files}};
  document["beds"] = list_json(r.beds, [](const BedReport& b) {
    return Json{{"file", b.file}, {"print_first", b.bed.rank < 2}, {"items", list_json(b.bed.items, [](const OnBed& item) {
                                     return Json{{"part", item.part},
                                                 {"copy", item.copy},
                                                 {"at_mm", point_json(item.at)},
                                                 {"turn_deg", 90 * item.quarters}};
                                   })}};
  });
  document["print_first"] = {
      {"parts", list_json(r.print_first.parts,
                          [](const FirstPrint& p) {
                            return Json{{"part", p.part}, {"quantity", p.quantity}, {"spares", p.spares}, {"why", p.why}};
                          })},
      {"keep", list_json(r.print_first.keep, [](const OldPart& o) { return Json{{"what", o.what}, {"why", o.why}}; })}};
  document["hardware"] = list_json(r.hardware, [](const HardwareLine& line) {
    return Json{{"item", line.item}, {"quantity", line.quantity}, {"for", line.purpose},
                {"kind", line.kind}, {"spares", line.spares},     {"ask", line.ask}};
  });
  document["steps"] = list_json(r.steps, [](const Step& s) {
    return Json{{"n", s.n},
                {"do", s.what},
                {"parts", s.parts},
                {"joints", s.joints},
                {"tightness", s.tightness},
                {"feel", s.feel},
                {"machine", s.machine},
                {"cautions", s.cautions}};
  });
  document["service"] = list_json(r.service, [](const ServiceLine& s) { return Json{{"when", s.when}, {"do", s.what}}; });
  document["machine"] = machine_json(r.machine);
  document["cautions"] = list_json(r.cautions, [](const Caution& c) { return Json{{"at", c.at}, {"text", c.text}}; });
  return document;
}

std::string to_json(const Report& report) {
  // A kit's texts are UTF-8 by the reader's rule; anything else would be replaced, never thrown on.
  return report_document(report).dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace bedwright
