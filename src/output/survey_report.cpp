#include "output/survey_report.h"

#include <fmt/format.h>

#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "output/report.h"

namespace bedwright {
namespace {

Json number(double v) {
  return std::isfinite(v) ? Json(rounded_6(v)) : Json(nullptr);
}
Json length_json(double v) {
  return std::isfinite(v) ? Json(rounded_length(v)) : Json(nullptr);
}
/// A radius of kilometres has no use for tenths of a micrometre, nor has JSON.
Json radius_json(double v) {
  return std::isfinite(v) && v < 1e12 ? Json(v < 1e6 ? rounded_length(v) : rounded_6(v)) : Json(nullptr);
}
Json pair_json(Vec2 p, Json (*one)(double)) {
  return Json::array({one(p.x), one(p.y)});
}

Json finding_json(const Finding& f) {
  return {{"code", f.code},       {"severity", to_text(f.severity)}, {"part", f.part},   {"feature", f.feature},
          {"message", f.message}, {"value", number(f.value)},        {"limit", f.limit}, {"unit", f.unit},
          {"remedy", f.remedy}};
}

struct Range {
  double low, high;
};
/// The interval is even in curvature, so it is wider towards flat in radius.
Range radius_range(const Survey& s) {
  const double k = std::fabs(s.curvature), u = s.factor * s.curvature_u;
  return {1 / (k + u), k > u ? 1 / (k - u) : INFINITY};
}

std::string mm(double v, int places = 2) {
  return decimal(v, places) + " mm";
}

std::string radius_text(double v) {
  return decimal(v, v < 100 ? 3 : v < 10000 ? 1 : 0);
}

/// Two digits and a bit: more would pretend.
std::string doubt_text(double v) {
  return decimal(v, v < 10 ? 2 : v < 100 ? 1 : 0);
}

/// Of a cylinder's straight direction against +X, -90 (not included) to 90.
double axis_deg(const Survey& s) {
  const double sign = s.model.turn_x < 0 || (s.model.turn_x == 0 && s.model.turn_y < 0) ? -1 : 1;
  return atan2_rad(sign * s.model.turn_y, sign * s.model.turn_x) / rad_per_deg;
}

std::string shape_words(const Survey& s) {
  switch (s.shape) {
    case FitShape::flat:
      return "flat";
    case FitShape::sphere:
      return "a sphere";
    case FitShape::cylinder: {
      const bool along_y = std::fabs(s.model.turn_y) >= std::fabs(s.model.turn_x);
      const std::string along = !s.kept_as_points ? along_y ? "Y" : "X"
                                                  : decimal(axis_deg(s), 1) + " degrees from +X towards +Y (u " +
                                                        doubt_text(s.axis_u_rad.value_or(0) / rad_per_deg) + ")";
      return fmt::format("a cylinder of radius {} (u {}), straight along {}", mm(s.radii_mm->x, 1),
                         doubt_text(s.radii_u_mm->x), along);
    }
    case FitShape::two_radius:
      return fmt::format("two radii: {} (u {}) along X, {} (u {}) along Y", mm(s.radii_mm->x, 1),
                         doubt_text(s.radii_u_mm->x), mm(s.radii_mm->y, 1), doubt_text(s.radii_u_mm->y));
    case FitShape::saddle:
      return "a saddle";
    default:
      return "measured (no simple shape)";
  }
}

}  // namespace

Json survey_document(const SurveyReport& r) {
  const Survey& s = r.survey;
  Json trials = Json::array(), findings = Json::array();
  for (const ShapeTrial& t : s.trials)
    trials.push_back({{"shape", to_text(t.shape)},
                      {"against", to_text(t.against)},
                      {"p", number(t.p)},
                      {"effect_mm", length_json(t.effect_mm)},
                      {"believed", t.believed}});
  for (const Finding& f : r.findings) findings.push_back(finding_json(f));
  const Range range = radius_range(s);
  Json document = {{"format", "bedwright/survey/1"},
                   {"shape", to_text(s.shape)},
                   {"why", s.why},
                   {"radius_mm", radius_json(s.radius_mm)},
                   {"radius_u_mm", radius_json(s.radius_u_mm)},
                   {"radius_95_mm", Json::array({radius_json(range.low), radius_json(range.high)})},
                   {"curvature_per_m", number(1000 * s.curvature)},
                   {"curvature_u_per_m", number(1000 * s.curvature_u)},
                   {"crown", s.crown_up ? "up" : "down"},
                   {"apex_mm", s.apex_u ? pair_json(s.apex, length_json) : Json::array({0.0, 0.0})},
                   {"apex_u_mm", s.apex_u ? pair_json(*s.apex_u, length_json) : Json::array({nullptr, nullptr})},
                   {"twist_mm", s.twist_mm ? length_json(*s.twist_mm) : Json(nullptr)},
                   {"twist_u_mm", s.twist_u_mm ? length_json(*s.twist_u_mm) : Json(nullptr)},
                   {"twist_factor", number(s.twist_factor)},
                   {"twist_at_mm", pair_json(s.twist_half, length_json)},
                   {"rms_mm", length_json(s.rms_mm)},
                   {"max_residual_mm", length_json(s.max_residual_mm)},
                   {"noise_mm", length_json(s.noise_mm)},
                   {"corner_doubt_mm", length_json(corner_doubt_mm(r))},
                   {"points", s.points},
                   {"outliers", s.outliers},
                   {"points_per_share", number(s.points_per_share)},
                   {"interval",
                    {{"coverage", coverage},
                     {"factor", number(s.factor)},
                     {"distribution", s.freedom > 0 ? "Student t" : "normal"},
                     {"freedom", s.freedom > 0 ? number(s.freedom) : Json(nullptr)}}},
                   {"scale",
                    {{"x", number(r.scale.x)},
                     {"y", number(r.scale.y)},
                     {"skew_deg", number(r.scale.skew_deg)},
                     {"x_u", number(r.scale.x_u)},
                     {"y_u", number(r.scale.y_u)},
                     {"known", r.scaled}}},
                   {"trials", trials},
                   {"done", r.done},
                   {"findings", findings}};
  if (s.radii_mm) {
    document["radii_mm"] = pair_json(*s.radii_mm, radius_json);
    document["radii_u_mm"] = pair_json(*s.radii_u_mm, radius_json);
  }
  if (s.shape == FitShape::cylinder) {
    document["axis"] = std::fabs(s.model.turn_y) >= std::fabs(s.model.turn_x) ? "y" : "x";
    document["axis_deg"] = number(axis_deg(s));
    document["axis_u_deg"] = s.axis_u_rad ? number(*s.axis_u_rad / rad_per_deg) : Json(nullptr);
  }
  if (!r.written.empty()) document["written"] = r.written;
  if (!r.points_file.empty()) document["points_file"] = r.points_file;
  return document;
}

std::string survey_text(const SurveyReport& r) {
  const Survey& s = r.survey;
  std::string text;
  for (const std::string& line : r.done) text += line + "\n";
  text += "Shape: " + shape_words(s) + "\n  because " + s.why + "\n";
  const Range range = radius_range(s);
  const std::string as_sphere = s.shape == FitShape::sphere ? "Radius" : "Radius as a sphere";
  if (s.shape == FitShape::flat || !std::isfinite(range.high)) {
    text += "Radius as a sphere: more than " + decimal(range.low / 1000, 1) + " m (95 %)\n";
  } else {
    text += fmt::format("{}: {} mm, crown {}; standard uncertainty {} mm\n", as_sphere, radius_text(s.radius_mm),
                        s.crown_up ? "up" : "down", doubt_text(s.radius_u_mm));
    text += "  95 % sure: " + radius_text(range.low) + " to " + radius_text(range.high) +
            fmt::format(" mm ({}, factor {})\n",
                        s.freedom > 0 ? "Student's t, " + decimal(s.freedom, 0) + " degrees of freedom"
                                      : "normal, from the stated uncertainty",
                        decimal(s.factor, 2));
    if (s.shape == FitShape::sphere)
      text += "  which is " + mm(corner_doubt_mm(r), 3) + " of height at the corners of the " +
              (r.pitch_mm ? "hole pattern" : "points") + "\n";
    if (s.apex_u)
      text += fmt::format("Apex{}: x {}, y {} mm; standard uncertainty {} and {} mm\n",
                          s.shape == FitShape::sphere ? "" : " as a sphere", decimal(s.apex.x, 2), decimal(s.apex.y, 2),
                          decimal(s.apex_u->x, 3), decimal(s.apex_u->y, 3));
    else
      text += "Apex: not seen by these readings; over the machine's centre unless the kit says otherwise\n";
  }
  const std::string corners = decimal(2 * s.twist_half.x, 0) + " x " + decimal(2 * s.twist_half.y, 0) + " mm";
  text += s.twist_mm ? fmt::format("Twist at the corners of {}: {} mm; standard uncertainty {} mm\n", corners,
                                   decimal(*s.twist_mm, 3), decimal(*s.twist_u_mm, 3))
                     : "Twist: not seen\n";
  text += fmt::format("{}: {}, {} left out; rms {} mm, largest {} mm off the shape\n",
                      r.source == SurveySource::readings ? "Readings" : "Points", s.points, s.outliers,
                      decimal(s.rms_mm, 4), decimal(s.max_residual_mm, 4));
  if (r.scaled)
    text += fmt::format("Scale: x {} (u {}), y {} (u {}), skew {} degrees; the known lengths agree within {}\n",
                        decimal(r.scale.x, 5), decimal(r.scale.x_u, 5), decimal(r.scale.y, 5), decimal(r.scale.y_u, 5),
                        decimal(r.scale.skew_deg, 3), mm(r.scale.worst_mm, 3));
  for (const Finding& f : r.findings) {
    text += std::string(to_text(f.severity)) + " " + f.code + ": " + f.message + "\n";
    if (!f.remedy.empty()) text += "  " + f.remedy + "\n";
  }
  if (!r.points_file.empty()) text += "Wrote " + r.points_file + "\n";
  if (!r.written.empty()) text += "Wrote the dome into " + r.written + "\n";
  return text;
}

}  // namespace bedwright
