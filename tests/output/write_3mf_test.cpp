#include "output/write_3mf.h"

#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "gauge/read_mesh.h"
#include "output/thumbnail.h"
#include "output/zip.h"

using namespace bedwright;
namespace fs = std::filesystem;

namespace {

Mesh tetrahedron() {
  Mesh m;
  m.vertices = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {0, 0, 10.0000152587890625}};
  m.triangles = {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}};
  return m;
}

std::string sample() {
  static const Mesh mesh = tetrahedron();
  const Bed bed{{{"a<b>&\"c", 1, {50, 60.5}, false}, {"a<b>&\"c", 2, {100, 60.5}, true}}};
  const std::vector<BedObject> objects{{"a<b>&\"c", &mesh}, {"unused", &mesh}};
  return to_3mf(bed_model(bed, objects, {"T & U", "<script>"}), bed_picture(bed, objects, {220, 220}));
}

}  // namespace

TEST_CASE("zip: CRC-32 is the published check value, and the order is kept", "[zip]") {
  // CRC-32 of "123456789": 0xCBF43926 (ISO 3309 check value), little-endian at byte 14 of the local header.
  const std::string zip = to_zip({{"b.txt", "123456789"}, {"a.txt", ""}});
  CHECK(zip.substr(0, 4) == std::string("PK\x03\x04", 4));
  CHECK(zip.substr(14, 4) == "\x26\x39\xf4\xcb");
  CHECK(zip.find("b.txt") < zip.find("a.txt"));
  CHECK(zip == to_zip({{"b.txt", "123456789"}, {"a.txt", ""}}));
}

TEST_CASE("zip: more entries than the format counts are refused", "[zip]") {
  CHECK_THROWS_WITH(to_zip(std::vector<std::pair<std::string, std::string>>(65536, {"a", ""})),
                    "too much for one ZIP archive");
}

TEST_CASE("zip: an outside program finds the archive sound and reads it back", "[zip]") {
  const fs::path folder = fs::temp_directory_path() / ("bedwright-zip-" + std::to_string(getpid()));
  fs::create_directories(folder);
  std::ofstream(folder / "x.zip", std::ios::binary) << to_zip({{"d/one", std::string("a\0b", 3)}, {"two", "zwei"}});
  const std::string script =
      "import sys,zipfile\nz=zipfile.ZipFile(sys.argv[1])\nassert z.testzip() is None\n"
      "assert z.read('d/one')==b'a\\0b' and z.read('two')==b'zwei' and len(z.namelist())==2\n";
  std::ofstream(folder / "read.py") << script;
  const std::string command = "python3 '" + (folder / "read.py").string() + "' '" + (folder / "x.zip").string() + "'";
  CHECK(std::system(command.c_str()) == 0);
  fs::remove_all(folder);
}

TEST_CASE("3mf: the parts the core specification asks for, and nothing that XML forbids", "[3mf]") {
  const std::string file = sample();
  for (const char* needed : {"[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model", "unit=\"millimeter\"",
                             "http://schemas.microsoft.com/3dmanufacturing/core/2015/02", "a&lt;b&gt;&amp;&quot;c",
                             "<metadata name=\"Description\">&lt;script&gt;</metadata>", "z=\"10.000015\""})
    CHECK(file.find(needed) != file.npos);
  CHECK(file.find("unused") == file.npos);
  CHECK(file == sample());
}

TEST_CASE("3mf: a copy's transform moves it, and a quarter turn turns x into y", "[3mf]") {
  const std::string file = sample();
  CHECK(file.find("transform=\"1 0 0 0 1 0 0 0 1 50 60.5 0\"") != file.npos);
  CHECK(file.find("transform=\"0 1 0 -1 0 0 0 0 1 100 60.5 0\"") != file.npos);
  CHECK_THROWS_AS(bed_model({{{"missing", 1, {}, false}}}, {}, {}), Error);
  CHECK_THROWS_AS(bed_picture({{{"missing", 1, {}, false}}}, {}, {220, 220}), Error);
}

TEST_CASE("3mf: our own reader finds each copy where it was put, named, with its volume", "[3mf]") {
  const auto items = read_3mf(sample(), "sample");
  REQUIRE(items.size() == 2);
  CHECK(items[0].name == "a<b>&\"c");
  CHECK(items[1].part_number == "a<b>&\"c");
  CHECK(items[0].mesh.vertices[1] == Vec3{60, 60.5, 0});
  CHECK(items[1].mesh.vertices[1] == Vec3{100, 70.5, 0});
  CHECK(volume(items[1].mesh) == Approx(volume(tetrahedron())));
}

// ISO/IEC 15948: signature, then the four chunks with their lengths; IEND is always the same twelve bytes.
TEST_CASE("png: chunks in their order, and no byte but for the picture", "[3mf]") {
  const Picture picture{2, 2, {{{255, 0, 0}}, {{0, 0, 255}}}, {0, 1, 1, 0}};
  const std::string png = to_png(picture);
  CHECK(png.substr(0, 8) == "\x89PNG\r\n\x1a\n");
  CHECK(png.find("IHDR") == 12);
  CHECK(png.find("PLTE") < png.find("IDAT"));
  CHECK(png.substr(png.size() - 12) == std::string("\0\0\0\0IEND\xae\x42\x60\x82", 12));
  CHECK(png == to_png(picture));
  Picture other = picture;
  other.pixels[3] = 1;
  CHECK(png != to_png(other));
}

TEST_CASE("thumbnail: what stands in front hides what stands behind", "[3mf]") {
  const Mesh mesh = tetrahedron();
  const Shown front{&mesh, shift({50, 20, 0}), 0}, behind{&mesh, shift({50, 28, 0}), 1},
      far{&mesh, shift({10, 80, 0}), 1};
  const auto count = [](const Picture& p, int kind) {
    return std::count_if(p.pixels.begin(), p.pixels.end(),
                         [&](std::uint8_t c) { return c >= 3 + 24 * kind && c < 3 + 24 * (kind + 1); });
  };
  const Picture both = thumbnail({front, behind}, {100, 100}), apart = thumbnail({front, far}, {100, 100});
  CHECK(count(both, 0) == count(apart, 0));
  CHECK(count(both, 1) < count(apart, 1));
  CHECK(count(apart, 1) > 50);
  CHECK(thumbnail({behind, front}, {100, 100}).pixels == both.pixels);
}
