#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <limits>
#include <thread>

#include "base/error.h"
#include "gauge/read_mesh.h"
#include "gauge/shapes.h"

using namespace bedwright;

namespace {

std::string refusal(const std::string& bytes) {
  try {
    read_stl(bytes, "t.stl");
  } catch (const BadInput& e) {
    return e.what();
  }
  return "";
}

bool same_corners(const Mesh& a, const Mesh& b) {
  if (a.triangles.size() != b.triangles.size()) return false;
  for (std::size_t f = 0; f < a.triangles.size(); ++f)
    for (std::size_t k = 0; k < 3; ++k)
      if (a.vertices[a.triangles[f][k]] != b.vertices[b.triangles[f][k]]) return false;
  return true;
}

}  // namespace

TEST_CASE("read_stl: binary and text of one mesh give the same facets") {
  const Mesh m = shapes::soup(shapes::turned_profile({{2, 0}, {5, 0}, {5, 3}, {2, 3}}, 24));
  CHECK(same_corners(read_stl(shapes::binary_stl(m), "b.stl"), m));
  CHECK(same_corners(read_stl(shapes::ascii_stl(m), "a.stl"), m));
}

TEST_CASE("read_stl: corners that come again are mostly one vertex, and each stays where it is") {
  // Far more corners than the reader remembers; zeros of both signs.
  Mesh m;
  const std::uint32_t n = 120;
  for (std::uint32_t j = 0; j <= n; ++j)
    for (std::uint32_t i = 0; i <= n; ++i) m.vertices.push_back({i * 0.5, j * 0.25, (i * 7 + j * 3) % 11 ? 0.0 : -0.0});
  for (std::uint32_t j = 0; j < n; ++j)
    for (std::uint32_t i = 0; i < n; ++i) {
      const std::uint32_t a = j * (n + 1) + i, b = a + 1, c = a + n + 1, d = c + 1;
      m.triangles.push_back({a, b, d});
      m.triangles.push_back({a, d, c});
    }
  const Mesh file = read_stl(shapes::binary_stl(shapes::soup(m)), "b.stl");
  CHECK(same_corners(file, m));
  CHECK(file.vertices.size() < 2 * m.vertices.size());
}

TEST_CASE("read_stl: a binary file whose header begins with the text keyword is still binary") {
  const Mesh m = shapes::soup(shapes::box({0, 0, 0}, {1, 2, 3}));
  CHECK(same_corners(read_stl(shapes::binary_stl(m, "solid facet normal outer loop"), "b.stl"), m));
}

TEST_CASE("read_stl: text with odd case, tabs, CRLF, signs and nan normals") {
  const std::string text =
      "SOLID a name with facet in it\r\n\tFacet Normal nan -nan(ind) inf\r\nOuter LOOP\r\n vertex +1.5e0 0 0\r\n"
      "VERTEX 0 2. 0\r\nvertex 0 0 -.25\r\nEndLoop\r\nENDFACET\r\nendsolid\r\n";
  const Mesh m = read_stl(text, "a.stl");
  REQUIRE(m.triangles.size() == 1);
  CHECK(m.vertices[0].x == 1.5);
  CHECK(m.vertices[1].y == 2);
  CHECK(m.vertices[2].z == -0.25);
}

TEST_CASE("read_stl: what is not a mesh is refused, and says where") {
  const Mesh m = shapes::soup(shapes::box({0, 0, 0}, {1, 2, 3}));
  const std::string good = shapes::binary_stl(m);
  CHECK(refusal("").find("empty") != std::string::npos);
  CHECK(refusal("solid").find("too short") != std::string::npos);
  CHECK(refusal(good.substr(0, good.size() - 1)).find("facet 12") != std::string::npos);
  CHECK(refusal(good.substr(0, 84 + 50 * 3 + 7)).find("facet 4") != std::string::npos);
  CHECK(refusal(good + "x").find("more bytes") != std::string::npos);
  std::string huge = good;
  for (int i = 80; i < 84; ++i) huge[static_cast<std::size_t>(i)] = '\xff';
  CHECK(refusal(huge).find("4294967295") != std::string::npos);
  Mesh bad = m;
  bad.vertices[3 * 4 + 1].y = std::numeric_limits<double>::quiet_NaN();
  CHECK(refusal(shapes::binary_stl(bad)).find("facet 5") != std::string::npos);
  bad.vertices[3 * 4 + 1].y = std::numeric_limits<double>::infinity();
  CHECK(refusal(shapes::ascii_stl(bad)).find("facet 5") != std::string::npos);
  const std::string text = shapes::ascii_stl(m);
  CHECK(refusal(text.substr(0, text.find("endloop"))).find("facet 1") != std::string::npos);
  CHECK(refusal("solid x\nfacet normal 0 0 0 outer loop vertex 1 2 z").find("\"z\"") == std::string::npos);
  CHECK(refusal("solid x\nfacet normal 0 0 0 outer loop vertex 1 2 z").find("facet 1 (line 2)") != std::string::npos);
  CHECK(refusal("solid x\nfacet normal 0 0 0 outer loop vertex 1 2 1e999").find("range") != std::string::npos);
  CHECK(refusal("solid x\nendsolid x\n").find("no facets") != std::string::npos);
  CHECK(refusal(std::string(200, 'q')) != "");
}

