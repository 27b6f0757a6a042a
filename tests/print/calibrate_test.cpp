// Coupon fits: offsets and scales put in come out, each apart from the others; what cannot be told apart is refused.
#include "print/calibrate.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>

#include "base/error.h"
#include "parts/support.h"
#include "parts/workshop_gauges.h"

using namespace bedwright;
using Kind = CouponSize::Kind;

namespace {

struct Truth {
  double hole = -0.13, outline = 0.07, first = -0.04, x = 0.002, y = -0.001, z = 0.004;
};

std::vector<CouponSize> sizes_with(const Compensation& compensation) {
  Kit kit = parts_test::demo_kit("bench-gauges");
  kit.printer.compensation = compensation;
  for (const PartRequest& request : kit.parts)
    if (request.family == "fit_coupon") return coupon_sizes(derive_fit_coupon(kit, Layout{}, request).front());
  return {};
}

/// What a caliper would find: written down here once more, feature by feature, not by the design matrix.
double found(const CouponSize& s, const Truth& t, double noise = 0) {
  const double along = s.axis == 'x' ? t.x : s.axis == 'y' ? t.y : (t.x + t.y) / 2;
  switch (s.kind) {
    case Kind::hole:
    case Kind::spacing_far:
      return s.modelled_mm * (1 + along) + t.hole + noise;
    case Kind::spacing_near:
      return s.modelled_mm * (1 + along) - t.hole + noise;
    case Kind::height:
      return s.modelled_mm * (1 + t.z) + t.first + noise;
    default:
      return s.modelled_mm * (1 + along) + t.outline + noise;
  }
}

std::vector<CouponReading> readings(const std::vector<CouponSize>& sizes, const Truth& t) {
  std::vector<CouponReading> out;
  for (const CouponSize& s : sizes) out.push_back({s, found(s, t), 0});
  return out;
}

std::vector<CouponReading> only(std::vector<CouponReading> all, const std::vector<Kind>& kinds) {
  all.erase(std::remove_if(all.begin(), all.end(), [&](const CouponReading& r) {
              return std::find(kinds.begin(), kinds.end(), r.size.kind) == kinds.end();
            }),
            all.end());
  return all;
}

}  // namespace

TEST_CASE("coupon sizes: what a caliper finds, by the features' own places", "[calibrate]") {
  const auto sizes = sizes_with({0.1, -0.2, 0.05});
  const auto size = [&](const std::string& feature, const std::string& quantity) {
    for (const CouponSize& s : sizes)
      if (s.feature == feature && s.quantity == quantity) return s;
    FAIL(feature << " " << quantity);
    return CouponSize{};
  };
  CHECK(sizes.size() == 2 + 1 + 4 + 4 + 10 + 8);
  // 80 mm between centres, holes of 4 mm.
  CHECK(size("spacing-1-2", "far walls").nominal_mm == Approx(84));
  CHECK(size("spacing-1-2", "near walls").nominal_mm == Approx(76));
  CHECK(size("spacing-1-2", "far walls").modelled_mm == Approx(84.1));
  CHECK(size("spacing-1-2", "near walls").modelled_mm == Approx(75.9));
  CHECK(size("spacing-2-4", "near walls").nominal_mm == Approx(42));
  CHECK(size("spacing-2-4", "near walls").axis == 'y');
  CHECK(size("hole-1", "diameter").modelled_mm == Approx(3.1));
  CHECK(size("outline", "length").modelled_mm == Approx(95.8));
  CHECK(size("boss-2", "diameter").modelled_mm == Approx(5.8));
  CHECK(size("outline", "thickness").modelled_mm == Approx(4.05));
  CHECK(size("boss-4", "over all").nominal_mm == Approx(12));
  // From the bed up the compensation counts once.
  CHECK(size("boss-4", "over all").modelled_mm == Approx(12.05));
  for (const CouponSize& s : sizes) CHECK_FALSE(s.how.empty());
}

TEST_CASE("calibrate: what is wrong comes out, each cause apart from the others", "[calibrate]") {
  const Truth t;
  for (const Compensation& printed : {Compensation{}, Compensation{0.1, -0.05, 0.02}}) {
    const Calibration c = calibrate(readings(sizes_with(printed), t), "table");
    // Without noise to the rounding of doubles over 100 mm.
    CHECK(c.hole_mm->value == Approx(-t.hole).margin(1e-10));
    CHECK(c.outline_mm->value == Approx(-t.outline).margin(1e-10));
    CHECK(c.height_mm->value == Approx(-t.first).margin(1e-10));
    CHECK(c.scale_x->value == Approx(t.x).margin(1e-12));
    CHECK(c.scale_y->value == Approx(t.y).margin(1e-12));
    CHECK(c.scale_z->value == Approx(t.z).margin(1e-11));
    CHECK(c.freedom_plan == 24 - 4);
    CHECK(c.freedom_height == 5 - 2);
  }
  // One cause alone moves one result alone.
  Truth only_spacing{0, 0, 0, 0.003, 0.003, 0};
  const Calibration s = calibrate(readings(sizes_with({}), only_spacing), "table");
  CHECK(std::fabs(s.hole_mm->value) < 1e-10);
  CHECK(std::fabs(s.outline_mm->value) < 1e-10);
  Truth only_first{0, 0, -0.1, 0, 0, 0};
  CHECK(std::fabs(calibrate(readings(sizes_with({}), only_first), "table").scale_z->value) < 1e-11);
}

