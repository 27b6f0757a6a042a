#include "targets.h"

#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "base/csv.h"
#include "base/error.h"
#include "gauge/gauge.h"
#include "gauge/read_mesh.h"
#include "kit/read_kit.h"
#include "output/bundle.h"
#include "output/checksums.h"
#include "output/reuse.h"
#include "output/variants.h"
#include "output/write_3mf.h"
#include "output/write_stl.h"
#include "output/zip.h"
#include "survey/bed_map.h"
#include "survey/read_points.h"

using namespace bedwright;

namespace fuzz {
namespace {

// Measuring is quick but not free: what is larger is read only.
constexpr std::size_t measured_triangles = 400;

std::string file(const std::string& name) {
  std::ifstream in(std::string(BEDWRIGHT_ROOT) + "/" + name, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

Mesh block(double x, double y, double z) {
  Mesh m;
  for (int i = 0; i < 8; ++i) m.vertices.push_back({i & 1 ? x : 0, i & 2 ? y : 0, i & 4 ? z : 0});
  m.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                 {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
  return m;
}

template <typename Read>
bool taken(Read read) {
  try {
    read();
    return true;
  } catch (const Error&) {
    return false;
  }
}

void measured(const Mesh& mesh) {
  if (mesh.triangles.size() <= measured_triangles) measure(mesh);
}

bool feed_kit(const std::string& bytes) {
  Beside beside;
  beside.in_memory = true;
  beside.files = {{"licence.txt", "terms"}, {"points.csv", "x_mm,y_mm,z_mm\n0,0,0\n10,0,0\n0,10,0\n10,10,0.1\n"}};
  return taken([&] { read_kit(bytes, "kit", beside); });
}

std::vector<std::string> seeds_kit() {
  std::vector<std::string> seeds;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(BEDWRIGHT_ROOT) + "/params/kits"))
    if (entry.path().extension() == ".json") seeds.push_back("params/kits/" + entry.path().filename().string());
  std::sort(seeds.begin(), seeds.end());
  for (std::string& s : seeds) s = file(s);
  return seeds;
}

bool feed_stl(const std::string& bytes) {
  return taken([&] { measured(read_stl(bytes, "stl")); });
}

std::vector<std::string> seeds_stl() {
  return {to_stl(block(10, 8, 4), "kit", "block", "A"),
          "solid s\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1e0 0\nendloop\nendfacet\n"
          "endsolid s\n"};
}

bool feed_3mf(const std::string& bytes) {
  return taken([&] {
    for (const MeshItem& item : read_3mf(bytes, "3mf")) measured(item.mesh);
  });
}

std::vector<std::string> seeds_3mf() {
  const Mesh mesh = block(10, 8, 4);
  Bed bed;
  bed.items.push_back({});
  bed.items.back().part = "block";
  bed.items.back().at = {50, 50};
  const std::string model =
      "<?xml version=\"1.0\"?><model unit=\"millimeter\" "
      "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources><object id=\"1\"><mesh><vertices>"
      "<vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"9\" y=\"0\" z=\"0\"/><vertex x=\"0\" y=\"9\" z=\"0\"/><vertex "
      "x=\"0\" "
      "y=\"0\" z=\"9\"/></vertices><triangles><triangle v1=\"0\" v2=\"2\" v3=\"1\"/><triangle v1=\"0\" v2=\"1\" "
      "v3=\"3\"/>"
      "<triangle v1=\"1\" v2=\"2\" v3=\"3\"/><triangle v1=\"2\" v2=\"0\" v3=\"3\"/></triangles></mesh></object><object "
      "id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 5 5 0\"/></components></object>"
      "</resources><build><item objectid=\"2\"/></build></model>";
  const std::string types =
      "<?xml version=\"1.0\"?><Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"><Default "
      "Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default "
      "Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/></Types>";
  const std::string links =
      "<?xml version=\"1.0\"?><Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">"
      "<Relationship Target=\"/3D/3dmodel.model\" Id=\"r\" "
      "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";
  return {
      to_3mf(bed_model(bed, {{"block", &mesh}}, {"title", "text"}), bed_picture(bed, {{"block", &mesh}}, {220, 220})),
      to_zip({{"[Content_Types].xml", types}, {"_rels/.rels", links}, {"3D/3dmodel.model", model}})};
}

/// Scans are read from files only.
bool feed_scan(const std::string& bytes) {
  static const std::string path = "/dev/shm/bedwright-fuzz-" + std::to_string(getpid()) + ".ply";
  std::ofstream(path, std::ios::binary) << bytes;
  const bool read = taken([&] { read_scan(path); });
  std::remove(path.c_str());
  return read;
}

std::vector<std::string> seeds_scan() {
  std::string binary =
      "ply\nformat binary_big_endian 1.0\nelement vertex 2\nproperty float x\nproperty float y\n"
      "property double z\nend_header\n";
  binary.append(32, '\x41');
  return {
      "ply\nformat ascii 1.0\ncomment a\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
      "element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0.5\n3 0 1 2\n",
      binary, "# scan\nv 0 0 0\nv 1 0 0\nv 0 1 0\nvn 0 0 1\nf 1/1 2/2 3/3\n", seeds_stl()[0], seeds_stl()[1]};
}

bool feed_points(const std::string& bytes) {
  const bool points = taken([&] { points_of_table(bytes, "points"); });
  return taken([&] { profile_of_table(bytes, "profile"); }) || points;
}

std::vector<std::string> seeds_points() {
  return {"x_mm,y_mm,z_mm\n0,0,0\n10,0,-0.2\n", "\xef\xbb\xbf# a\nx;y;z\n0,5;1,25;-3\n", "1 2 3\n4\t5\t6\n"};
}

bool feed_map(const std::string& bytes) {
  const bool list = taken([&] { read_bed_map(bytes, "map", std::nullopt); });
  return taken([&] { read_bed_map(bytes, "map", GridExtent{{0, 0}, {200, 200}}); }) || list;
}

std::vector<std::string> seeds_map() {
  return {file("params/maps/plain.csv"), "[[0.1, -0.2, 0.3],\n [0.0, 0.1, 0.2]]\n",
          "     0      1\n0 | +0.12  -0.01\n1 | 0,2 0,3\n"};
}

bool feed_csv(const std::string& bytes) {
  return taken([&] { read_text_table(bytes, "table"); });
}

bool feed_variants(const std::string& bytes) {
  static const std::string kit = file("params/kits/north-bench.json");
  return taken([&] { read_variants(bytes, "variants", kit); });
}

std::vector<std::string> seeds_csv() {
  return {"a,b\n1,2\n\"x \"\"y\"\", z\",3\n", "a;b\r\n1,5;2\r\n", "a\tb\n# no\n1\t\n"};
}

std::vector<std::string> seeds_variants() {
  return {"/revision,/frame/dome/radius_mm\nA,2600\nB,2450\n", "/revision;/frame/dome/radius_mm\nA;2600,5\n",
          "/revision,/parts/0/slot_mm,/frame/hole_pattern\nC,,\"{\"\"kind\"\": \"\"rectangular\"\"}\"\n"};
}

bool feed_bundle(const std::string& bytes) {
  return taken([&] { read_bundle(bytes, "bundle"); });
}

std::vector<std::string> seeds_bundle() {
  const auto archive = [](const Files& files) {
    std::vector<std::pair<std::string, std::string>> entries;
    for (const auto& [name, bytes] : files) entries.push_back({"shared-bench-B/" + name, bytes});
    entries.push_back({"shared-bench-B/" + std::string(checksums_name), checksums_of(files)});
    return to_zip(entries);
  };
  const std::string kit = file("params/kits/shared-bench.json");
  return {archive({{"kit.json", kit}, {"licence.txt", "terms"}, {"set/report.json", "{}"}}),
          archive({{"kit.json", "{}"}})};
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {
      {"kit", feed_kit, seeds_kit},          {"stl", feed_stl, seeds_stl},
      {"3mf", feed_3mf, seeds_3mf},          {"scan", feed_scan, seeds_scan},
      {"points", feed_points, seeds_points}, {"map", feed_map, seeds_map},
      {"csv", feed_csv, seeds_csv},          {"variants", feed_variants, seeds_variants},
      {"bundle", feed_bundle, seeds_bundle},
  };
  return all;
}

const Target* find_target(const std::string& name) {
  for (const Target& t : targets())
    if (name == t.name) return &t;
  return nullptr;
}

}  // namespace fuzz
