// From maps to shims. Closed forms first, then published fits, then exhaustive search.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "base/error.h"
#include "kit/csv.h"
#include "survey/choose_shims.h"
#include "survey/level.h"
#include "survey/map_split.h"
#include "survey/plate_on_mounts.h"
#include "survey/soft_foot.h"

using namespace bedwright;

namespace {

std::vector<Vec2> grid(int nx, int ny, double width, double depth) {
  std::vector<Vec2> at;
  for (int j = 0; j < ny; ++j)
    for (int i = 0; i < nx; ++i) at.push_back({width * (i / (nx - 1.0) - 0.5), depth * (j / (ny - 1.0) - 0.5)});
  return at;
}

std::vector<Vec2> four(double x, double y) {
  return {{-x / 2, -y / 2}, {x / 2, -y / 2}, {-x / 2, y / 2}, {x / 2, y / 2}};
}

std::vector<Mount> named(const std::vector<Vec2>& at) {
  const char* const ids[] = {"front-left", "front-right", "rear-left", "rear-right"};
  std::vector<Mount> mounts;
  for (std::size_t i = 0; i < at.size(); ++i) mounts.push_back({ids[i], at[i]});
  return mounts;
}

LevelInput input_for(HeightMap map, double layer) {
  LevelInput in;
  in.map = std::move(map);
  in.source = "map";
  in.bed_mm = {240, 240};
  in.mounts = named(four(176, 176));
  in.now_mm.assign(4, 0);
  in.factor.assign(4, 1);
  in.factor_u.assign(4, first_factor_u);
  in.choices = printed_choices(layer, layer, 0, 1.6);
  in.model.bed_mm = in.bed_mm;
  return in;
}

double number(const CsvRow& row, const char* column) {
  return std::stod(row.at(column));
}

}  // namespace

TEST_CASE("fits agree with certified values", "[level][map_split]") {
  const auto points = read_reference("plane_fit_points"), certified = read_reference("plane_fit_certified");
  REQUIRE(certified.size() == 8);
  for (const char* dataset : {"Norris", "Pontius", "trees"}) {
    CAPTURE(dataset);
    std::vector<double> one, x, second, z;
    for (const CsvRow& row : points) {
      if (row.at("dataset") != dataset) continue;
      one.push_back(1);
      x.push_back(number(row, "x"));
      // Pontius is a plane over x and x^2; trees one over girth and height.
      second.push_back(row.at("y").empty() ? x.back() * x.back() : number(row, "y"));
      z.push_back(number(row, "z"));
    }
    REQUIRE(z.size() >= 31);
    std::vector<std::vector<double>> columns = {one, x};
    if (std::string(dataset) != "Norris") columns.push_back(second);
    const TermFit fit = fit_terms(columns, z);
    std::size_t k = 0;
    for (const CsvRow& row : certified) {
      if (row.at("dataset") != dataset) continue;
      CHECK(fit.coefficients.at(k) == Approx(number(row, "value")).epsilon(1e-9));
      CHECK(fit.residual_sd == Approx(number(row, "residual_sd")).epsilon(1e-9));
      if (!row.at("standard_error").empty())
        CHECK(fit.standard_errors.at(k) == Approx(number(row, "standard_error")).epsilon(1e-9));
      ++k;
    }
    CHECK(k == columns.size());
  }
}

TEST_CASE("a made-up map is taken apart exactly", "[level][map_split]") {
  HeightMap map;
  map.at = grid(6, 5, 200, 180);
  for (Vec2& p : map.at) p = p + Vec2{4, -3};
  for (Vec2 p : map.at) {
    const double u = p.x / 120, v = p.y / 120;
    map.z.push_back(0.3 + 0.45 / 2 * u - 0.1 / 2 * v + 0.02 * u * v + 0.05 * u * u - 0.03 * v * v);
  }
  const MapSplit s = split_map(map, {240, 240}, "map");
  // 1e-9 um: thirty sums of numbers below 1 in double.
  CHECK(s.offset.um == Approx(300).margin(1e-9));
  CHECK(s.tilt_x.um == Approx(450).margin(1e-9));
  CHECK(s.tilt_y.um == Approx(-100).margin(1e-9));
  CHECK(s.twist.um == Approx(20).margin(1e-9));
  CHECK(s.bow_x.um == Approx(50).margin(1e-9));
  CHECK(s.bow_y.um == Approx(-30).margin(1e-9));
  CHECK(s.residual_max_um < 1e-9);
}