TEST_CASE("calibrate: stated uncertainties hold what they promise", "[calibrate]") {
  // 400 coupons with even noise: 95 % intervals must hold the truth 95 times in a hundred (binomial, 4 sigma: 4.4 %).
  std::uint32_t state = 20260328;
  const auto noise = [&] {
    double sum = 0;
    for (int i = 0; i < 12; ++i) {
      state = state * 1664525u + 1013904223u;
      sum += (state >> 8) / 16777216.0;
    }
    return 0.02 * (sum - 6);
  };
  const auto sizes = sizes_with({});
  const Truth t;
  int held[2] = {0, 0};
  constexpr int coupons = 400;
  for (int k = 0; k < coupons; ++k) {
    std::vector<CouponReading> all;
    for (const CouponSize& s : sizes) all.push_back({s, found(s, t, noise()), 0});
    const Calibration c = calibrate(all, "table");
    // Student's t for 20 and 3 degrees of freedom, two-sided 95 %: 2.086, 3.182 (any printed table).
    held[0] += std::fabs(c.hole_mm->value + t.hole) <= 2.086 * c.hole_mm->u;
    held[1] += std::fabs(c.height_mm->value + t.first) <= 3.182 * c.height_mm->u;
  }
  for (const int n : held) CHECK(std::fabs(n / double(coupons) - 0.95) < 0.044);
}

TEST_CASE("calibrate: what was not measured is left open, what cannot be told apart is refused", "[calibrate]") {
  const auto all = readings(sizes_with({}), {});
  const Calibration holes = calibrate(only(all, {Kind::hole}), "table");
  CHECK(holes.hole_mm);
  CHECK_FALSE(holes.outline_mm);
  CHECK_FALSE(holes.height_mm);
  CHECK_FALSE(holes.scale_x);
  // Spacing needs near and far walls, or holes' diameters beside them.
  CHECK(calibrate(only(all, {Kind::spacing_far, Kind::spacing_near}), "table").hole_mm->value == Approx(0.13));
  CHECK(calibrate(only(all, {Kind::spacing_far, Kind::hole}), "table").scale_x->value == Approx(0.002));
  const auto refused = [&](std::vector<CouponReading> r) { CHECK_THROWS_AS(calibrate(r, "table"), BadInput); };
  refused(only(all, {Kind::outline}));
  std::vector<CouponReading> far_only = only(all, {Kind::spacing_far});
  far_only.resize(2);
  refused(far_only);
  // One height is the first layer's; two tell proportion.
  std::vector<CouponReading> heights = only(all, {Kind::height});
  heights.resize(1);
  CHECK_FALSE(calibrate(heights, "table").scale_z);
  CHECK(calibrate(only(all, {Kind::height}), "table").scale_z->value == Approx(0.004));
}

TEST_CASE("calibrate: a reading that the others contradict is named, and no other", "[calibrate]") {
  std::uint32_t state = 5;
  const auto noise = [&] {
    state = state * 1664525u + 1013904223u;
    return 0.02 * ((state >> 8) / 16777216.0 - 0.5);
  };
  std::vector<CouponReading> all;
  for (const CouponSize& s : sizes_with({})) all.push_back({s, found(s, {}, noise()), 0});
  for (const CheckedReading& r : calibrate(all, "table").readings) CHECK_FALSE(r.doubtful);
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (all[i].size.kind == Kind::height) continue;
    auto wrong = all;
    wrong[i].found_mm += 0.3;
    const Calibration c = calibrate(wrong, "table");
    for (std::size_t k = 0; k < wrong.size(); ++k) {
      CAPTURE(i, k);
      CHECK(c.readings[k].doubtful == (k == i));
    }
  }
}

TEST_CASE("calibrate: a coupon said to be printed with what it was printed without", "[calibrate]") {
  // Printed bare: holes 0.12 small. Said to be printed with 0.12, they look 0.24 small.
  Truth t{-0.12, 0.06, 0, 0, 0, 0};
  std::vector<CouponReading> said;
  for (const CouponSize& s : sizes_with({0.12, 0, 0})) {
    CouponSize bare = s;
    bare.modelled_mm = s.nominal_mm;
    said.push_back({s, found(bare, t), 0});
  }
  const Calibration c = calibrate(said, "table");
  CHECK(would_correct_twice(0.12, c.hole_mm));
  CHECK_FALSE(would_correct_twice(0, c.outline_mm));
  // Printed with it, the same printer asks for the same again.
  const Calibration right = calibrate(readings(sizes_with({0.12, 0, 0}), t), "table");
  CHECK(right.hole_mm->value == Approx(0.12));
  CHECK_FALSE(would_correct_twice(0.12, right.hole_mm));
}
