// Which way up and round a map is: every one of the 16 cases found or refused, never got wrong.
#include "survey/orient_map.h"

#include <catch2/catch.hpp>
#include <random>

#include "base/error.h"

using namespace bedwright;

namespace {

const std::vector<std::string> ids = {"front-left", "front-right", "rear-left", "rear-right"};

/// A machine of its own, written apart from the program's: a rigid or limp bed on four mounts.
struct Machine {
  Vec2 pitch{176, 176}, bed{240, 240}, grid{200, 200};
  int columns = 5, rows = 5;
  MapConvention truth;
  double limp = 0, noise = 0.004;
  bool rezeroed = false;

  double rise(Vec2 p, int mount, double mm) const {
    const double u = 2 * p.x / pitch.x * (mount % 2 ? 1 : -1), v = 2 * p.y / pitch.y * (mount / 2 ? 1 : -1);
    return mm / 4 * (1 + u + v + limp * u * v);
  }
  BedMap map(std::mt19937& random, int mount, double mm) const {
    std::normal_distribution<double> jitter(0, noise);
    BedMap out;
    out.source = "map";
    out.repeats.emplace_back();
    const bool turned = truth.quarter_turns % 2 == 1;
    const Vec2 size = turned ? Vec2{grid.y, grid.x} : grid;
    const int nx = turned ? rows : columns, ny = turned ? columns : rows;
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const Vec2 offset{size.x * (static_cast<double>(i) / (nx - 1) - 0.5),
                          size.y * (static_cast<double>(j) / (ny - 1) - 0.5)};
        const Vec2 p = machine_offset(truth, offset);
        const double shape = 0.1 + 0.002 * p.x - 0.001 * p.y + 3e-6 * p.x * p.x + (mount >= 0 ? rise(p, mount, mm) : 0);
        out.at.push_back({100 + offset.x, 120 + offset.y});
        out.repeats[0].push_back((truth.positive_high ? 1 : -1) * shape + jitter(random));
      }
    if (rezeroed) {
      const double zero = out.repeats[0][out.repeats[0].size() / 2];
      for (double& z : out.repeats[0]) z -= zero;
    }
    return out;
  }
  std::vector<Vec2> mounts() const {
    const double x = pitch.x / 2, y = pitch.y / 2;
    return {{-x, -y}, {x, -y}, {-x, y}, {x, y}};
  }
  Orientation ask(std::mt19937& random, const std::vector<int>& under, double mm,
                  std::optional<Vec2> probed = {}) const {
    std::vector<KnownShim> shims;
    const BedMap before = map(random, -1, 0);
    for (int m : under) shims.push_back({ids[static_cast<std::size_t>(m)], m, mm, before, map(random, m, mm)});
    return find_orientation(shims, mounts(), bed, {}, probed);
  }
};

bool same(const MapConvention& a, const MapConvention& b) {
  return a.positive_high == b.positive_high && a.mirrored == b.mirrored && a.quarter_turns == b.quarter_turns;
}

}  // namespace

TEST_CASE("one corner is enough on a rectangular bed, for all cases", "[level][orient]") {
  std::mt19937 random(1);
  Machine machine;
  machine.pitch = {176, 130};
  machine.bed = {240, 180};
  machine.grid = {200, 150};
  for (bool high : {true, false})
    for (bool mirrored : {false, true})
      for (int quarter = 0; quarter < 4; ++quarter)
        for (int mount = 0; mount < 4; ++mount) {
          machine.truth = {high, quarter, mirrored, {}};
          const Orientation found = machine.ask(random, {mount}, 0.4);
          CAPTURE(high, mirrored, quarter, mount, found.why);
          REQUIRE(found.found);
          CHECK(same(*found.found, machine.truth));
        }
}

