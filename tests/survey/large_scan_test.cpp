// A scan gone through without being kept, against the same file read into memory: the same points, and so the same
// answer.
#include "survey/large_scan.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <limits>

#include "base/error.h"
#include "survey/random.h"
#include "survey/read_points.h"
#include "survey/survey.h"

using namespace bedwright;

namespace {

struct Form {
  bool big = false, doubles = false, colour = false;
};

constexpr std::size_t vertices = 700'001;  // more than two pieces, and an odd one over

/// A domed frame, a flange beside it, one vertex in a hundred without coordinates.
std::string ply(const Form& form) {
  std::string bytes = std::string("ply\nformat binary_") + (form.big ? "big" : "little") +
                      "_endian 1.0\nelement vertex " + std::to_string(vertices) + "\n";
  const std::string type = form.doubles ? "double" : "float";
  if (form.colour) bytes += "property uchar red\n";
  bytes += "property " + type + " x\nproperty " + type + " y\nproperty " + type + " z\nend_header\n";
  const auto put = [&](double v) {
    char raw[8];
    const std::size_t size = form.doubles ? 8 : 4;
    const auto f = static_cast<float>(v);
    form.doubles ? std::memcpy(raw, &v, 8) : std::memcpy(raw, &f, 4);  // this machine's order is little
    if (form.big) std::reverse(raw, raw + size);
    bytes.append(raw, size);
  };
  Dice dice(3);
  for (std::size_t i = 0; i < vertices; ++i) {
    const double x = dice.between(-140, 140), y = dice.between(-110, 110);
    double z = std::sqrt(2600.0 * 2600.0 - x * x - y * y) - 2600 + 0.03 * dice.normal();
    if (std::fabs(x) > 124) z -= 6;
    if (form.colour) bytes += static_cast<char>(i);
    put(x);
    put(i % 100 == 99 ? std::numeric_limits<double>::quiet_NaN() : y);
    put(z);
  }
  return bytes;
}

class File {
 public:
  explicit File(const std::string& bytes)
      : path((std::filesystem::temp_directory_path() / ("bedwright-large-scan-" + std::to_string(getpid()) + ".ply"))
                 .string()) {
    std::ofstream(path, std::ios::binary) << bytes;
  }
  ~File() { std::filesystem::remove(path); }
  std::string path;
};

void backwards(const std::vector<Task>& tasks) {
  for (std::size_t i = tasks.size(); i > 0; --i) tasks[i - 1]();
}

std::vector<Vec3> points_of(const Cloud& cloud) {
  std::vector<Vec3> points;
  for (std::size_t k = 0; k < cloud.pieces; ++k)
    cloud.give(k, [&](const Vec3* p, std::size_t n) { points.insert(points.end(), p, p + n); });
  return points;
}

}  // namespace

TEST_CASE("large scan: the points and the answer are those of a scan in memory", "[survey][scan]") {
  const Form forms[] = {{}, {true, false, true}, {false, true, true}, {true, true, false}};
  const std::vector<double> regions[] = {{}, {-124, -110, 124, 110}, {-100, -100, 110, -90, 0, 105}};
  for (const Form& form : forms) {
    const File file(ply(form));
    for (const std::vector<double>& numbers : regions) {
      CAPTURE(form.big, form.doubles, form.colour, numbers.size());
      std::optional<Region> region;
      if (!numbers.empty()) region = region_of(numbers);
      PointFile kept = read_scan(file.path);
      const std::size_t before = kept.points.size();
      if (region) crop(kept.points, *region);
      const std::optional<LargeScan> scan = look_through(file.path, region);
      REQUIRE(scan);
      CHECK(scan->in_file == before);
      CHECK(scan->skipped == vertices / 100);
      CHECK(scan->skipped == kept.skipped);
      CHECK(scan->count == kept.points.size());
      CHECK(points_of(cloud_of(*scan)) == kept.points);

      const Survey one = survey_points(kept.points, {}, "t"), other = survey_cloud(cloud_of(*scan), {}, "t");
      CHECK(other.shape == one.shape);
      CHECK(other.points == one.points);
      // Both settle on the least squares of the same points from two choices of them: as still as a pass may stand.
      CHECK(std::fabs(other.radius_mm - one.radius_mm) < 0.01 * one.radius_u_mm);
      CHECK(std::fabs(static_cast<double>(other.outliers) - static_cast<double>(one.outliers)) <=
            1e-5 * static_cast<double>(one.points));
    }
  }
}

