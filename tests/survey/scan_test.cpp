// Scans and tables: formats written here byte by byte, and what a damaged or hostile file gets to hear.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstring>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "survey/hole.h"
#include "survey/plausible.h"
#include "survey/random.h"
#include "survey/read_points.h"
#include "survey/region.h"
#include "survey/scale.h"
#include "survey/survey.h"

using namespace bedwright;

namespace {

class Folder {
 public:
  Folder() : path(std::filesystem::temp_directory_path() / ("bedwright-scan-test-" + std::to_string(getpid()))) {
    std::filesystem::create_directories(path);
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string put(const std::string& name, const std::string& bytes) const {
    std::ofstream(path / name, std::ios::binary) << bytes;
    return (path / name).string();
  }
  std::filesystem::path path;
};

template <typename T>
void add(std::string& bytes, T value, bool big) {
  char raw[sizeof(T)];
  std::memcpy(raw, &value, sizeof(T));  // this machine's order is little
  if (big) std::reverse(raw, raw + sizeof(T));
  bytes.append(raw, sizeof(T));
}

const std::vector<Vec3> corners = {{-1.5, 2, 0.25}, {3, 4.5, -6}, {7, -8, 9.125}};

std::string ply_header(const std::string& format, const std::string& count, const std::string& type = "float") {
  return "ply\nformat " + format + " 1.0\ncomment made for a test\nelement vertex " + count + "\nproperty " + type +
         " x\nproperty uchar red\nproperty " + type + " y\nproperty " + type + " z\nelement face 1\n" +
         "property list uchar int vertex_indices\nend_header\n";
}

template <typename T>
std::string binary_ply(bool big) {
  std::string bytes =
      ply_header(big ? "binary_big_endian" : "binary_little_endian", "3", sizeof(T) == 4 ? "float" : "double");
  for (Vec3 p : corners) {
    add(bytes, static_cast<T>(p.x), big);
    bytes += '\x7f';
    add(bytes, static_cast<T>(p.y), big);
    add(bytes, static_cast<T>(p.z), big);
  }
  bytes += '\x03';
  for (int i = 0; i < 3; ++i) add(bytes, std::int32_t{i}, big);
  return bytes;
}

std::string message_of(const std::string& path) {
  try {
    read_scan(path);
  } catch (const Error& e) {
    return e.what();
  }
  return "accepted";
}

void same_points(const std::vector<Vec3>& found) {
  REQUIRE(found.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) CHECK(found[i] == corners[i]);
}

}  // namespace

TEST_CASE("scan: PLY in both binary orders and as text", "[survey][scan]") {
  const Folder folder;
  same_points(read_scan(folder.put("little.ply", binary_ply<float>(false))).points);
  same_points(read_scan(folder.put("big.ply", binary_ply<float>(true))).points);
  same_points(read_scan(folder.put("little64.ply", binary_ply<double>(false))).points);
  same_points(read_scan(folder.put("big64.ply", binary_ply<double>(true))).points);
  // The name does not matter, nor CR LF in a text file.
  same_points(read_scan(folder.put("text.dat",
                                   ply_header("ascii", "3") + "-1.5 9 2 0.25\n3 9 4.5 -6\r\n7 9 -8 9.125\n3 0 1 2\n"))
                  .points);
  // A list before the coordinates, an element before the vertices.
  const std::string lists =
      "ply\nformat ascii 1.0\nelement camera 1\nproperty float f\nelement vertex 3\nproperty list uchar int "
      "n\nproperty float x\n"
      "property float y\nproperty float z\nend_header\n5\n2 1 1 -1.5 2 0.25\n0 3 4.5 -6\n1 4 7 -8 9.125\n";
  same_points(read_scan(folder.put("lists.ply", lists)).points);
  std::string binary =
      "ply\nformat binary_big_endian 1.0\nelement vertex 3\nproperty list uchar short n\nproperty double x\nproperty "
      "int16 q\n"
      "property double y\nproperty double z\nend_header\n";
  for (Vec3 p : corners) {
    binary += '\x02';
    add(binary, std::int16_t{5}, true);
    add(binary, std::int16_t{6}, true);
    add(binary, p.x, true);
    add(binary, std::int16_t{-7}, true);
    add(binary, p.y, true);
    add(binary, p.z, true);
  }
  same_points(read_scan(folder.put("lists-big.ply", binary)).points);
}

TEST_CASE("scan: OBJ and STL", "[survey][scan]") {
  const Folder folder;
  same_points(read_scan(folder.put("a.OBJ",
                                   "# scan\nmtllib x\nv -1.5 2 0.25 0.5 0.5 0.5\nvn 0 0 1\nv 3 4.5 -6\nvt 0 0\n  "
                                   "\nv\t7 -8 +9.125\nf 1 2 3\n"))
                  .points);
  std::string stl(80, ' ');
  add(stl, std::uint32_t{2}, false);
  for (int facet = 0; facet < 2; ++facet) {
    for (int i = 0; i < 3; ++i) add(stl, 0.0f, false);
    for (Vec3 p : corners)
      for (double c : {p.x, p.y, p.z}) add(stl, static_cast<float>(c), false);
    stl += std::string(2, '\0');
  }
  // Two facets share their corners: three points, sorted.
  CHECK(read_scan(folder.put("a.stl", stl)).points.size() == 3);
  const std::string text =
      "solid s\nfacet normal 0 0 1\n outer loop\n vertex -1.5 2 0.25\n vertex 3 4.5 -6\n vertex 7 -8 9.125\n "
      "endloop\nendfacet\nendsolid s\n";
  same_points(read_scan(folder.put("t.stl", text)).points);
}

TEST_CASE("scan: points a scanner did not see are skipped and counted", "[survey][scan]") {
  const Folder folder;
  const PointFile file = read_scan(folder.put("n.obj", "v 1 2 3\nv nan nan nan\nv 4 5 6\n"));
  CHECK(file.points.size() == 2);
  CHECK(file.skipped == 1);
}

TEST_CASE("scan: damaged and hostile files", "[survey][scan]") {
  const Folder folder;
  const auto says = [&](const std::string& name, const std::string& bytes, const std::string& words) {
    CAPTURE(name);
    CHECK_THAT(message_of(folder.put(name, bytes)), Catch::Contains(words));
  };
  const std::string good = binary_ply<float>(false);
  // Cut after every byte: read, or refused in words; never a crash.
  for (std::size_t n = 0; n < good.size(); ++n) {
    const std::string said = message_of(folder.put("cut.ply", good.substr(0, n)));
    CHECK(said != "");
    if (n < good.size() - 13) CHECK(said != "accepted");
  }
  says("claims.ply", ply_header("binary_little_endian", "4000000000") + "abc", "claims 4000000000 vertices");
  says("huge.ply", ply_header("binary_big_endian", "99999999999999999999"), "count");
  says("text.ply", ply_header("ascii", "4000000000") + "1 2 3 4\n", "the file ends here");
  says("none.ply", ply_header("ascii", "3") + "1 2 3\n", "too few numbers");
  says("word.ply", ply_header("ascii", "3") + "1 2 x 4\n", "\"x\" is not a number");
  says("format.ply", "ply\nformat middle_endian 1.0\nend_header\n", "middle_endian");
  says("open.ply", "ply\nformat ascii 1.0\n", "header does not end");
  says("flat.ply", "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nend_header\n1 2\n",
       "no x, y and z");
  says("faces.ply", "ply\nformat ascii 1.0\nelement face 0\nproperty float x\nend_header\n", "no vertices");
  says("type.ply", "ply\nformat ascii 1.0\nelement vertex 1\nproperty quad x\nend_header\n", "unknown kind");
  std::string list =
      "ply\nformat binary_little_endian 1.0\nelement a 1\nproperty list uint int n\nelement vertex 1\nproperty float "
      "x\n"
      "property float y\nproperty float z\nend_header\n";
  says("list.ply", list + "\xff\xff\xff\x7f", "longer than the file");
  says("a.obj", "v 1 2\n", "line 1");
  says("b.obj", "# nothing\n", "no vertices");
  says("c.obj", "v 1,5 2 3\n", "decimal commas");
  says("d.obj", std::string("v 1 2 3\n\0\0\0", 11), "not a text file");
  says("a.stl", "solid s\nfacet\nvertex 1 2 3\n", "ends before");
  says("b.stl", std::string(84, '\1'), "claims");
  says("c.stl", "hello", "too short");
  says("a.ply", "plyx", "does not begin");
  says("a.csv", "x,y,z\n1,2,3\n", "--points");
  says("a.bin", "whatever", "no scan");
  says("empty.ply", "", "empty");
  CHECK_THROWS_AS(read_scan((folder.path / "absent.ply").string()), FileError);
  CHECK_THROWS_AS(read_scan(folder.path.string()), FileError);
  says("long.obj", "v " + std::string(3 << 20, '1'), "longer than 1 MiB");
}

TEST_CASE("scan: a file that lies about its size takes no memory", "[survey][scan]") {
  const Folder folder;
  // A sparse file over the limit: refused by its size alone.
  const std::string path = folder.put("big.ply", "ply\n");
  std::filesystem::resize_file(path, (std::uintmax_t{2} << 30) + 1);
  CHECK_THAT(message_of(path), Catch::Contains("2 GiB"));
}

TEST_CASE("table: heights as people keep them", "[survey]") {
  same_points(points_of_table("\xEF\xBB\xBFx_mm,y_mm,z_mm\r\n-1.5,2,0.25\r\n3,4.5,-6\r\n7,-8,9.125\r\n", "t").points);
  same_points(points_of_table("# bench\n-1,5;2;0,25\n3;4,5;-6\n\n7;-8;9,125\n", "t").points);
  same_points(points_of_table("z,x,y\n0.25,-1.5,2\n-6,3,4.5\n9.125,7,-8\n", "t").points);
  same_points(points_of_table("n x y z\n1 -1.5 2 0.25\n2 3 4.5 -6\n3 7 -8 9.125\n", "t").points);
  CHECK(points_of_table("x_in,y_in,z_in\n1,2,3\n", "t").unit == "in");
  CHECK(points_of_table("x,y,z\n1,2,3\n", "t").unit.empty());
  const auto says = [](const std::string& text) {
    try {
      points_of_table(text, "heights.csv");
    } catch (const BadInput& e) {
      return std::string(e.what());
    }
    return std::string("accepted");
  };
  CHECK_THAT(says("x,y,z\n1,2,3\n4,oops,6\n"), Catch::Contains("line 3"));
  CHECK_THAT(says("x,y,z\n1,2\n"), Catch::Contains("line 2"));
  CHECK_THAT(says("x_mm,y_in,z_mm\n1,2,3\n"), Catch::Contains("different units"));
  CHECK_THAT(says("x,y,x\n1,2,3\n"), Catch::Contains("two columns"));
  CHECK_THAT(says("x,z,height\n1,2,3\n"), Catch::Contains("some of x, y and z"));
  CHECK(says("") != "accepted");
}

TEST_CASE("region: box and polygon", "[survey]") {
  const Region box = region_of({10, -5, -10, 5});
  CHECK(holds(box, 0, 0));
  CHECK_FALSE(holds(box, 11, 0));
  CHECK_FALSE(holds(box, 0, 6));
  const Region l = region_of({0, 0, 10, 0, 10, 4, 4, 4, 4, 10, 0, 10});  // an L
  CHECK(holds(l, 2, 8));
  CHECK(holds(l, 8, 2));
  CHECK_FALSE(holds(l, 8, 8));
  std::vector<Vec3> points = {{2, 8, 1}, {8, 8, 2}, {8, 2, 3}};
  crop(points, l);
  REQUIRE(points.size() == 2);
  CHECK(points[1].z == 3);
  CHECK_THROWS_AS(region_of({1, 2, 3}), BadUsage);
  CHECK_THROWS_AS(region_of({1, 2, 1, 5}), BadUsage);
  CHECK_THROWS_AS(region_of({0, 0, 1, 1, 2, 2}), BadUsage);
}

TEST_CASE("size: metres, feet and inches are noticed", "[survey]") {
  const auto says = [](double factor) {
    std::vector<Vec3> points;
    for (int i = 0; i < 7; ++i)
      for (int j = 0; j < 6; ++j) points.push_back({factor * (40.0 * i - 120), factor * (35.0 * j - 80), 0});
    try {
      require_plausible_size(points, Vec2{196, 150}, false, "t");
    } catch (const BadInput& e) {
      return std::string(e.what());
    }
    return std::string("accepted");
  };
  CHECK(says(1) == "accepted");
  CHECK_THAT(says(1 / 1000.0), Catch::Contains("metres") && Catch::Contains("--units m"));
  CHECK_THAT(says(1 / 304.8), Catch::Contains("feet"));
  CHECK_THAT(says(1 / 25.4), Catch::Contains("inches"));
  CHECK_THAT(says(1 / 10.0), Catch::Contains("centimetres"));
  CHECK_THAT(says(1000), Catch::Contains("micrometres"));
}

TEST_CASE("scale: known lengths undo a scale and a skew exactly", "[survey]") {
  // A scan that is 1 % small along x, 0.4 % large along y, and out of square by 0.2 degrees.
  const auto spoiled = [](Vec3 p) { return Vec3{p.x / 1.01 - 0.0035 * p.y, p.y * 1.004, p.z}; };
  const auto known = [&](Vec3 a, Vec3 b) { return KnownLength{spoiled(a), spoiled(b), length(b - a)}; };
  const std::vector<KnownLength> three = {known({-100, 0, 0}, {100, 0, 0}), known({0, -80, 0}, {0, 90, 0}),
                                          known({-90, -70, 0}, {90, 70, 0})};
  const ScaleFix fix = scale_from(three, 0.05);
  CHECK(fix.skew_known);
  for (Vec3 p : {Vec3{50, 20, 0}, Vec3{-30, 70, 0}})
    CHECK(length(apply(fix, spoiled(p))) == Approx(length(p)).epsilon(1e-9));
  CHECK(fix.worst_mm < 1e-9);
  CHECK(fix.x == Approx(1.01).epsilon(1e-9));
  // Two at right angles: x and y apart, no skew.
  const ScaleFix two = scale_from({{{-100, 0, 0}, {100, 0, 0}, 202}, {{0, -80, 0}, {0, 80, 0}, 159}}, 0.05);
  CHECK(two.both_axes);
  CHECK_FALSE(two.skew_known);
  CHECK(two.x == Approx(1.01));
  CHECK(two.y == Approx(0.99375));
  CHECK(two.x_u == Approx(0.05 / 200).epsilon(0.01));
  // One: the same for all.
  const ScaleFix one = scale_from({{{-100, 0, 0}, {100, 0, 0}, 202}}, 0.05);
  CHECK(one.y == Approx(1.01));
  CHECK(one.z == Approx(1.01));
  CHECK_FALSE(one.both_axes);
  CHECK_FALSE(scale_from({{{-100, 0, 0}, {100, 0, 0}, 202}, {{-80, 3, 0}, {80, 3, 0}, 161.6}}, 0.05).both_axes);
  CHECK(scale_from({}, 0.05).x == 1);
  const auto says = [](const KnownLength& k) {
    try {
      scale_from({k}, 0.05);
    } catch (const BadInput& e) {
      return std::string(e.what());
    }
    return std::string("accepted");
  };
  CHECK_THAT(says({{0, 0, 0}, {8, 0, 0}, 203.2}), Catch::Contains("inches"));
  CHECK_THAT(says({{0, 0, 0}, {0.2, 0, 0}, 200}), Catch::Contains("metres"));
  CHECK_THAT(says({{0, 0, 0}, {100, 0, 0}, 130}), Catch::Contains("check the two points"));
  CHECK_THAT(says({{1, 1, 1}, {1, 1, 1}, 200}), Catch::Contains("the same"));
  CHECK_THAT(says({{0, 0, 0}, {100, 0, 0}, 0}), Catch::Contains("more than 0"));
}

TEST_CASE("scale: a scan 1 % off and a known length give the radius within its uncertainty", "[survey][monte-carlo]") {
  Dice dice(31);
  int held = 0;
  constexpr int scans = 200;
  for (int k = 0; k < scans; ++k) {
    const double R = 2600, factor = dice.even() < 0.5 ? 0.99 : 1.01;
    std::vector<Vec3> points;
    for (int i = 0; i < 400; ++i) {
      const double x = dice.between(-110, 110), y = dice.between(-90, 90);
      points.push_back(factor * Vec3{x, y, std::sqrt(R * R - x * x - y * y) - R + 0.02 * dice.normal()});
    }
    // The true distance is known to 0.05 mm.
    const ScaleFix fix =
        scale_from({{factor * Vec3{-98, 0, 0}, factor * Vec3{98, 0, 0}, 196 + 0.05 * dice.normal()}}, 0.05);
    for (Vec3& p : points) p = apply(fix, p);
    const Survey s = survey_points(points, {}, "t");
    const double u = std::sqrt(s.radius_u_mm * s.radius_u_mm + R * R * fix.x_u * fix.x_u);
    held += std::fabs(s.radius_mm - R) <= s.factor * u;
  }
  // 95 % of 200 with three standard deviations of the count either way.
  CHECK(held >= 180);
}

TEST_CASE("hole: its centre from a scan's rim", "[survey][scan]") {
  Dice dice(32);
  std::vector<Vec3> points;
  for (int i = 0; i < 100000; ++i) {
    const double x = dice.between(-20, 20), y = dice.between(-20, 20);
    const double dx = x - 3.2, dy = y + 1.7;
    if (dx * dx + dy * dy < 2.25 * 2.25) continue;
    points.push_back({x, y, 0.5});
  }
  points.push_back({3.4, -1.2, 0.5});  // a speck within the hole
  const ScanHole hole = find_hole(points, {3.6, -2.4}, "t");
  // 62 points a mm2: the nearest in each direction lies 0.05 mm outside the rim in the mean.
  CHECK(hole.centre.x == Approx(3.2).margin(0.05));
  CHECK(hole.centre.y == Approx(-1.7).margin(0.05));
  CHECK(hole.centre.z == Approx(0.5));
  CHECK(hole.diameter_mm == Approx(4.5).margin(0.25));
  CHECK_THROWS_WITH(find_hole(points, {-10, 10}, "t"),
                    Catch::Contains("--known-holes: at -10, 10: the scan has points here: this is no hole"));
  CHECK_THROWS_WITH(find_hole(points, {200, 10}, "t"),
                    Catch::Contains("--known-holes: at 200, 10: no rim goes round this place"));
  // From just inside a ring of 20 mm, more than half of the directions meet it within reach; its centre is out of
  // reach.
  std::vector<Vec3> ring;
  for (int i = 0; i < 36000; ++i) {
    const double a = i * 0.01 * 3.14159265358979 / 180;
    ring.push_back({20 * std::cos(a), 20 * std::sin(a), 0});
  }
  CHECK_THROWS_WITH(find_hole(ring, {19.9, 0}, "t"),
                    Catch::Contains("--known-holes: at 19.9, 0: no hole holds this place"));
  // A point in every second direction: 11 stand 2 mm off a circle, 6 others 0.05 mm. Without the first the second stand
  // out too, and 7 are no rim.
  std::vector<Vec3> fading;
  for (int k = 0; k < 24; ++k) {
    const double a = (-180 + 3.75 + 15 * ((7 * k) % 24)) * 3.14159265358979 / 180, side = k % 2 ? 1 : -1,
                 r = 5 + side * (k < 11   ? 2
                                 : k < 17 ? 0.05
                                          : 0);
    fading.push_back({r * std::cos(a), r * std::sin(a), 0});
  }
  CHECK_THROWS_WITH(find_hole(fading, {0, 0}, "t"),
                    Catch::Contains("--known-holes: at 0, 0: no round rim goes round this place"));
}

TEST_CASE("scale: lengths that no scale and skew can have made contradict each other", "[survey]") {
  // 100 mm along x that are truly 109.9: E = 1.2078. 100 mm at 30 degrees that are truly 90.1: 3/4 E + 1/4 G = 0.8118,
  // so that G, the square of a scale, would be -0.376.
  const std::vector<KnownLength> known = {{{0, 0, 0}, {100, 0, 0}, 109.9},
                                          {{0, 0, 0}, {50 * std::sqrt(3.0), 50, 0}, 90.1}};
  CHECK_THROWS_WITH(scale_from(known, 0.05),
                    Catch::Contains("the known lengths contradict each other (measure them again)"));
}
