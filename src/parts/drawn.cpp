#include "parts/drawn.h"

#include "base/numbers.h"

namespace bedwright {
namespace {

// Each structure is taken apart whole: a member that is added later does not compile until it has been thought of here.

struct Text {
  std::string text;
  void word(const std::string& w) { text += std::to_string(w.size()) + ":" + w; }
  void whole(long long n) { text += std::to_string(n) + ","; }
  void number(double v) { text += shortest(v) + ","; }
  void point(Vec2 p) {
    number(p.x);
    number(p.y);
  }
  void point(Vec3 p) {
    number(p.x);
    number(p.y);
    number(p.z);
  }
  void bound(const Bound& b) {
    const auto& [kind, z_mm] = b;
    whole(static_cast<int>(kind));
    number(z_mm);
  }
  void loop(const Loop& l) {
    const auto& [circle, centre, radius, curves, facets] = l;
    whole(circle);
    point(centre);
    number(radius);
    whole(static_cast<int>(facets));
    whole(static_cast<long long>(curves.size()));
    for (const Curve& c : curves) {
      const auto& [start, end, arc, about, of, ccw] = c;
      point(start);
      point(end);
      whole(arc);
      point(about);
      number(of);
      whole(ccw);
    }
  }
  void measured(const MeasuredShape& m) {
    const auto& [low, high, cells_x, cells_y, beyond, coefficients, origin_z, hull, points, outliers, free_values,
                 smoothing, noise, largest, tilt] = m;
    // The rest tells how it was found.
    (void)hull, (void)points, (void)outliers, (void)free_values, (void)smoothing, (void)noise, (void)largest, (void)tilt;
    point(low);
    point(high);
    whole(cells_x);
    whole(cells_y);
    number(beyond);
    number(origin_z);
    for (double c : coefficients) number(c);
  }
  void surface(const Surface& s) {
    const auto& [shape, radius_x, radius_y, apex, local_x, local_y, sign, height, slope, measured_shape] = s;
    whole(static_cast<int>(shape));
    for (double v : {radius_x, radius_y, height}) number(v);
    for (Vec2 p : {apex, local_x, local_y, slope}) point(p);
    whole(sign);
    if (measured_shape) measured(*measured_shape);
  }
  void feature(const Feature& f) {
    const auto& [id, kind, effect, along, through, profile, from, to, at, axis, dimensions, chamfer_mm, upper_chamfer] =
        f;
    (void)dimensions, (void)through;  // follow from the rest, and are measured anew
    word(id);
    whole(static_cast<int>(kind));
    whole(static_cast<int>(effect));
    whole(static_cast<int>(along));
    bound(from);
    bound(to);
    point(at);
    point(axis);
    number(chamfer_mm);
    whole(upper_chamfer);
    whole(static_cast<long long>(profile.size()));
    for (const Loop& l : profile) loop(l);
  }
};

}  // namespace

std::string drawn_text(const Part& part) {
  const auto& [id, family, quantity, hand, mirror_of, placements, quarter_turns, features, seat, chord_mm, material,
               visible_mark, mark_face, mark_text, stands_at, bought, statements, settings] = part;
  (void)quantity, (void)hand, (void)mirror_of, (void)placements, (void)quarter_turns;
  (void)visible_mark, (void)mark_face, (void)mark_text, (void)stands_at, (void)bought, (void)statements;
  Text t;
  t.word(id);
  t.word(family);
  t.word(material);
  t.number(chord_mm);
  t.surface(seat);
  Json asked = settings;
  if (asked.is_object())
    for (const char* key : {"quantity", "placements", "note"}) asked.erase(key);
  t.word(asked.dump());
  for (const Feature& f : features) t.feature(f);
  return t.text;
}

}  // namespace bedwright