TEST_CASE("a square grid needs two corners next to each other, and is told so", "[level][orient]") {
  std::mt19937 random(2);
  Machine machine;
  machine.truth = {false, 1, true, {}};
  const Orientation one = machine.ask(random, {0}, 0.4);
  CHECK_FALSE(one.found);
  CHECK(one.why.find("square") != std::string::npos);
  CHECK(one.why.find("next to front-left") != std::string::npos);
  const Orientation opposite = machine.ask(random, {0, 3}, 0.4);
  CHECK_FALSE(opposite.found);
  CHECK(opposite.why.find("not opposite") != std::string::npos);
  const Orientation two = machine.ask(random, {0, 1}, 0.4);
  REQUIRE(two.found);
  CHECK(same(*two.found, machine.truth));
}

TEST_CASE("an oblong grid on a square bed needs one corner and what the owner sees", "[level][orient]") {
  std::mt19937 random(5);
  Machine machine;
  machine.grid = {200, 160};
  machine.rows = 4;
  for (bool high : {true, false})
    for (bool mirrored : {false, true})
      for (int quarter = 0; quarter < 4; ++quarter)
        for (int mount = 0; mount < 4; ++mount) {
          machine.truth = {high, quarter, mirrored, {}};
          const Orientation found = machine.ask(random, {mount}, 0.4, Vec2{200, 160});
          CAPTURE(high, mirrored, quarter, mount, found.why);
          REQUIRE(found.found);
          CHECK(same(*found.found, machine.truth));
          const Orientation blind = machine.ask(random, {mount}, 0.4);
          CHECK_FALSE(blind.found);
          CHECK(blind.why.find("--probed") != std::string::npos);
        }
  // What cannot be the probed area is no answer, and a square one answers nothing.
  CHECK_THROWS_AS(machine.ask(random, {0}, 0.4, Vec2{200, 120}), BadInput);
  machine.grid = {200, 200};
  CHECK_FALSE(machine.ask(random, {0}, 0.4, Vec2{200, 200}).found);
}

TEST_CASE("a map zeroed on the bed itself is refused", "[level][orient]") {
  std::mt19937 random(3);
  Machine machine;
  machine.rezeroed = true;
  const Orientation found = machine.ask(random, {0, 1}, 0.4);
  CHECK_FALSE(found.found);
  CHECK(found.why != "");
}

TEST_CASE("identified or refused over 1000 random noisy cases, never wrong", "[level][orient]") {
  std::mt19937 random(20);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  int identified = 0, wrong = 0;
  for (int k = 0; k < 1000; ++k) {
    Machine machine;
    const bool square = random() % 2 == 0;
    machine.pitch = {uniform(120, 200), uniform(120, 200)};
    machine.bed = {uniform(210, 260), uniform(150, 205)};
    if (square) machine.bed.y = machine.bed.x;
    machine.grid = {machine.bed.x * uniform(0.7, 0.95), machine.bed.y * uniform(0.7, 0.95)};
    if (square && random() % 2 == 0) machine.grid.y = machine.grid.x;
    machine.columns = 3 + static_cast<int>(random() % 5);
    machine.rows = 3 + static_cast<int>(random() % 5);
    machine.limp = uniform(0, 1);
    machine.noise = uniform(0, 1) * uniform(0, 0.06);
    machine.rezeroed = random() % 10 == 0;
    machine.truth = {random() % 2 == 0, static_cast<int>(random() % 4), random() % 2 == 0, {}};
    std::vector<int> under = {static_cast<int>(random() % 4)};
    if (random() % 3 != 0) under.push_back((under[0] + 1 + static_cast<int>(random() % 3)) % 4);
    const Orientation found = machine.ask(random, under, uniform(0.2, 0.6));
    identified += found.found.has_value();
    if (found.found && !same(*found.found, machine.truth)) {
      ++wrong;
      CAPTURE(k, square, machine.noise, machine.rezeroed, machine.bed.x, machine.bed.y, machine.grid.x, machine.grid.y,
              found.why, found.misfit, found.clearance);
      CHECK(same(*found.found, machine.truth));
    }
  }
  CAPTURE(identified);
  CHECK(wrong == 0);
  CHECK(identified > 300);
}
