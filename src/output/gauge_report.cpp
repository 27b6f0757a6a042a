#include "output/gauge_report.h"

#include <fmt/format.h>

#include "base/numbers.h"
#include "output/report.h"

namespace bedwright {
namespace {

// Smaller flat faces are counted, not listed, in the text.
constexpr double small_plane_mm2 = 12;

Json feature_json(const MeasuredFeature& f) {
  return {{"kind", f.kind},
          {"at_mm", point_json(f.at)},
          {"axis", {rounded_6(f.axis.x), rounded_6(f.axis.y), rounded_6(f.axis.z)}},
          {"diameter_mm", rounded_length(f.diameter_mm)},
          {"length_mm", rounded_length(f.length_mm)},
          {"depth_mm", rounded_length(f.depth_mm)},
          {"through", f.through},
          {"point_mm", rounded_length(f.point_mm)},
          {"radius_mm", rounded_6(f.radius_mm)},
          {"area_mm2", rounded_6(f.area_mm2)}};
}

std::string at_text(Vec3 p) {
  return decimal(p.x, 3) + ", " + decimal(p.y, 3) + ", " + decimal(p.z, 3);
}

std::string feature_text(const MeasuredFeature& f) {
  std::string text = fmt::format("  {:<16} at {}", f.kind, at_text(f.at));
  if (f.diameter_mm > 0) text += ", diameter " + decimal(f.diameter_mm, 3);
  if (f.length_mm > 0) text += ", length " + decimal(f.length_mm, 3);
  if (f.depth_mm > 0) text += ", depth " + decimal(f.depth_mm, 3) + (f.through ? " (through)" : "");
  if (f.point_mm > 0) text += ", with a point " + decimal(f.point_mm, 3) + " from its axis";
  if (f.radius_mm != 0) text += ", radius " + decimal(f.radius_mm, 2);
  if (f.area_mm2 > 0) text += ", area " + decimal(f.area_mm2, 2);
  return text + "\n";
}

std::string yes(bool v) {
  return v ? "yes" : "no";
}

std::string comparison_text(const Part& part, const Comparison& c) {
  std::string text = "\nHeld against " + part.id + "\n";
  text += fmt::format("  {:<28} {:<10} {:>10} {:>10} {:>10} {:>10} {:>9}\n", "feature", "quantity", "nominal",
                      "modelled", "measured", "deviation", "allowed");
  for (const MeasuredDimension& d : c.dimensions) {
    if (!d.measured_mm) continue;
    text += fmt::format("  {:<28} {:<10} {:>10} {:>10} {:>10} {:>10} {:>9}{}\n", d.feature, d.quantity,
                        decimal(d.nominal_mm, 4), decimal(d.modelled_mm, 4), decimal(*d.measured_mm, 4),
                        decimal(d.deviation_mm, 4), decimal(d.tolerance_mm, 4), d.ok ? "" : "  OFF");
  }
  for (std::size_t i = 0; i < c.mistakes.size(); ++i)
    text += c.mistakes[i] + ": " + (i < c.words.size() ? c.words[i] : std::string()) + "\n";
  return text + (c.ok ? "It is " + part.id + ".\n" : "It is not " + part.id + " as drawn.\n");
}

}  // namespace

Json gauge_document(const std::string& file, const Measurement& m, const Part* part, const Comparison* comparison) {
  Json features = Json::array();
  for (const MeasuredFeature& f : m.features) features.push_back(feature_json(f));
  Json document = {{"format", "bedwright/gauge/1"},        {"file", file},
                   {"triangles", m.mesh.triangles.size()}, {"volume_mm3", rounded_6(m.volume_mm3)},
                   {"area_mm2", rounded_6(m.area_mm2)},    {"bbox_mm", point_json(m.box.high - m.box.low)},
                   {"mesh", mesh_json(m.health)},          {"features", features}};
  if (part && comparison) {
    document["match"] = {
        {"part", part->id}, {"ok", comparison->ok}, {"mistakes", comparison->mistakes}, {"words", comparison->words}};
    document["dimensions"] = dimensions_json(comparison->dimensions);
  }
  return document;
}

std::string gauge_text(const std::string& file, const Measurement& m, const Part* part, const Comparison* comparison) {
  const Vec3 size = m.box.high - m.box.low;
  std::string text = fmt::format("{}: {} facets, {} mm3, {} mm2\n", file, m.mesh.triangles.size(),
                                 shortest(rounded_6(m.volume_mm3)), shortest(rounded_6(m.area_mm2)));
  text += fmt::format("box {} x {} x {} mm, from {} to {}\n", decimal(size.x, 4), decimal(size.y, 4),
                      decimal(size.z, 4), at_text(m.box.low), at_text(m.box.high));
  text += fmt::format("closed {}, outward {}, crossings {}, empty facets {}, pieces {}, flattest triangle {} mm\n",
                      yes(m.health.closed), yes(m.health.oriented), m.health.self_intersections, m.health.degenerate,
                      m.health.pieces, decimal(m.health.least_height_mm, 5));
  if (!m.health.all_asked)
    text += "Not all facets were held against each other: too many lie across each other, and the search was given up. No "
            "printed part looks so; look at the file in a program that shows it.\n";
  text += "Features (mm, in the file's own frame)\n";
  int small = 0;
  for (const MeasuredFeature& f : m.features) {
    if (f.kind == "plane" && f.area_mm2 < small_plane_mm2)
      ++small;
    else
      text += feature_text(f);
  }
  if (small > 0)
    text += fmt::format("  and {} flat faces under {} mm2 each, as letters and notches have; --json lists them\n",
                        small, decimal(small_plane_mm2, 0));
  if (part && comparison) text += comparison_text(*part, *comparison);
  return text;
}

}  // namespace bedwright
