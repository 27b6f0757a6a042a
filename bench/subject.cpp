// bedwright_subject polygons NAME: the part as polygons between heights, for a library that knows no features.
// bedwright_subject direct NAME FILE: its body without what crosses, as STL.
// bedwright_subject large FILE: the plate in a million facets.
// bedwright_subject scan FILE COUNT: points of a sphere with noise and strays, as binary PLY.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "kit/kit.h"
#include "output/write_set.h"
#include "output/write_stl.h"
#include "solid/build.h"
#include "subjects.h"
#include "survey/surface.h"

using namespace bedwright;

namespace {

constexpr double facets_of_large = 1e6;

Json point(Vec2 p) {
  return Json::array({p.x, p.y});
}

Json bound(const Bound& b) {
  if (b.kind == Bound::Kind::seat) return "seat";
  if (b.kind == Bound::Kind::open) return "open";
  return b.z_mm;
}

Json feature(const Feature& f, double chord) {
  Json loops = Json::array();
  for (const Loop& loop : f.profile) {
    Json points = Json::array();
    for (const Vec2 p : polygonised(loop, chord)) points.push_back(point(p));
    loops.push_back(std::move(points));
  }
  const char* along[] = {"x", "y", "z"};
  return {{"id", f.id},
          {"along", along[static_cast<int>(f.along)]},
          {"effect", f.effect == Effect::add ? "add" : "cut"},
          {"from", bound(f.from)},
          {"to", bound(f.to)},
          {"loops", std::move(loops)}};
}

/// Heights of the seat on a grid fine enough for the chord error, over the solid's box and a rim.
Json seat_grid(const Part& part, const Box& box) {
  const double rim = 2, radius = std::isfinite(part.seat.radius_x) && part.seat.radius_x > 0 ? part.seat.radius_x : 1e6;
  const double step = std::sqrt(4 * radius * part.chord_mm);  // a square cell's diagonal is one chord
  const double x0 = box.low.x - rim, y0 = box.low.y - rim;
  const int nx = static_cast<int>(std::ceil((box.high.x + rim - x0) / step)),
            ny = static_cast<int>(std::ceil((box.high.y + rim - y0) / step));
  Json z = Json::array();
  for (int j = 0; j <= ny; ++j)
    for (int i = 0; i <= nx; ++i) z.push_back(height_at(part.seat, {x0 + i * step, y0 + j * step}));
  return {{"x0", x0}, {"y0", y0}, {"step", step}, {"nx", nx}, {"ny", ny}, {"z", std::move(z)}};
}

std::string scan(std::size_t count) {
  std::string bytes = "ply\nformat binary_little_endian 1.0\nelement vertex " + std::to_string(count) +
                      "\nproperty float x\nproperty float y\nproperty float z\nend_header\n";
  unsigned long long state = 5;
  const auto next = [&state] {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  };
  for (std::size_t i = 0; i < count; ++i) {
    const double x = 280 * next() - 140, y = 240 * next() - 120, radius = 2600;
    // Twelve even numbers less six are as good as normal.
    double noise = -6;
    for (int k = 0; k < 12; ++k) noise += next();
    double z = std::sqrt(radius * radius - x * x - y * y) - radius + 0.03 * noise;
    if (next() < 0.15) z += 20 * next();
    for (const double v : {x, y, z}) {
      const float f = static_cast<float>(v);
      bytes.append(reinterpret_cast<const char*>(&f), sizeof f);
    }
  }
  return bytes;
}

int polygons(const std::string& name) {
  const bench::Subject s = bench::subject(name);
  const Mesh mesh = build_solid(s.part);
  const Box box = bounding_box(mesh);
  Json out = {{"volume_mm3", volume(mesh)},
              {"low", box.low.z},
              {"high", box.high.z},
              {"box", Json::array({box.low.x, box.low.y, box.low.z, box.high.x, box.high.y, box.high.z})},
              {"seat", seat_grid(s.part, box)},
              {"features", Json::array()}};
  for (const Feature& f : s.part.features)
    if (f.effect != Effect::none) out["features"].push_back(feature(f, s.part.chord_mm));
  std::printf("%s\n", out.dump().c_str());
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 2 ? argv[1] : "";
  if (what == "polygons" && argc == 3) return polygons(argv[2]);
  if (what == "direct" && argc == 4) {
    const bench::Subject s = bench::subject(argv[2]);
    write_file(argv[3], to_stl(build_solid(bench::direct_body(s.part)), "bench", s.part.id, "A"));
    return 0;
  }
  if (what == "large" && argc == 3) {
    const Mesh plate = build_solid(bench::subject("plate").part);
    Mesh large = bench::subdivided(
        plate, static_cast<int>(std::lround(std::sqrt(facets_of_large / double(plate.triangles.size())))));
    for (Vec3& v : large.vertices) v = {double(float(v.x)), double(float(v.y)), double(float(v.z))};
    write_file(argv[2], to_stl(large, "bench", "large", "A"));
    return 0;
  }
  if (what == "scan" && argc == 4) {
    write_file(argv[2], scan(std::strtoul(argv[3], nullptr, 10)));
    return 0;
  }
  std::fprintf(stderr, "usage: bedwright_subject polygons NAME | direct NAME FILE | large FILE | scan FILE COUNT\n");
  return 2;
}