TEST_CASE("uncertainties cover what noise does to a split", "[level][map_split]") {
  std::mt19937 random(5);
  std::normal_distribution<double> jitter(0, 0.01);
  int covered = 0;
  double mean_u = 0;
  for (int k = 0; k < 400; ++k) {
    HeightMap map;
    map.at = grid(5, 5, 200, 200);
    for (Vec2 p : map.at) map.z.push_back(0.001 * p.x + jitter(random));
    const MapSplit s = split_map(map, {240, 240}, "map");
    covered += std::fabs(s.tilt_x.um - 240) < 2 * s.tilt_x.u_um;
    mean_u += s.tilt_x.u_um / 400;
  }
  // 2 standard uncertainties, 19 degrees of freedom: 94 % by Student's t; 3 sigma of 400 trials is 3.6 %.
  CHECK(covered > 360);
  CHECK(covered < 396);
  // Closed form: slope u = s / sqrt(sum x^2), five columns of 5 at -100 ... 100.
  CHECK(mean_u == Approx(1000 * 0.01 * 240 / std::sqrt(5 * (2 * 100.0 * 100 + 2 * 50 * 50))).epsilon(0.05));
}

TEST_CASE("few points give what they can, or are refused", "[level][map_split]") {
  HeightMap map;
  map.at = {{-100, -100}, {100, -100}, {-100, 100}, {100, 100}};
  map.z = {0, 1, 1, 0};
  const MapSplit s = split_map(map, {200, 200}, "map");
  CHECK(s.twist.known);
  CHECK(s.twist.um == Approx(-500));
  CHECK_FALSE(s.bow_x.known);
  map.at = {{0, 0}, {10, 10}, {20, 20}};
  map.z = {0, 1, 2};
  CHECK_THROWS_AS(split_map(map, {200, 200}, "map"), BadInput);
}

TEST_CASE("the least range is the minimum zone", "[level][least_range]") {
  // One point high by 1 in the middle of four corners: a plane can halve nothing, but a free offset leaves 1.
  const std::vector<Vec2> at = {{-1, -1}, {1, -1}, {-1, 1}, {1, 1}, {0, 0}};
  std::vector<double> x, y;
  for (Vec2 p : at) {
    x.push_back(p.x);
    y.push_back(p.y);
  }
  CHECK(least_range({0, 0, 0, 0, 1}, {x, y}) == Approx(1));
  // A saddle of +-1 at the corners, planes only: 2. Closed form: the 2-2 criterion.
  CHECK(least_range({1, -1, -1, 1, 0}, {x, y}) == Approx(2));
  // Three steps on a line, two up: slope 1/2 leaves 1/2 (0, 1, 1 at -1, 0, 1).
  CHECK(least_range({0, 1, 1}, {{-1, 0, 1}}) == Approx(0.5));
  CHECK(least_range({5, 5, 5}, {{-1, 0, 1}}) == Approx(0).margin(1e-12));
  CHECK(least_range({2, 3, 4, 5}, {{1, 2, 3, 4}}) == Approx(0).margin(1e-9));
}

