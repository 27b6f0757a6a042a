// Nothing is made twice, from outside: the same bytes with and without an earlier run's parts, and nothing that was
// touched is used again.
#include <catch2/catch.hpp>
#include <functional>
#include <map>

#include "base/sha256.h"
#include "cli/program.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

std::map<std::string, std::string> files_in(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file()) files[fs::relative(entry.path(), folder).string()] = file_bytes(entry.path());
  return files;
}

/// Writes SHA256SUMS anew, as someone would who wants a change to go unnoticed.
void sum_again(const fs::path& folder) {
  std::string text;
  for (const auto& [name, bytes] : files_in(folder))
    if (name != "SHA256SUMS") text += sha256(bytes) + "  " + name + "\n";
  std::ofstream(folder / "SHA256SUMS") << text;
}

}  // namespace

TEST_CASE("reuse: a set made again is not built, and is the same bytes", "[cli][reuse]") {
  for (const char* name : {"north-bench", "flat-bench", "twist-bench", "west-bench", "bench-gauges"}) {
    CAPTURE(name);
    const Workshop shop;
    shop.put("kit.json", demo_kit(name));
    if (std::string(name) == "twist-bench")
      for (const char* file :
           {"twist-bench-points.csv", "twist-bench-map-1.txt", "twist-bench-map-2.txt", "twist-bench-map-3.txt"})
        shop.put(file, file_bytes(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + file));
    const Run first = shop.run("make kit.json --out set");
    REQUIRE(first.status == 0);
    CHECK(first.err.empty());
    const auto fresh = files_in(shop.path / "set");
    const Run again = shop.run("make kit.json --out set");
    CHECK(again.status == 0);
    CHECK_THAT(again.err, Catch::Contains("Nothing to build") && Catch::Contains("--rebuild"));
    CHECK(again.out == first.out);
    CHECK(files_in(shop.path / "set") == fresh);
    const Run anew = shop.run("make kit.json --out set --rebuild");
    CHECK(anew.err.empty());
    CHECK(anew.out == first.out);
    CHECK(files_in(shop.path / "set") == fresh);
  }
}

TEST_CASE("reuse: of a kit that changed only what did not change is kept", "[cli][reuse]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const auto kept_after = [&](const std::string& settings) {
    fs::remove_all(shop.path / "fresh");
    const Run run = shop.run("make kit.json --out set " + settings);
    REQUIRE(run.status == 0);
    REQUIRE(shop.run("make kit.json --out fresh " + settings).err.empty());
    CHECK(files_in(shop.path / "set") == files_in(shop.path / "fresh"));
    REQUIRE(shop.run("make kit.json --out set --rebuild").status == 0);
    return run.err;
  };
  const std::string dome = kept_after("--set /frame/dome/radius_mm=2450");
  CHECK_THAT(dome, Catch::Contains("Not built again: riser, shim-rear are in set"));
  // How many there are is no reason to build.
  CHECK_THAT(kept_after("--set /parts/1/quantity=6"), Catch::Contains("Nothing to build"));
  // What stands in a file's header is: the revision.
  CHECK(kept_after("--set /revision=B").empty());
  CHECK_THAT(kept_after("--set /parts/2/thickness_mm=0.6"), Catch::Contains("adapter-a, adapter-b, riser"));
  // The printer decides how parts lie.
  CHECK(kept_after("--set /printer/layer_mm=0.25").empty());
  CHECK(kept_after("--set /tolerance/chord_mm=0.02").empty());
}

