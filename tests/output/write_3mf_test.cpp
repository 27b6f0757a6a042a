#include "output/write_3mf.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "base/error.h"
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
  return to_3mf(bed, {{"a<b>&\"c", &mesh}, {"unused", &mesh}}, {"T & U", "<script>"});
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

TEST_CASE("zip: an outside program finds the archive sound and reads it back", "[zip]") {
  const fs::path folder = fs::temp_directory_path() / ("bedwright-zip-" + std::to_string(std::rand()));
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
  CHECK_THROWS_AS(to_3mf({{{"missing", 1, {}, false}}}, {}, {}), Error);
}
