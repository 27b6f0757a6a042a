// The picture of a set: what it shows is found again by its colours.
#include "output/preview.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "checks/bench.h"
#include "output/machine_bodies.h"
#include "solid/build.h"

using namespace bedwright;

namespace {

struct Spot {
  int pixels = 0;
  double x = 0, y = 0;  ///< middle of the pixels, y down
};

/// Pixels whose hue is that of `colour`, brighter or darker, between two columns.
Spot found(const TrueColours& picture, const std::array<double, 3>& colour, int from, int to) {
  Spot spot;
  for (int y = 0; y < picture.height; ++y)
    for (int x = from; x < to; ++x) {
      const std::uint8_t* p = &picture.pixels[3 * static_cast<std::size_t>(y * picture.width + x)];
      const double bright = (p[0] + p[1] + p[2]) / (colour[0] + colour[1] + colour[2]);
      bool same = bright > 0.4;
      for (std::size_t c = 0; c < 3; ++c) same = same && std::fabs(p[c] - bright * colour[c]) < 2.5;
      if (!same) continue;
      ++spot.pixels;
      spot.x += x, spot.y += y;
    }
  if (spot.pixels) spot.x /= spot.pixels, spot.y /= spot.pixels;
  return spot;
}

Mesh box(Vec3 low, Vec3 high) {
  Part part;
  part.id = "box";
  Feature f;
  f.id = "outline";
  f.effect = Effect::add;
  f.profile = {rectangle_loop({(low.x + high.x) / 2, (low.y + high.y) / 2}, {high.x - low.x, high.y - low.y}, 0)};
  f.from = Bound::at(low.z), f.to = Bound::at(high.z);
  part.features = {f};
  return build_solid(part);
}

const std::array<double, 3> first = {232, 163, 92}, second = {126, 178, 204}, metal = {196, 200, 203};

}  // namespace

TEST_CASE("preview: parts stand in the machine where they belong, in the colours they have beside it", "[preview]") {
  // In isometric projection from the front, the right and above, right is (x + y) / sqrt 2, up is (2 z + y - x) / sqrt 6.
  const Mesh plate = box({-10, -10, 0}, {10, 10, 4});
  const std::vector<PreviewPart> parts = {{&plate, "left"}, {&plate, "right"}};
  const auto moved = [&](Vec3 by) { return transformed(plate, shift(by)); };
  const std::vector<PreviewBody> machine = {
      {moved({-80, -80, 0}), 0}, {moved({80, -80, 0}), 1}, {box({-100, -100, -10}, {100, 100, -1}), -1}};
  const TrueColours picture = preview(parts, machine);
  CHECK(picture.width == preview_width_px);
  const int half = preview_width_px / 2;
  const Spot front_left = found(picture, first, 0, half), front_right = found(picture, second, 0, half);
  REQUIRE(front_left.pixels > 100);
  REQUIRE(front_right.pixels > 100);
  // 160 mm along X: as far to the right by 1 / sqrt 2 as down by 1 / sqrt 6.
  const double across = front_right.x - front_left.x, down = front_right.y - front_left.y;
  CHECK(across > 50);
  CHECK(down / across == Approx(1 / std::sqrt(3.0)).margin(0.02));
  CHECK(found(picture, metal, 0, half).pixels > 5 * front_left.pixels);
  // Beside it each larger, and no bare metal.
  CHECK(found(picture, first, half, preview_width_px).pixels > 2 * front_left.pixels);
  CHECK(found(picture, second, half, preview_width_px).pixels > 2 * front_right.pixels);
  CHECK(found(picture, metal, half, preview_width_px).pixels < found(picture, metal, 0, half).pixels / 10);  // letters
}

TEST_CASE("preview: without a machine the parts have the whole width", "[preview]") {
  const Mesh plate = box({-10, -10, 0}, {10, 10, 4});
  const std::vector<PreviewPart> parts = {{&plate, "one"}};
  const TrueColours picture = preview(parts);
  CHECK(found(picture, first, 0, preview_width_px / 2).pixels > 1000);
  CHECK(picture.height > least_preview_height_px);
}

TEST_CASE("preview: a kit's machine has its rails, carriages, base and plates, but neither frame nor bed", "[preview]") {
  Bench bench;
  const Report report = bench.report();
  std::vector<Mesh> solids;
  for (const MadePart& made : bench.parts) solids.push_back(transformed(made.measured.mesh, made.report.pose.print_to_part));
  const std::vector<PreviewBody> bodies = machine_bodies(bench.kit, report, solids);
  int plates = 0;
  double top = -1e9;
  for (const PreviewBody& body : bodies) {
    const Box b = bounding_box(body.solid);
    top = std::max(top, b.high.z);
    if (body.part < 0) continue;
    ++plates;
    CHECK(report.parts[static_cast<std::size_t>(body.part)].part.family == "adapter_plate");
  }
  CHECK(plates == 4);
  // Two rails with two stops and a spacer each, four carriages, the base and what stands on it.
  CHECK(bodies.size() >= 4 + 2 + 4 + 1);
  CHECK(top < report.layout.height_mm + bench.kit.frame.sheet_thickness_mm);
}
