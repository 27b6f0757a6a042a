#include "parts/digest.h"

#include <cmath>

#include "base/sha256.h"

namespace bedwright {
namespace {

constexpr double step_mm = 1e-6;

struct Text {
  std::string text;
  void word(const std::string& w) { text += w + ";"; }
  void whole(long long n) { text += std::to_string(n) + ","; }
  /// Bounds of open ends are beyond any part: all of them are one.
  void length(double v) { whole(std::fabs(v) < 1e9 ? std::llround(v / step_mm) : 0); }
  void point(Vec2 p) {
    length(p.x);
    length(p.y);
  }
  void point(Vec3 p) {
    point(Vec2{p.x, p.y});
    length(p.z);
  }
  void bound(const Bound& b) {
    whole(static_cast<int>(b.kind));
    length(b.z_mm);
  }
  void loop(const Loop& l) {
    word("loop");
    point(l.centre);
    length(l.radius);
    for (const Curve& c : l.curves) {
      whole(c.arc ? c.ccw ? 2 : 1 : 0);
      point(c.start);
      point(c.end);
      if (!c.arc) continue;
      point(c.centre);
      length(c.radius);
    }
  }
  void surface(const Surface& s) {
    word("seat");
    whole(static_cast<int>(s.shape));
    for (double v : {s.radius_x, s.radius_y, s.height, s.slope.x, s.slope.y}) length(v);
    for (Vec2 p : {s.apex, s.local_x, s.local_y}) point(p);
    whole(s.sign);
    if (!s.measured) return;
    point(s.measured->low);
    point(s.measured->high);
    whole(s.measured->cells_x);
    for (double c : s.measured->coefficients) length(c);
  }
};

}  // namespace

std::string shape_digest(const Part& part) {
  Text t;
  t.word(part.material);
  t.length(part.chord_mm);
  t.surface(part.seat);
  for (const Feature& f : part.features) {
    if (f.kind == FeatureKind::mark) continue;
    t.word(f.id);
    t.whole(static_cast<int>(f.kind));
    t.whole(static_cast<int>(f.effect));
    t.bound(f.from);
    t.bound(f.to);
    t.point(f.at);
    t.point(f.axis);
    t.length(f.chamfer_mm);
    if (f.upper_chamfer) t.word("both edges");
    // Said only where it is not the usual one, so that codes of old parts stay what they were.
    if (crosses(f)) t.word(f.along == Along::x ? "along x" : "along y");
    for (const Loop& l : f.profile) t.loop(l);
  }
  return sha256(t.text);
}

}  // namespace bedwright
