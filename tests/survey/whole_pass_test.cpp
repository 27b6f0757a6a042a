// Millions of points are looked at once; here against the slow way: every point judged, again and again.
#include "survey/whole_pass.h"

#include <catch2/catch.hpp>

#include "survey/gather.h"
#include "survey/random.h"
#include "survey/survey.h"

using namespace bedwright;

namespace {

struct Scene {
  double radius = 2600, noise = 0.03, stray_share = 0.15, lean_x = 0;
  std::size_t count = 300001;  // more than one piece, and an odd one over
};

std::vector<Vec3> scanned(const Scene& scene, std::uint64_t seed) {
  Dice dice(seed);
  std::vector<Vec3> points;
  const double r = std::fabs(scene.radius), sign = scene.radius > 0 ? 1 : -1;
  for (std::size_t i = 0; i < scene.count; ++i) {
    const double x = dice.between(-124, 124), y = dice.between(-110, 110);
    double z = sign * (std::sqrt(r * r - x * x - y * y) - r) + scene.lean_x * x + scene.noise * dice.normal();
    if (dice.even() < scene.stray_share) z += dice.between(0, 20);
    points.push_back({x, y, z});
  }
  return points;
}

Estimate near_truth(const Scene& scene) {
  Estimate e;
  e.sphere.shape = FitShape::sphere;
  e.sphere.origin = {3, -2, -1};
  e.sphere.reach = 70;
  e.sphere.offset = 1.01;
  e.sphere.lean_x = -scene.lean_x + 0.001;
  e.sphere.lean_y = -0.0007;
  e.sphere.curvature = 1 / scene.radius;
  e.left = {0.004, -0.003, 0.002, 0.005, -0.001, 0.003};
  e.sigma = scene.noise;
  return e;
}

bool close(double a, double b, double size) {
  return std::fabs(a - b) <= 1e-11 * size;
}

}  // namespace

TEST_CASE("whole pass: its sums, cells and doubtful points are those of the slow way", "[survey]") {
  const Grid grid({-120, -105, 0}, {122, 110, 0});  // narrower than the points: some lie outside
  for (const Scene& scene :
       {Scene{}, Scene{-700, 0.02, 0.3, 0.1}, Scene{1e7, 0.05, 0, 0, 262145}, Scene{900, 0.1, 0.5, 0, 7}}) {
    const std::vector<Vec3> points = scanned(scene, 21);
    const Estimate e = near_truth(scene);
    const double sure = 2.75 * e.sigma, possible = 3.25 * e.sigma;
    const WholePass pass = look_over(cloud_of(points), e, sure, possible, grid);
    const PassSums slow = pass_over(points, e, sure);
    REQUIRE(pass.sure.kept == slow.kept);
    const double n = static_cast<double>(slow.kept);
    for (int a = 0; a < 4; ++a) {
      for (int b = 0; b < 4; ++b)
        CHECK(close(pass.sure.normal(a, b), slow.normal(a, b), std::sqrt(slow.normal(a, a) * slow.normal(b, b))));
      CHECK(close(pass.sure.rhs(a), slow.rhs(a), std::sqrt(slow.normal(a, a) * slow.squares)));
    }
    for (int a = 0; a < 6; ++a) {
      for (int b = 0; b < 6; ++b)
        CHECK(
            close(pass.sure.terms(a, b), slow.terms(a, b), std::sqrt(slow.terms(a, a) * slow.terms(b, b)) + 1e-9 * n));
      CHECK(close(pass.sure.terms_rhs(a), slow.terms_rhs(a), std::sqrt(slow.terms(a, a) * slow.squares)));
    }
    CHECK(close(pass.sure.squares, slow.squares, slow.squares));
    CHECK(pass.sure.low == slow.low);
    CHECK(pass.sure.high == slow.high);

    std::vector<Vec3> doubtful;
    std::vector<Cell> cells(cells_across * cells_across);
    for (const Vec3& p : points) {
      const double off = std::fabs(above(e, p));
      if (off > sure && off <= possible) doubtful.push_back(p);
      if (!(off <= sure)) continue;
      const double column = std::floor((p.x + 120) / 242 * 64), row = std::floor((p.y + 105) / 215 * 64);
      Cell& cell = cells[static_cast<std::size_t>(std::min(std::max(row, 0.0), 63.0)) * 64 +
                         static_cast<std::size_t>(std::min(std::max(column, 0.0), 63.0))];
      cell = {cell.n + 1, cell.x + p.x, cell.y + p.y, cell.d + distance_from(e.sphere, p)};
    }
    CHECK(pass.doubtful == doubtful);
    int wrong = 0;
    for (std::size_t c = 0; c < cells.size(); ++c)
      wrong += pass.cells[c].n != cells[c].n || std::fabs(pass.cells[c].x - cells[c].x) > 1e-6 ||
               std::fabs(pass.cells[c].y - cells[c].y) > 1e-6 || std::fabs(pass.cells[c].d - cells[c].d) > 1e-9;
    CHECK(wrong == 0);
  }
}