TEST_CASE("a rigid bed on four mounts: 3/4, 1/4, 1/4, -1/4", "[level][plate]") {
  BedOnMounts model;
  const auto mounts = four(176, 120);
  const auto influence = influence_of(model, mounts, mounts);
  const double expected[4] = {0.75, 0.25, 0.25, -0.25};
  for (std::size_t p = 0; p < 4; ++p) CHECK(influence[0][p] == Approx(expected[p]).margin(1e-12));
  CHECK(influence[3][0] == Approx(-0.25).margin(1e-12));
  model.kind = BedOnMounts::Kind::limp;
  const auto limp = influence_of(model, mounts, mounts);
  for (std::size_t p = 0; p < 4; ++p) CHECK(limp[0][p] == Approx(p == 0 ? 1 : 0).margin(1e-12));
  // Three mounts: each alone, whatever the bed.
  const std::vector<Vec2> three = {{-80, -80}, {80, -80}, {0, 80}};
  const auto alone = influence_of(BedOnMounts(), three, three);
  CHECK(alone[2][2] == Approx(1));
  CHECK(alone[2][0] == Approx(0).margin(1e-12));
  CHECK_THROWS_WITH(influence_of(model, {{0, 0}, {1, 0}, {2, 0}}, {{0, 0}}),
                    Catch::Contains("/frame/bed_mounts: the mounts stand in one line"));
  CHECK_THROWS_WITH(influence_of(model, {{0, 0}, {1, 0}}, {{0, 0}}),
                    Catch::Contains("/frame/bed_mounts: a bed that shims can level needs three mounts or more"));
  CHECK_THROWS_WITH(fit_terms({{1, 1}, {0, 1}, {1, 0}}, {1, 2}), "fewer points than terms to fit");
}

TEST_CASE("a bed of stated stiffness lies between rigid and limp as the twisted plate's formula says",
          "[level][plate]") {
  BedOnMounts model;
  model.kind = BedOnMounts::Kind::stated;
  model.bed_mm = {176, 176};
  model.thickness_mm = 3;
  model.modulus_gpa = 69;
  model.poisson = 0.33;
  model.sheet_n_per_mm = 100;
  const auto mounts = four(176, 176);
  const auto influence = influence_of(model, mounts, mounts);
  // Corner forces +-F give w = F x y / (2 D (1 - nu)) on a plate held at its corners (thin plates, handbook): at the
  // corner t = F a b / (8 D (1 - nu)), a spring of 8 D (1 - nu) / (a b) in series with the sheet's.
  const double d = 69000.0 * 27 / (12 * (1 - 0.33 * 0.33)), twist = 8 * d * (1 - 0.33) / (176.0 * 176.0);
  const double share = 100 / (100 + twist);
  CHECK(influence[0][0] == Approx(0.75 + 0.25 * share).epsilon(1e-9));
  CHECK(influence[0][3] == Approx(-0.25 + 0.25 * share).epsilon(1e-9));
  CHECK(share > 0.2);
  CHECK(share < 0.95);
}

TEST_CASE("the seating gap of a rigid bed on four mounts", "[level][plate]") {
  const auto mounts = four(176, 176);
  CHECK(seating_gap(mounts, {0, 0.4, 0, 0.4}).mm == Approx(0).margin(1e-12));
  // One corner raised by 0.4: the bed rests on it and its neighbours; twist 0.4 opens at the opposite corner or not at
  // all: plane through front-left 0.4, front-right 0, rear-left 0 stands at -0.4 there, below its mount, so it is the
  // other diagonal's plane that carries, and the gap opens beside it.
  const SeatingGap gap = seating_gap(mounts, {0.4, 0, 0, 0});
  CHECK(gap.mm == Approx(0.4));
  CHECK((gap.mount == 1 || gap.mount == 2));
  CHECK(seating_gap({{-80, -80}, {80, -80}, {0, 80}}, {0.4, 0, 0.2}).mm == 0);
}

TEST_CASE("what may stand under a mount", "[level][choose]") {
  const auto printed = printed_choices(0.2, 0.24, 0.03, 0.65);
  REQUIRE(printed.size() == 4);
  CHECK(printed[0].mm == 0);
  CHECK(printed[1].mm == Approx(0.21));
  CHECK(printed[3].mm == Approx(0.61));
  CHECK(printed[3].layers == 3);
  const auto stock = stock_choices({0.1, 0.2, 0.5}, 2, 0.6);
  std::vector<double> mm;
  for (const ShimChoice& c : stock) mm.push_back(c.mm);
  REQUIRE(mm.size() == 7);
  const double expected[] = {0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6};
  for (std::size_t i = 0; i < 7; ++i) CHECK(mm[i] == Approx(expected[i]));
  CHECK(stock[2].pieces.size() == 1);
  CHECK(stock[6].pieces == std::vector<double>{0.5, 0.1});
}