TEST_CASE("read_stl_file: a missing file is a FileError") {
  CHECK_THROWS_AS(read_stl_file("no-such-folder/no.stl"), FileError);
}

TEST_CASE("read_stl_file: a file of more than 2 GiB is refused before it is read") {
  const auto path = std::filesystem::temp_directory_path() / ("bedwright-large-" + std::to_string(::getpid()) + ".stl");
  std::ofstream(path) << "x";
  // Sparse: it takes no room on the disk.
  std::filesystem::resize_file(path, (std::uintmax_t{2} << 30) + 1);
  CHECK_THROWS_WITH(read_stl_file(path.string()), path.string() + ": larger than 2 GiB, the limit here");
  std::filesystem::remove(path);
}

TEST_CASE("read_stl_file: a large file, read in shares, at once or one after the other, is what its bytes hold") {
  // A wavy sheet of 240,000 facets, row by row, so that both shares have corners of the middle row.
  constexpr std::uint32_t across = 400, deep = 300;
  Mesh sheet;
  for (std::uint32_t j = 0; j <= deep; ++j)
    for (std::uint32_t i = 0; i <= across; ++i)
      sheet.vertices.push_back({double(i), double(j), (i * 7 + j * 3) % 5 / 8.0});
  for (std::uint32_t j = 0; j < deep; ++j)
    for (std::uint32_t i = 0; i < across; ++i) {
      const std::uint32_t a = j * (across + 1) + i, b = a + across + 1;
      sheet.triangles.push_back({a, a + 1, b});
      sheet.triangles.push_back({b, a + 1, b + 1});
    }
  std::string bytes = shapes::binary_stl(sheet);
  const auto path =
      std::filesystem::temp_directory_path() / ("bedwright-shares-" + std::to_string(::getpid()) + ".stl");
  const auto write = [&] { std::ofstream(path, std::ios::binary) << bytes; };
  const AtOnce in_threads = [](const std::vector<Task>& tasks) {
    std::vector<std::thread> threads;
    for (const Task& task : tasks) threads.emplace_back(task);
    for (std::thread& t : threads) t.join();
  };
  write();
  const Mesh whole = read_stl(bytes, "bytes"), one = read_stl_file(path.string()),
             other = read_stl_file(path.string(), in_threads);
  CHECK(one.vertices == other.vertices);
  CHECK(one.triangles == other.triangles);
  REQUIRE(one.triangles.size() == sheet.triangles.size());
  const auto same_places = [&](const Mesh& m) {
    for (std::size_t f = 0; f < sheet.triangles.size(); ++f)
      for (std::size_t k = 0; k < 3; ++k)
        if (m.vertices[m.triangles[f][k]] != sheet.vertices[sheet.triangles[f][k]]) return false;
    return true;
  };
  CHECK(same_places(one));
  CHECK(same_places(whole));
  // Not a number in the last facet but one: the second share's, told by its number in the file.
  const std::size_t last_but_one = sheet.triangles.size() - 2;
  bytes.replace(84 + 50 * last_but_one + 12, 4, std::string("\0\0\xc0\x7f", 4));
  write();
  CHECK_THROWS_WITH(read_stl_file(path.string()),
                    Catch::Matchers::Contains("facet " + std::to_string(last_but_one + 1)));
  std::filesystem::remove(path);
}