TEST_CASE("reuse: what was damaged, cut short, exchanged or is foreign is built anew", "[cli][reuse]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const auto good = files_in(shop.path / "set");
  const fs::path set = shop.path / "set";
  const auto again = [&](const std::function<void()>& spoil) {
    REQUIRE(shop.run("make kit.json --out set --rebuild").status == 0);
    REQUIRE(files_in(set) == good);
    spoil();
    const Run run = shop.run("make kit.json --out set");
    CHECK(run.status == 0);
    CHECK(files_in(set) == good);
    return run.err;
  };
  const auto write = [&](const char* name, const std::string& bytes) {
    std::ofstream(set / name, std::ios::binary) << bytes;
  };
  const std::string riser = good.at("stl/riser.stl");
  CHECK_THAT(again([&] {
               std::string bytes = riser;
               bytes[200] = static_cast<char>(bytes[200] ^ 1);
               write("stl/riser.stl", bytes);
             }),
             Catch::Contains("adapter-a, adapter-b, shim-rear"));
  CHECK_THAT(again([&] { write("stl/riser.stl", riser.substr(0, riser.size() / 2)); }), !Catch::Contains("riser"));
  CHECK_THAT(again([&] { fs::remove(set / "stl/riser.stl"); }), !Catch::Contains("riser"));
  CHECK_THAT(again([&] { write("stl/riser.stl", good.at("stl/shim-rear.stl")); }), !Catch::Contains("riser"));
  CHECK_THAT(again([&] {
               fs::rename(set / "stl/riser.stl", shop.path / "elsewhere.stl");
               fs::create_symlink(shop.path / "elsewhere.stl", set / "stl/riser.stl");
               // A set with a link in it is no longer ours to replace.
               const Run refused = shop.run("make kit.json --out set");
               CHECK(refused.status == 3);
               CHECK_THAT(refused.err, !Catch::Contains("riser,"));
               fs::remove(set / "stl/riser.stl");
             }),
             !Catch::Contains("riser"));
  // The record of what was made, spoilt in every way.
  CHECK(again([&] { fs::remove(set / "reuse.json"); }).empty());
  CHECK(again([&] { fs::remove(set / "SHA256SUMS"); }).empty());
  CHECK(again([&] { write("reuse.json", "{}"); }).empty());
  CHECK(again([&] { write("SHA256SUMS", "no sums"); }).empty());
  const auto record_with = [&](const std::function<void(json&)>& change) {
    return again([&] {
      json record = json::parse(good.at("reuse.json"));
      change(record);
      write("reuse.json", record.dump());
      sum_again(set);
    });
  };
  CHECK(record_with([](json& r) { r["program"] = std::string(64, 'a'); }).empty());
  CHECK(record_with([](json& r) { r["format"] = "bedwright/reuse/2"; }).empty());
  CHECK(record_with([](json& r) { r["parts"] = 7; }).empty());
  CHECK(record_with([](json& r) { r["parts"][0]["pose"]["tried"][1]["way"] = 77; }).empty());
  CHECK(record_with([](json& r) { r["parts"][0]["pose"]["chosen"].erase("cost"); }).empty());
  // Another part's bytes under this part's inputs: the STL's own digest must agree.
  CHECK_THAT(record_with([](json& r) { r["parts"][2]["sha256"] = r["parts"][3]["sha256"]; }),
             !Catch::Contains("riser"));
}

TEST_CASE("reuse: one part into a set takes the others from it", "[cli][reuse]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const auto whole = files_in(shop.path / "set");
  const Run run = shop.run("make kit.json --out set --only riser");
  CHECK(run.status == 0);
  CHECK_THAT(run.err, Catch::Contains("Nothing to build"));
  CHECK(files_in(shop.path / "set") == whole);
}

TEST_CASE("a set's SHA256SUMS is what sha256sum checks", "[cli][reuse]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const auto check = [&] {
    return std::system(
        ("cd '" + (shop.path / "set").string() + "' && sha256sum --check --strict --quiet SHA256SUMS > /dev/null 2>&1")
            .c_str());
  };
  CHECK(check() == 0);
  const auto files = files_in(shop.path / "set");
  const std::string sums = files.at("SHA256SUMS");
  for (const auto& [name, bytes] : files)
    if (name != "SHA256SUMS") CHECK(sums.find("  " + name + "\n") != sums.npos);
  std::ofstream(shop.path / "set/hardware.csv", std::ios::app) << "x";
  CHECK(check() != 0);
}