TEST_CASE("the choice equals exhaustive search on 2000 random small cases", "[level][choose]") {
  std::mt19937 random(7);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int k = 0; k < 2000; ++k) {
    ShimTask task;
    const int mounts = 3 + static_cast<int>(random() % 3);
    for (int i = 0; i < mounts; ++i)
      task.mounts.push_back(i < 4 ? four(uniform(120, 180), uniform(120, 180))[static_cast<std::size_t>(i)]
                                  : Vec2{uniform(-20, 20), uniform(-20, 20)});
    const auto at = grid(3, 3, 200, 200);
    const double a = uniform(-0.004, 0.004), b = uniform(-0.004, 0.004), c = uniform(-2e-5, 2e-5);
    for (Vec2 p : at) task.z.push_back(a * p.x + b * p.y + c * p.x * p.y + uniform(-0.05, 0.05));
    BedOnMounts model;
    model.kind = random() % 2 ? BedOnMounts::Kind::rigid : BedOnMounts::Kind::limp;
    task.influence = influence_of(model, task.mounts, at);
    task.choices = printed_choices(0.2, 0.2, 0, mounts > 4 ? 0.6 : 1);
    for (int i = 0; i < mounts; ++i) task.now_mm.push_back(random() % 3 == 0 ? 0.2 : 0);
    task.minimise_rms = random() % 4 == 0;
    if (random() % 3 == 0) task.most_gap_mm = uniform(0, 0.3);

    const ShimPlan plan = choose_shims(task);
    double best = 1e9;
    int least_moved = 99;
    std::vector<std::size_t> counter(static_cast<std::size_t>(mounts), 0);
    for (bool more = true; more;) {
      std::vector<double> shims;
      int moved = 0;
      for (std::size_t i = 0; i < counter.size(); ++i) {
        shims.push_back(task.choices[counter[i]].mm);
        moved += std::fabs(shims.back() - task.now_mm[i]) > 1e-9;
      }
      if (!task.most_gap_mm || seating_gap(task.mounts, shims).mm <= *task.most_gap_mm + 1e-6) {
        std::vector<double> z = task.z;
        double mean = 0, squares = 0, low = 1e9, high = -1e9;
        for (std::size_t p = 0; p < z.size(); ++p) {
          for (std::size_t i = 0; i < shims.size(); ++i) z[p] += task.influence[i][p] * (shims[i] - task.now_mm[i]);
          mean += z[p] / static_cast<double>(z.size());
          low = std::min(low, z[p]);
          high = std::max(high, z[p]);
        }
        for (double v : z) squares += (v - mean) * (v - mean);
        const double value = task.minimise_rms ? std::sqrt(squares / static_cast<double>(z.size())) : high - low;
        if (value < best - 1e-6) {
          best = value;
          least_moved = moved;
        } else if (value < best + 1e-6) {
          least_moved = std::min(least_moved, moved);
        }
      }
      more = false;
      for (std::size_t i = 0; i < counter.size() && !more; ++i) {
        more = ++counter[i] < task.choices.size();
        if (!more) counter[i] = 0;
      }
    }
    CAPTURE(k, mounts, task.minimise_rms);
    REQUIRE((task.minimise_rms ? plan.rms_mm : plan.range_mm) == Approx(best).margin(2e-6));
    REQUIRE(plan.moved == least_moved);
    if (!task.minimise_rms) REQUIRE(plan.range_mm >= least_range(task.z, task.influence) - 1e-9);
  }
}

