// Small parts for tests, drawn feature by feature.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "parts/part.h"

namespace sketch {

using namespace bedwright;

inline Feature feature(const std::string& id, Effect effect, std::vector<Loop> profile, Bound from, Bound to,
                       double chamfer_mm = 0) {
  Feature f;
  f.id = id;
  f.effect = effect;
  f.profile = std::move(profile);
  f.from = from;
  f.to = to;
  f.chamfer_mm = chamfer_mm;
  return f;
}

inline Feature add(const std::string& id, Loop loop, double from, double to) {
  return feature(id, Effect::add, {std::move(loop)}, Bound::at(from), Bound::at(to));
}
inline Feature add_to_seat(const std::string& id, Loop loop, double from) {
  return feature(id, Effect::add, {std::move(loop)}, Bound::at(from), Bound::at_seat());
}
inline Feature through(const std::string& id, Loop loop) {
  return feature(id, Effect::cut, {std::move(loop)}, Bound::open(), Bound::open());
}
inline Feature down_to(const std::string& id, Loop loop, double floor) {
  return feature(id, Effect::cut, {std::move(loop)}, Bound::at(floor), Bound::open());
}

inline Loop hole(double x, double y, double diameter) { return circle_loop({x, y}, diameter / 2, Facets::outside); }
inline Loop disc(double x, double y, double diameter) { return circle_loop({x, y}, diameter / 2, Facets::inside); }
inline Loop rectangle(double x, double y, double w, double h, double r = 0) { return rectangle_loop({x, y}, {w, h}, r); }

inline Part part(std::vector<Feature> features) {
  Part p;
  p.id = "sketch";
  p.features = std::move(features);
  return p;
}

inline Surface sphere(double radius, Vec2 apex, double height, bool crown_up = true) {
  Surface s;
  s.shape = SurfaceShape::sphere;
  s.radius_x = s.radius_y = radius;
  s.apex = apex;
  s.height = height;
  s.sign = crown_up ? 1 : -1;
  return s;
}

}  // namespace sketch
