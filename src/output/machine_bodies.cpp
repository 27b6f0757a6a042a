#include "output/machine_bodies.h"

#include "base/error.h"
#include "output/page_scene.h"
#include "solid/build.h"

namespace bedwright {
namespace {

constexpr int plates_layer = 4;  // of page_places; what lies higher stands on the frame

Loop polygon(const Json& corners) {
  Loop loop;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Json &a = corners[i], &b = corners[(i + 1) % corners.size()];
    loop.curves.push_back({{a[0].get<double>(), a[1].get<double>()}, {b[0].get<double>(), b[1].get<double>()}});
  }
  return loop;
}

Mesh prism(const Json& body) {
  Part part;
  part.id = body.at("name").get<std::string>();
  Feature outline;
  outline.id = "outline";
  outline.effect = Effect::add;
  outline.profile = {polygon(body.at("outline_mm"))};
  outline.from = Bound::at(body.at("z_mm")[0].get<double>());
  outline.to = Bound::at(body.at("z_mm")[1].get<double>());
  part.features.push_back(outline);
  for (const Json& hole : body.value("holes_mm", Json::array())) {
    Feature cut;
    cut.id = "opening";
    cut.effect = Effect::cut;
    cut.profile = {polygon(hole)};
    cut.from = cut.to = Bound::open();
    part.features.push_back(cut);
  }
  return build_solid(part);
}

Transform matrix_of(const Json& place) {
  Transform t;
  for (std::size_t i = 0; i < t.m.size(); ++i) t.m[i] = place.at("matrix")[i].get<double>();
  return t;
}

}  // namespace

std::vector<PreviewBody> machine_bodies(const Kit& kit, const Report& report, const std::vector<Mesh>& in_part_frame) {
  std::vector<PreviewBody> list;
  for (std::size_t i = 0; i < report.parts.size(); ++i)
    for (const Json& place : page_places(kit, report, report.parts[i], in_part_frame[i]))
      if (place.at("layer").get<int>() <= plates_layer)
        list.push_back({transformed(in_part_frame[i], matrix_of(place)), static_cast<int>(i)});
  if (list.empty()) return list;
  for (const Json& body : page_bodies(kit, report)) {
    if (body.at("kind") == "bed") continue;
    try {
      list.push_back({prism(body), -1});
    } catch (const CannotBuild&) {
      // An outline that crosses itself, openings past the rim: the picture does without.
    }
  }
  return list;
}

}  // namespace bedwright
