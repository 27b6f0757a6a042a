#include "visit/fit.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "parts/digest.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;

PlaneBox box_of(const std::vector<FrameHole>& holes) {
  PlaneBox box{{1e300, 1e300}, {-1e300, -1e300}};
  for (const FrameHole& h : holes) {
    box.low = {std::min(box.low.x, h.at_mm.x), std::min(box.low.y, h.at_mm.y)};
    box.high = {std::max(box.high.x, h.at_mm.x), std::max(box.high.y, h.at_mm.y)};
  }
  return box;
}

bool near(Vec2 a, Vec2 b) {
  return length(a - b) < same_mm;
}

/// Whether the holes of the other machine are these, spread about their middle by a changed pitch and nothing else.
bool spread(const std::vector<FrameHole>& before, const std::vector<FrameHole>& after) {
  if (before.size() != after.size()) return false;
  if (before.empty()) return true;
  const PlaneBox a = box_of(before), b = box_of(after);
  const Vec2 middle = 0.5 * (a.low + a.high), grown = 0.5 * ((b.high - b.low) - (a.high - a.low));
  const auto side = [](double v) { return v > same_mm ? 1.0 : v < -same_mm ? -1.0 : 0.0; };
  for (std::size_t i = 0; i < before.size(); ++i) {
    const Vec2 from = before[i].at_mm - middle;
    const Vec2 at{before[i].at_mm.x + side(from.x) * grown.x, before[i].at_mm.y + side(from.y) * grown.y};
    if (!near(at, after[i].at_mm) || std::fabs(before[i].diameter_mm - after[i].diameter_mm) > same_mm) return false;
  }
  return true;
}

bool same_dome_but_for_its_radius(const Dome& a, const Dome& b) {
  if (a.points_mm.size() != b.points_mm.size()) return false;
  for (std::size_t i = 0; i < a.points_mm.size(); ++i)
    if (length(a.points_mm[i] - b.points_mm[i]) > same_mm) return false;
  if (b.shape == "flat") return true;
  return a.crown_up == b.crown_up && a.axis == b.axis && near(a.apex_mm, b.apex_mm) &&
         a.measured_on_upper == b.measured_on_upper;
}

/// One share for all radii of a dome, or nothing.
std::optional<double> curvature_share(const Dome& published, const Dome& visitor) {
  if (published.shape != visitor.shape) {
    const bool curved = published.shape == "sphere" || published.shape == "cylinder" || published.shape == "two_radius";
    return curved && visitor.shape == "flat" ? std::optional<double>(0) : std::nullopt;
  }
  if (published.shape == "sphere" || published.shape == "cylinder") return published.radius_mm / visitor.radius_mm;
  if (published.shape != "two_radius") return 1;
  const double x = published.radius_x_mm / visitor.radius_x_mm, y = published.radius_y_mm / visitor.radius_y_mm;
  return std::fabs(x - y) < 1e-9 ? std::optional<double>(x) : std::nullopt;
}

/// Ids of those that `have` does not hold, in number and shape.
std::vector<std::string> other_than(const std::vector<Part>& wanted, const std::vector<Part>& have) {
  std::multiset<std::string> shapes;
  for (const Part& part : have)
    for (int i = 0; i < part.quantity; ++i) shapes.insert(shape_digest(part));
  std::vector<std::string> ids;
  for (const Part& part : wanted) {
    const std::string shape = shape_digest(part);
    bool all = true;
    for (int i = 0; i < part.quantity; ++i) {
      const auto found = shapes.find(shape);
      if (found == shapes.end())
        all = false;
      else
        shapes.erase(found);
    }
    if (!all) ids.push_back(part.id);
  }
  return ids;
}

}  // namespace

const char* to_text(SetFits fits) {
  switch (fits) {
    case SetFits::as_published:
      return "as-published";
    case SetFits::with_help:
      return "with-help";
    default:
      return "needs-parts";
  }
}

std::optional<OtherMachine> machine_between(const Kit& published, const Kit& visitor) {
  const FrameSettings &before = published.frame, &after = visitor.frame;
  if (!spread(before.holes, after.holes) || !same_dome_but_for_its_radius(before.dome, after.dome)) return std::nullopt;
  const std::optional<double> share = curvature_share(before.dome, after.dome);
  if (!share) return std::nullopt;
  OtherMachine m;
  if (!before.holes.empty()) {
    const PlaneBox a = box_of(before.holes), b = box_of(after.holes);
    m.pitch_x_mm = (b.high.x - b.low.x) - (a.high.x - a.low.x);
    m.pitch_y_mm = (b.high.y - b.low.y) - (a.high.y - a.low.y);
  }
  m.sheet_mm = after.sheet_thickness_mm - before.sheet_thickness_mm;
  m.curvature_share = *share;
  return m;
}

VisitFit fit_of(const Kit& published, const Envelope& envelope, const std::vector<Part>& parts, const Kit& visitor,
                const std::vector<Part>& visitor_parts) {
  VisitFit fit;
  fit.parts = other_than(visitor_parts, parts);
  fit.fits = fit.parts.empty() ? SetFits::as_published : SetFits::needs_parts;
  const bool plates =
      std::any_of(parts.begin(), parts.end(), [](const Part& p) { return p.family == "adapter_plate"; });
  const std::optional<OtherMachine> machine = plates ? machine_between(published, visitor) : std::nullopt;
  if (!machine) return fit;
  // Only what the envelope's measures explain may be left to it: a part that someone wants thicker is another part.
  std::vector<std::string> wanted;
  try {
    Kit hybrid = published;
    hybrid.frame = visitor.frame;
    wanted = other_than(visitor_parts, keyed_parts(hybrid, settle(hybrid)));
  } catch (const Error&) {
    return fit;
  }
  const FitVerdict verdict = envelope.judge(*machine);
  fit.gap_mm = verdict.gap_mm;
  fit.with = verdict.with;
  fit.why = verdict.why;
  if (!wanted.empty()) {
    // The plates may stay where the envelope says so; what was asked for besides is made.
    if (verdict.fits != FitsAs::no) fit.parts = std::move(wanted);
    fit.fits = SetFits::needs_parts;
    return fit;
  }
  fit.fits = verdict.fits == FitsAs::yes    ? SetFits::as_published
             : verdict.fits == FitsAs::with ? SetFits::with_help
                                            : SetFits::needs_parts;
  return fit;
}

}  // namespace bedwright