TEST_CASE("whole pass: whoever takes which piece, the sums are the same to the bit", "[survey]") {
  const Scene scene{2600, 0.03, 0.15, 0, 1100000};
  const std::vector<Vec3> points = scanned(scene, 22);
  const AtOnce backwards = [](const std::vector<Task>& tasks) {
    for (std::size_t k = tasks.size(); k-- > 0;) tasks[k]();
  };
  const Estimate e = near_truth(scene);
  const WholePass one = look_over(cloud_of(points), e, 0.08, 0.1, {{-124, -110, 0}, {124, 110, 0}}, one_by_one);
  const WholePass other = look_over(cloud_of(points), e, 0.08, 0.1, {{-124, -110, 0}, {124, 110, 0}}, backwards);
  CHECK(one.sure.normal == other.sure.normal);
  CHECK(one.sure.rhs == other.sure.rhs);
  CHECK(one.sure.terms == other.sure.terms);
  CHECK(one.doubtful == other.doubtful);
  CHECK(one.sure.squares == other.sure.squares);
}

TEST_CASE("survey: of many points the answer is that of passes over all of them until nothing moves", "[survey]") {
  for (const Scene& scene :
       {Scene{}, Scene{700, 0.02, 0.3, 0.05}, Scene{-2000, 0.05, 0, 0}, Scene{2600, 0.03, 0.15, 0, 20011}}) {
    const std::vector<Vec3> points = scanned(scene, 23);
    const Gathered g = gather(cloud_of(points), "t");
    Estimate slow = g.estimate;
    PassSums sums;
    for (int pass = 0; pass < 100; ++pass) {
      sums = pass_over(points, slow, g.cut_sigmas * slow.sigma);
      double step = 0;
      REQUIRE(improve(slow, sums, g.columns, g.cut_sigmas, 0, step));
      if (step < 1e-13) break;
    }
    // A point that lies on the cut, at three standard deviations, may fall on either side: nine of a square each.
    const double kept_by_slow = static_cast<double>(sums.kept), few = 3 * 9 / kept_by_slow;
    CHECK(std::fabs(static_cast<double>(g.kept) - kept_by_slow) <= 3);
    const double variance = sums.squares / static_cast<double>(sums.kept);
    const auto u = [&](std::size_t i) { return std::sqrt(variance * g.sphere.cofactor[5 * i]); };
    // A hundredth of what the noise leaves open.
    CHECK(std::fabs(g.sphere.model.offset - slow.sphere.offset) < 0.01 * u(0));
    CHECK(std::fabs(g.sphere.model.lean_x - slow.sphere.lean_x) < 0.01 * u(1));
    CHECK(std::fabs(g.sphere.model.lean_y - slow.sphere.lean_y) < 0.01 * u(2));
    CHECK(std::fabs(g.sphere.model.curvature - slow.sphere.curvature) < 0.01 * u(3));
    CHECK(g.estimate.sigma == Approx(slow.sigma).epsilon(few));
    CHECK(g.sphere.residual_sum == Approx(sums.squares).epsilon(few));
    const Eigen::Matrix4d cofactor = sums.normal.inverse();
    for (std::size_t i = 0; i < 4; ++i)
      CHECK(g.sphere.cofactor[5 * i] ==
            Approx(cofactor(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(i))).epsilon(few));

    // The largest residual, and the squares over the cells, by every point.
    const Survey s = survey_points(points, {}, "t");
    double most = 0, squares = 0;
    std::size_t kept = 0;
    for (const Vec3& p : points) {
      if (!(std::fabs(above(g.estimate, p)) <= g.cut_mm)) continue;
      ++kept;
      const double d = distance_from(s.model, p);
      most = std::max(most, std::fabs(d));
      squares += d * d;
    }
    CHECK(s.max_residual_mm == most);
    CHECK(g.kept == kept);
    if (s.shape == FitShape::sphere) CHECK(g.sphere.residual_sum == Approx(squares).epsilon(1e-9));
    double over_cells = g.inner_squares;
    for (std::size_t i = 0; i < g.samples.size(); ++i)
      over_cells += g.samples[i].weight * g.sphere_off[i] * g.sphere_off[i];
    CHECK(over_cells == Approx(g.sphere.residual_sum).epsilon(1e-12));
  }
}

TEST_CASE("whole pass: by chance a clean sphere seems to gain from a saddle as often as it should", "[survey]") {
  // The probabilities that a survey tells are even between 0 and 1 then: mean 1/2, variance 1/12.
  constexpr int scans = 24;
  double sum = 0;
  int n = 0, rare = 0;
  for (int k = 0; k < scans; ++k) {
    Scene scene;
    scene.count = 40001;
    scene.stray_share = k % 2 ? 0.15 : 0;
    const Survey s = survey_points(scanned(scene, 1000 + static_cast<std::uint64_t>(k)), {}, "t");
    CHECK(s.shape == FitShape::sphere);
    for (const ShapeTrial& trial : s.trials) {
      if (trial.shape == FitShape::sphere) continue;
      sum += trial.p;
      rare += trial.p < 0.02;
      ++n;
    }
  }
  REQUIRE(n >= 2 * scans);
  // The trials of one scan hang together, so as if there were one a scan; four standard deviations.
  CHECK(std::fabs(sum / n - 0.5) < 4 * std::sqrt(1.0 / 12 / scans));
  CHECK(rare <= 5);
}

TEST_CASE("whole pass: a saddle that is there is no chance", "[survey]") {
  Scene scene;
  scene.count = 40001;
  std::vector<Vec3> points = scanned(scene, 7);
  for (Vec3& p : points) p.z += 0.15 * (p.x * p.x - p.y * p.y) / (110 * 110);
  const Survey s = survey_points(points, {}, "t");
  CHECK(s.shape != FitShape::sphere);
  bool told = false;
  for (const ShapeTrial& trial : s.trials) told = told || (trial.shape != FitShape::sphere && trial.p < 1e-6);
  CHECK(told);
}