TEST_CASE("of two choices equally good and moving as many mounts, the one with fewer pieces wins, then the thinner",
          "[level][choose]") {
  // A point 0.5 low beside one that stays; what lies under the second mount raises it twice as much, like a lever of
  // twice the length. By hand, a + 2 b = 0.5 of a stock of 0.1 and 0.3 in stacks of two (0, 0.1, 0.2, 0.3, 0.4, 0.6):
  //   a 0.1, b 0.2 = 0.1 + 0.1   three pieces, 0.3 thick altogether, tried first
  //   a 0.3, b 0.1               two pieces, 0.4 thick
  // and no other: b 0 asks for a 0.5, which no stack gives, and b 0.3 is too much already.
  ShimTask task;
  task.z = {0, -0.5};
  task.influence = {{0, 1}, {0, 2}};
  task.now_mm = {0, 0};
  task.mounts = {{-50, 0}, {50, 0}};
  task.choices = stock_choices({0.1, 0.3}, 2, 1);
  const ShimPlan fewer = choose_shims(task);
  CHECK(fewer.shim_mm == std::vector<double>{0.3, 0.1});
  CHECK(fewer.moved == 2);
  CHECK(fewer.range_mm == Approx(0).margin(1e-12));

  // The lever at the first mount now, each thickness at hand as one piece: 2 a + b = 0.5 by a 0.1, b 0.3 (tried first)
  // or by a 0.2, b 0.1. Two pieces either way; the second is thinner.
  task.influence = {{0, 2}, {0, 1}};
  task.choices = stock_choices({0.1, 0.2, 0.3}, 1, 1);
  const ShimPlan thinner = choose_shims(task);
  CHECK(thinner.shim_mm == std::vector<double>{0.2, 0.1});
  CHECK(thinner.range_mm == Approx(0).margin(1e-12));
}

TEST_CASE("a 240 bed 0.45 low at its right edge gets three layers of 0.11 at each right mount", "[level]") {
  HeightMap map;
  map.at = grid(5, 5, 240, 240);
  for (Vec2 p : map.at) map.z.push_back(-0.45 * (p.x + 120) / 240);
  const LevelResult r = level_bed(input_for(map, 0.11));
  // 0.45 x 176 / 240 = 0.33, arithmetic for a rigid plate; shims raise the low side.
  CHECK(r.plan.shim_mm[0] == 0);
  CHECK(r.plan.shim_mm[2] == 0);
  CHECK(r.plan.shim_mm[1] == Approx(0.33));
  CHECK(r.plan.shim_mm[3] == Approx(0.33));
  CHECK(r.range_mm == Approx(0.45));
  CHECK(r.plan.range_mm == Approx(0).margin(1e-9));
  CHECK(r.best_range_mm == Approx(0).margin(1e-9));
  CHECK(r.gap.mm == Approx(0).margin(1e-9));
  CHECK(r.tilt.x == Approx(0.33 / 176));
}

TEST_CASE("a shim that is none of the choices may stay", "[level][choose]") {
  HeightMap map;
  map.at = grid(5, 5, 240, 240);
  for (Vec2 p : map.at) map.z.push_back(-0.4 / 176 * p.x);
  LevelInput input = input_for(map, 0.2);
  input.now_mm = {0.05, 0, 0.05, 0};
  const LevelResult r = level_bed(input);
  CHECK(r.plan.shim_mm[0] == 0.05);
  CHECK(r.plan.shim_mm[1] == Approx(0.4));
  CHECK(r.plan.shim_mm[2] == 0.05);
  CHECK(r.plan.moved == 2);
  CHECK(r.plan.range_mm == Approx(0).margin(1e-9));
}

TEST_CASE("noise is left alone", "[level]") {
  std::mt19937 random(3);
  std::normal_distribution<double> jitter(0, 0.01);
  BedMap map;
  map.source = "map";
  map.at = grid(5, 5, 200, 200);
  for (int r = 0; r < 3; ++r) {
    map.repeats.emplace_back();
    for (Vec2 p : map.at) map.repeats.back().push_back(0.00005 * p.x + jitter(random));
  }
  const LevelResult r = level_bed(input_for(in_machine_frame(map, {}), 0.02));
  CHECK(r.leave_it);
  CHECK(r.plan.shim_mm == std::vector<double>{0, 0, 0, 0});
  CHECK_FALSE(r.noise_assumed);
}