TEST_CASE("large scan: whoever takes the pieces, in whatever order, the answer has the same bits", "[survey][scan]") {
  const File file(ply({}));
  const Region region = region_of({-124, -110, 124, 110});
  const std::optional<LargeScan> a = look_through(file.path, region),
                                 b = look_through(file.path, region, backwards);
  REQUIRE((a && b));
  CHECK(a->some == b->some);
  SurveyOptions turned;
  turned.at_once = backwards;
  const Survey one = survey_cloud(cloud_of(*a), {}, "t"), other = survey_cloud(cloud_of(*b), turned, "t");
  CHECK(one.radius_mm == other.radius_mm);
  CHECK(one.radius_u_mm == other.radius_u_mm);
  CHECK(one.max_residual_mm == other.max_residual_mm);
}

TEST_CASE("large scan: the choice is even", "[survey][scan]") {
  // A hundred strips along x hold a hundredth each, within four standard deviations of chance.
  const File file(ply({}));
  const std::optional<LargeScan> scan = look_through(file.path, {});
  REQUIRE(scan);
  std::vector<int> strips(100, 0);
  for (const Vec3& p : scan->some) ++strips[static_cast<std::size_t>((p.x + 140) / 2.8 * (1 - 1e-9))];
  const double each = static_cast<double>(scan->some.size()) / 100;
  CHECK(scan->some.size() > most_single_points);
  for (const int n : strips) CHECK(std::fabs(n - each) < 4 * std::sqrt(each));
}

TEST_CASE("large scan: what is better read into memory is left to that", "[survey][scan]") {
  const auto none = [](const std::string& bytes, const std::optional<Region>& region = {}) {
    const File file(bytes);
    return !look_through(file.path, region);
  };
  const std::string header = "element vertex 3\nproperty float x\nproperty float y\nproperty float z\nend_header\n";
  CHECK(none("ply\nformat binary_little_endian 1.0\n" + header + std::string(36, '\0')));
  CHECK(none("ply\nformat ascii 1.0\n" + header + "1 2 3\n4 5 6\n7 8 9\n"));
  CHECK(none("no scan"));
  CHECK(none(""));
  CHECK(none(ply({}), region_of({0, 0, 20, 20})));  // too few points in there for a choice among the file's
}

TEST_CASE("large scan: cut short, or changed while it is read", "[survey][scan]") {
  const std::string bytes = ply({});
  {
    const File file(bytes.substr(0, bytes.size() - 1));
    CHECK_THROWS_WITH(look_through(file.path, {}), Catch::Contains("ends in or before vertex 700001"));
  }
  const File file(bytes);
  const std::optional<LargeScan> scan = look_through(file.path, {});
  REQUIRE(scan);
  std::filesystem::resize_file(file.path, bytes.size() / 2);
  CHECK_THROWS_AS(survey_cloud(cloud_of(*scan), {}, "t"), FileError);
  std::filesystem::remove(file.path);
  CHECK_THROWS_AS(survey_cloud(cloud_of(*scan), {}, "t"), FileError);
}

TEST_CASE("large scan: more than ten million points are refused", "[survey][scan]") {
  const std::size_t count = most_scan_points + 1;
  const File file("ply\nformat binary_little_endian 1.0\nelement vertex " + std::to_string(count) +
                  "\nproperty char x\nproperty char y\nproperty char z\nend_header\n" + std::string(3 * count, '\x05'));
  CHECK_THROWS_WITH(look_through(file.path, {}), Catch::Contains("more than 10 million points"));
}