TEST_CASE("a bow is told from a tilt: no shim cures it", "[level]") {
  HeightMap map;
  map.at = grid(5, 5, 240, 240);
  for (Vec2 p : map.at) map.z.push_back(0.3 * (p.x / 120) * (p.x / 120));
  const LevelResult r = level_bed(input_for(map, 0.1));
  CHECK(r.split.bow_x.um == Approx(300));
  CHECK(r.best_range_mm == Approx(0.3));
  CHECK(r.leave_it);
}

TEST_CASE("the next map lies in the band, and the loop learns a weak mount", "[level][loop]") {
  std::mt19937 random(11);
  std::normal_distribution<double> one(0, 1);
  int inside = 0, flatter = 0;
  constexpr int trials = 200;
  for (int k = 0; k < trials; ++k) {
    // A machine of its own: a plane through the mounts' heights by the corner rule 3/4, 1/4, 1/4, -1/4, written out.
    const double tilt_x = 0.4 * one(random), tilt_y = 0.4 * one(random), bow = 0.03 * one(random);
    const auto at = grid(5, 5, 200, 200);
    std::vector<double> strength(4);
    for (double& s : strength) s = 1 + 0.1 * one(random);
    const auto read = [&](const std::vector<double>& shims) {
      BedMap map;
      map.source = "map";
      map.at = at;
      for (int r = 0; r < 3; ++r) {
        map.repeats.emplace_back();
        for (Vec2 p : at) {
          double z = tilt_x * p.x / 240 + tilt_y * p.y / 240 + bow * p.x * p.x / 14400;
          for (std::size_t i = 0; i < 4; ++i) {
            const double u = p.x / 88 * (i % 2 ? 1 : -1), v = p.y / 88 * (i / 2 ? 1 : -1);
            z += shims[i] * strength[i] * (1 + u + v) / 4;
          }
          map.repeats.back().push_back(z + 0.008 * one(random));
        }
      }
      return in_machine_frame(map, {});
    };
    LevelInput input = input_for(read({0, 0, 0, 0}), 0.1);
    const LevelResult first = level_bed(input);
    std::vector<double> printed = first.plan.shim_mm;
    for (double& s : printed)
      if (s > 0) s += 0.015 * one(random);
    const HeightMap next = read(printed);
    Foretold foretold{input.map.at,       input.map.z,  first.plan.predicted, first.band_mm, first.noise_mm, 3,
                      first.plan.shim_mm, input.factor, input.factor_u};
    input.map = next;
    const LoopResult loop = compare_with_foretold(foretold, input);
    inside += loop.as_foretold;
    flatter += range_of(next.z) <= first.range_mm + 0.03;
    for (std::size_t i = 0; i < 4; ++i) CHECK(loop.factor_u[i] <= first_factor_u);
  }
  CHECK(inside >= trials * 0.97);
  CHECK(flatter == trials);

  // One mount at half strength against the others, hardly any noise: the loop finds it.
  LevelInput input = input_for({}, 0.1);
  input.map.at = grid(5, 5, 200, 200);
  input.map.repeats = 3;
  input.map.noise_mm = 0.001;
  const std::vector<double> changes = {0, 0.8, 0, 0.3};
  Foretold foretold{input.map.at,
                    std::vector<double>(25, 0),
                    {},
                    0.05,
                    0.001,
                    3,
                    changes,
                    {1, 1, 1, 1},
                    std::vector<double>(4, first_factor_u)};
  const auto influence = influence_of(input.model, four(176, 176), input.map.at);
  const double common = 1.1 / 4;
  for (std::size_t p = 0; p < 25; ++p) {
    double told = 0, done = common + 7;
    for (std::size_t i = 0; i < 4; ++i) {
      told += changes[i] * influence[i][p];
      done += (i == 1 ? 0.5 : 1) * (changes[i] - common) * influence[i][p];
    }
    foretold.predicted.push_back(told);
    input.map.z.push_back(done);
  }
  const LoopResult loop = compare_with_foretold(foretold, input);
  CHECK_FALSE(loop.as_foretold);
  // Two tilts cannot tell four mounts apart: the rest is shared by how much each moved.
  CHECK(loop.factor[1] < 0.75);
  CHECK(loop.factor_u[1] >= printed_shim_u_mm / (0.8 - common));
  // What was learned foretells the same change.
  input.factor = loop.factor;
  ShimTask task;
  task.z = foretold.before;
  task.now_mm.assign(4, 0);
  task.influence = scaled_influence(input, input.model);
  const std::vector<double> again = predicted_map(task, changes);
  for (std::size_t p = 0; p < 25; ++p) CHECK(again[p] - again[0] == Approx(input.map.z[p] - input.map.z[0]).margin(0.002));
  // A lift common to all mounts tilts nothing.
  const std::vector<double> lifted = predicted_map(task, {0.6, 0.6, 0.6, 0.6});
  for (double z : lifted) CHECK(z == Approx(0.6).margin(1e-12));
  input.map.at.pop_back();
  CHECK_THROWS_AS(compare_with_foretold(foretold, input), BadInput);
}

TEST_CASE("soft foot: which, how much, parallel or tapered", "[level][soft_foot]") {
  const std::vector<std::string> mounts = {"front-left", "front-right", "rear-left", "rear-right"};
  const auto gaps = read_soft_foot(
      "mount; front; rear; left; right\n# feelers, warm\nfront-left; 0,04; 0,04; 0,04; 0,04\n"
      "front-right; 0,20; 0,20; 0,10; 0,30\nrear-left; 0,12\nrear-left; 0,14\n",
      "feet.csv", mounts);
  const auto advice = judge_soft_foot(gaps, 20);
  REQUIRE(advice.size() == 3);
  CHECK(advice[0].mount == "front-right");
  CHECK(advice[0].gap_mm == Approx(0.2));
  CHECK(advice[0].tapered);
  CHECK(advice[0].taper_um_per_mm == Approx(10));  // 0.2 over 20
  CHECK(advice[0].taper_toward_deg == Approx(0).margin(1e-9));
  CHECK(advice[1].mount == "rear-left");
  CHECK(advice[1].gap_mm == Approx(0.13));
  CHECK(advice[1].soft);
  CHECK_FALSE(advice[1].tapered);
  CHECK_FALSE(advice[2].soft);  // 0.04: the 0.05 mm rule
  CHECK_THROWS_AS(read_soft_foot("middle, 0.1\n", "feet.csv", mounts), BadInput);
  CHECK_THROWS_AS(read_soft_foot("front-left, 0.1, 0.2\n", "feet.csv", mounts), BadInput);
  CHECK_THROWS_AS(read_soft_foot("front-left, x\n", "feet.csv", mounts), BadInput);
  CHECK_THROWS_AS(read_soft_foot("front-left, 25\n", "feet.csv", mounts), BadInput);
}

TEST_CASE("a search that would take too long is refused with what makes it shorter", "[level]") {
  // 100,000 points at every step of the search: the limit of 200 million is met at once.
  ShimTask task;
  std::mt19937 random(3);
  std::uniform_real_distribution<double> noise(-0.5, 0.5);
  const auto at = grid(400, 250, 200, 200);
  for (std::size_t i = 0; i < at.size(); ++i) task.z.push_back(noise(random));
  task.mounts = four(176, 176);
  task.influence = influence_of(BedOnMounts(), task.mounts, at);
  task.now_mm.assign(4, 0);
  task.choices = printed_choices(0.02, 0.02, 0, 2);
  task.minimise_rms = true;
  CHECK_THROWS_WITH(choose_shims(task), Catch::Contains("too many combinations of shims for an exact answer: 4 mounts with 101 thicknesses each; lower --most-shim"));
}
