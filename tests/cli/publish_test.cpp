// bedwright publish and make of a bundle, from outside: what is in it, that it is made again byte by byte, and that a
// bundle or kit made to harm is refused with a sentence for each trick.
#include <catch2/catch.hpp>
#include <functional>
#include <map>

#include "base/sha256.h"
#include "base/unzip.h"
#include "cli/program.h"
#include "output/bundle.h"
#include "output/zip.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

using Entries = std::vector<std::pair<std::string, std::string>>;

std::string params(const std::string& name) {
  return file_bytes(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name);
}

void put_shared(const Workshop& shop) {
  shop.put("kit.json", demo_kit("shared-bench"));
  shop.put("licence.txt", params("licence.txt"));
}

std::map<std::string, std::string> files_in(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file()) files[fs::relative(entry.path(), folder).string()] = file_bytes(entry.path());
  return files;
}

Entries entries_of(const std::string& zip) {
  Entries entries;
  for (const ZipEntry& e : list_zip(zip, "bundle")) entries.push_back({e.name, unzip(zip, e, "bundle")});
  return entries;
}

std::string* find(Entries& entries, const std::string& ending) {
  for (auto& [name, bytes] : entries)
    if (name.size() >= ending.size() && name.compare(name.size() - ending.size(), ending.size(), ending) == 0)
      return &bytes;
  return nullptr;
}

constexpr const char* top = "shared-bench-B/";

/// SHA256SUMS anew, so that only the trick itself can be found out.
void sum_again(Entries& entries) {
  std::string text;
  for (const auto& [name, bytes] : entries)
    if (name != std::string(top) + "SHA256SUMS")
      text += sha256(bytes) + "  " + name.substr(std::string(top).size()) + "\n";
  *find(entries, "/SHA256SUMS") = text;
}

/// Where an archive's own list of contents begins (those of the packages in it come first).
std::size_t directory_of(const std::string& zip) {
  std::size_t at = 0;
  for (int i = 3; i >= 0; --i)
    at = at << 8 | static_cast<unsigned char>(zip[zip.size() - 6 + static_cast<std::size_t>(i)]);
  return at;
}

}  // namespace

TEST_CASE("publish: one archive, the same bytes every time, with all that is promised in it", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  const Run run = shop.run("publish kit.json");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK_THAT(run.out, Catch::Contains("shared-bench-B.zip") && Catch::Contains("UNTESTED: fit, screw-tips, travel"));
  const std::string zip = file_bytes(shop.path / "shared-bench-B.zip");
  REQUIRE(shop.run("publish kit.json --out again.zip --jobs 1").status == 0);
  CHECK(file_bytes(shop.path / "again.zip") == zip);
  Entries entries = entries_of(zip);
  for (const char* name :
       {"README.md", "CAUTIONS.md", "TESTED.md", "PRINTING.md", "print-settings.csv", "ASSEMBLY.md", "RUN-IN.md",
        "CHANGES.md", "pictures/README.md", "kit.json", "licence.txt", "SHA256SUMS", "set/report.json",
        "set/hardware.csv", "set/shared-bench-bed-1.3mf", "set/shared-bench-bed-2.3mf", "set/stl/adapter-a.stl",
        "set/stl/riser.stl", "set/SHA256SUMS"}) {
    CAPTURE(name);
    CHECK(find(entries, std::string(top) + name) != nullptr);
  }
  CHECK(*find(entries, "/kit.json") == file_bytes(shop.path / "kit.json"));
  CHECK(*find(entries, "/licence.txt") == params("licence.txt"));
  const std::string tested = *find(entries, "/TESTED.md");
  CHECK_THAT(tested, Catch::Contains("| Fit coupon |") && Catch::Contains("30 sizes measured") &&
                         Catch::Contains("(2026-03-14)"));
  // A trial of another revision is no trial of this one.
  CHECK(std::count(tested.begin(), tested.end(), '\n') > 15);
  std::size_t untested = 0;
  for (std::size_t at = tested.find("**UNTESTED**"); at != tested.npos; at = tested.find("**UNTESTED**", at + 1))
    ++untested;
  CHECK(untested == 9);
  CHECK_THAT(tested, Catch::Contains("revision A, travel: no contact over 150 mm."));
  CHECK_THAT(*find(entries, "/README.md"), Catch::Contains("UNTESTED: 9 of 11") &&
                                               Catch::Contains("/frame/dome/radius_mm") &&
                                               Catch::Contains("straightedge of 150 mm"));
  CHECK_THAT(*find(entries, "/print-settings.csv"),
             Catch::Contains("riser,set/stl/riser.stl,4,petg,0.4,0.2,0.2,0.42,3,100,as installed,none"));
  CHECK_THAT(*find(entries, "/CHANGES.md"), Catch::Contains("## Revision B\n- plates follow the dome"));
  CHECK_THAT(*find(entries, "/RUN-IN.md"), Catch::Contains("| [ ] | before power |"));
  CHECK_THAT(*find(entries, "/CAUTIONS.md"),
             Catch::Contains("**mains:**") && Catch::Contains("Local codes and licensed people decide."));
  CHECK_THAT(*find(entries, "/ASSEMBLY.md"),
             Catch::Contains("1. [ ] ") && Catch::Contains("Machine: off, unplugged, cold."));
  const json document = json::parse(shop.run("publish kit.json --out json.zip --json").out);
  CHECK(document["sha256"] == sha256(zip));
  CHECK(document["files"].size() == entries.size());
  CHECK(document["untested"].size() == 9);
}

TEST_CASE("publish: an outside unzip and sha256sum find the bundle whole", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  REQUIRE(shop.run("publish kit.json --out b.zip").status == 0);
  const auto shell = [&](const std::string& command) {
    return std::system(("cd '" + shop.path.string() + "' && (" + command + ") > log 2>&1").c_str());
  };
  CHECK(shell("unzip -t b.zip") == 0);
  CHECK(shell("unzip -q b.zip && cd shared-bench-B && sha256sum --check --strict SHA256SUMS") == 0);
  CHECK(shell("python3 -c 'import zipfile, sys; z = zipfile.ZipFile(\"b.zip\"); sys.exit(z.testzip() is not None or "
              "{i.date_time for i in z.infolist()} != {(1980, 1, 1, 0, 0, 0)})'") == 0);
  // What lies in it is a set that check takes for whole.
  CHECK(shop.run("check shared-bench-B/set").status == 0);
}

TEST_CASE("make: a bundle is made again byte by byte, and another dome is one edit", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  REQUIRE(shop.run("publish kit.json --out b.zip").status == 0);
  fs::create_directories(shop.path / "elsewhere");
  fs::rename(shop.path / "b.zip", shop.path / "elsewhere/b.zip");
  fs::remove(shop.path / "kit.json");
  const Run again = shop.run("make elsewhere/b.zip --out again");
  CAPTURE(again.err);
  CHECK(again.status == 0);
  CHECK_THAT(again.out, Catch::Contains("files are the same bytes.\n"));
  CHECK(files_in(shop.path / "again") == files_in(shop.path / "set"));
  const Run other = shop.run("make elsewhere/b.zip --out other --set /frame/dome/radius_mm=3000");
  CHECK(other.status == 0);
  CHECK_THAT(other.out,
             Catch::Contains("are not: drawings.pdf, drawings/adapter-a.svg, drawings/adapter-b.svg, hardware.csv, preview.png, "
                             "report.html, report.json, "
                             "shared-bench-bed-1.3mf, shared-bench-bed-2.3mf, stl/adapter-a.stl, stl/adapter-b.stl"));
  CHECK(file_bytes(shop.path / "other/stl/riser.stl") == file_bytes(shop.path / "set/stl/riser.stl"));
  CHECK(shop.run("check elsewhere/b.zip").status == 0);
  // Many machines of one bundle, and what differs between two.
  shop.put("v.csv", std::string("/revision,/frame/dome/radius_mm\nC,2450\nD,2600\n"));
  CHECK(shop.run("batch v.csv --kit elsewhere/b.zip --out sets").status == 0);
  CHECK(fs::exists(shop.path / "sets/shared-bench-D/report.json"));
  CHECK_THAT(shop.run("changes elsewhere/b.zip sets/shared-bench-C").out, Catch::Contains("seat radius: 2400 -> 2450"));
}

TEST_CASE("publish: a measured dome's points and the bed's maps go along", "[cli][publish]") {
  const Workshop shop;
  json kit = demo_kit("twist-bench");
  kit["publish"] = {{"licence_file", "terms.txt"}};
  shop.put("kit.json", kit);
  shop.put("terms.txt", params("licence.txt"));
  const std::vector<std::string> beside = {"twist-bench-points.csv", "twist-bench-map-1.txt", "twist-bench-map-2.txt",
                                           "twist-bench-map-3.txt"};
  for (const std::string& file : beside) shop.put(file, params(file));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  REQUIRE(shop.run("publish kit.json --out b.zip").status == 0);
  for (const std::string& file : beside) fs::remove(shop.path / file);
  const Run again = shop.run("make b.zip --out again");
  CHECK(again.status == 0);
  CHECK(files_in(shop.path / "again") == files_in(shop.path / "set"));
  // The terms count into the report's digest: other terms are another bundle.
  shop.put("terms.txt", std::string("other terms"));
  for (const std::string& file : beside) shop.put(file, params(file));
  REQUIRE(shop.run("make kit.json --out other").status == 0);
  CHECK(json::parse(file_bytes(shop.path / "other/report.json"))["input_sha256"] !=
        json::parse(file_bytes(shop.path / "set/report.json"))["input_sha256"]);
}

TEST_CASE("publish: pictures have places", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  fs::create_directories(shop.path / "pictures");
  const std::string jpeg = "\xff\xd8\xff\xe0 picture";
  shop.put("pictures/travel.jpg", jpeg);
  REQUIRE(shop.run("publish kit.json --out b.zip --pictures pictures").status == 0);
  Entries entries = entries_of(file_bytes(shop.path / "b.zip"));
  CHECK(*find(entries, "/pictures/travel.jpg") == jpeg);
  CHECK_THAT(
      *find(entries, "/pictures/README.md"),
      Catch::Contains("| `travel.jpg` | the bed at its rear end | here |") && Catch::Contains("missing, UNTESTED"));
  const auto refused = [&](const char* name, const std::string& bytes, const char* words) {
    shop.put(std::string("pictures/") + name, bytes);
    const Run run = shop.run("publish kit.json --out no.zip --pictures pictures");
    CAPTURE(name, run.err);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK_FALSE(fs::exists(shop.path / "no.zip"));
    fs::remove(shop.path / "pictures" / name);
  };
  refused("holiday.jpg", jpeg, "no place for a picture");
  refused("fit.jpg", "MZ not a picture", "neither a JPEG nor a PNG");
  refused("travel.png", jpeg, "second picture");
  refused("earth.jpg", jpeg, "no place for a picture");
  fs::create_symlink("/etc/passwd", shop.path / "pictures/fit.jpg");
  CHECK(shop.run("publish kit.json --out no.zip --pictures pictures").status == 3);
  CHECK(shop.run("publish kit.json --out no.zip --pictures nowhere").status == 3);
}

TEST_CASE("publish: what may not be published is refused", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  const auto refused = [&](const std::function<void(json&)>& change, const char* words, int status = 2) {
    json kit = demo_kit("shared-bench");
    change(kit);
    shop.put("kit.json", kit);
    const Run run = shop.run("publish kit.json --out b.zip");
    CAPTURE(run.err);
    CHECK(run.status == status);
    CHECK_THAT(run.err + run.out, Catch::Contains(words));
    CHECK_FALSE(fs::exists(shop.path / "b.zip"));
  };
  refused([](json& k) { k.erase("publish"); }, "without terms nobody may use");
  refused([](json& k) { k["publish"]["licence_file"] = "absent.txt"; }, "no such file beside the kit");
  refused([](json& k) { k["publish"]["licence_file"] = "../licence.txt"; }, "leaves the kit's folder");
  refused([](json& k) { k["publish"]["licence_file"] = "/etc/hostname"; }, "leaves the kit's folder");
  fs::create_symlink("/etc/hostname", shop.path / "link.txt");
  refused([](json& k) { k["publish"]["licence_file"] = "link.txt"; }, "leaves the kit's folder");
  fs::create_directories(shop.path / "folder.txt");
  refused([](json& k) { k["publish"]["licence_file"] = "folder.txt"; }, "no plain file");
  shop.put("empty.txt", std::string());
  refused([](json& k) { k["publish"]["licence_file"] = "empty.txt"; }, "is empty");
  shop.put("binary.txt", std::string("a\0b", 3));
  refused([](json& k) { k["publish"]["licence_file"] = "binary.txt"; }, "no UTF-8 text");
  shop.put("latin.txt", std::string("\xe9t\xe9"));
  refused([](json& k) { k["publish"]["licence_file"] = "latin.txt"; }, "no UTF-8 text");
  shop.put("long.txt", std::string(300 << 10, 'x'));
  refused([](json& k) { k["publish"]["licence_file"] = "long.txt"; }, "is the most");
  shop.put("readme.md", std::string("terms"));
  refused([](json& k) { k["publish"]["licence_file"] = "readme.md"; }, "a name that the bundle needs");
  refused([](json& k) { k["publish"]["tested"][0]["on"] = "2026-02-29"; }, "no day of the calendar");
  refused([](json& k) { k["publish"]["tested"][1]["what"] = "coupon"; }, "twice for one revision");
  refused([](json& k) { k["publish"]["tested"][0]["what"] = "flight"; }, "/publish/tested/0/what");
  refused([](json& k) { k["parts"][0]["thickness_mm"] = 3; }, "Nothing was published", 1);
  // A slip of the hand must not cost the kit.
  put_shared(shop);
  const std::string kit = file_bytes(shop.path / "kit.json");
  CHECK(shop.run("publish kit.json --out kit.json").status == 3);
  CHECK(file_bytes(shop.path / "kit.json") == kit);
}

TEST_CASE("make: a bundle made to harm is refused with a sentence", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  REQUIRE(shop.run("publish kit.json --out good.zip").status == 0);
  const std::string good = file_bytes(shop.path / "good.zip");
  const auto refused = [&](const std::string& zip, const std::string& words) {
    std::ofstream(shop.path / "bad.zip", std::ios::binary) << zip;
    const Run run = shop.run("make bad.zip --out made");
    CAPTURE(words, run.err);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK_FALSE(fs::exists(shop.path / "made"));
  };
  const auto changed = [&](const std::function<void(Entries&)>& change, bool summed, const std::string& words) {
    Entries entries = entries_of(good);
    change(entries);
    if (summed) sum_again(entries);
    refused(to_zip(entries), words);
  };
  // Path tricks.
  for (const char* name :
       {"../evil", "shared-bench-B/../../evil", "/etc/evil", "shared-bench-B\\evil", "C:evil", "shared-bench-B//evil"})
    changed([&](Entries& e) { e.push_back({name, "x"}); }, false, "bad.zip");
  changed([](Entries& e) { e.push_back({"other/evil", "x"}); }, false, "one folder");
  changed([](Entries& e) { e.push_back({"evil", "x"}); }, false, "one folder");
  // Names twice, also where only capitals differ.
  changed([](Entries& e) { e.push_back({"shared-bench-B/README.md", "x"}); }, false, "there twice");
  changed([](Entries& e) { e.push_back({"shared-bench-B/Kit.json", "x"}); }, false, "there twice");
  // A link: external attributes of a file that a Unix made.
  {
    Entries entries = entries_of(good);
    std::string zip = to_zip(entries);
    const std::size_t d = directory_of(zip);
    zip[d + 5] = 3;
    zip[d + 41] = '\xa1';
    refused(zip, "link");
  }
  // Bombs: a size that no file packs to, and more than all may have.
  {
    Entries entries = entries_of(good);
    std::string zip = to_zip(entries);
    const std::size_t d = directory_of(zip);
    for (int i = 0; i < 4; ++i) zip[d + 24 + static_cast<std::size_t>(i)] = i == 3 ? '\x7f' : '\xff';
    refused(zip, "would unpack to");
  }
  // Huge counts.
  {
    Entries many = entries_of(good);
    for (int i = 0; i < 2100; ++i) many.push_back({"shared-bench-B/x" + std::to_string(i), ""});
    refused(to_zip(many), "claims");
    Entries entries = entries_of(good);
    std::string lines;
    for (int i = 0; i < 5000; ++i) lines += std::string(64, 'a') + "  x" + std::to_string(i) + "\n";
    *find(entries, "shared-bench-B/SHA256SUMS") = lines;
    refused(to_zip(entries), "more files than a set has");
  }
  // Checksums: wrong, missing, of strangers, of files that are not there, malformed.
  changed([](Entries& e) { *find(e, "/kit.json") += " "; }, false, "its checksum is another");
  changed([](Entries& e) { *find(e, "/set/stl/riser.stl") += "x"; }, false, "set/stl/riser.stl");
  changed([](Entries& e) { e.push_back({"shared-bench-B/set/stl/extra.stl", "x"}); }, false, "is a stranger");
  changed([](Entries& e) { e.erase(e.begin()); }, false, "is missing");
  changed([](Entries& e) { *find(e, "shared-bench-B/SHA256SUMS") += "nonsense\n"; }, false,
          "no checksum and file name");
  changed([](Entries& e) { *find(e, "shared-bench-B/SHA256SUMS") += std::string(64, 'a') + "  ../x\n"; }, false,
          "outside of its folder");
  changed(
      [](Entries& e) {
        std::string& sums = *find(e, "shared-bench-B/SHA256SUMS");
        sums += sums.substr(0, sums.find('\n') + 1);
      },
      false, "a second time");
  changed(
      [](Entries& e) {
        e.erase(
            std::remove_if(e.begin(), e.end(), [](const auto& x) { return x.first == "shared-bench-B/SHA256SUMS"; }),
            e.end());
      },
      false, "no SHA256SUMS");
  {
    Entries entries = entries_of(good);
    entries.erase(std::remove_if(entries.begin(), entries.end(),
                                 [](const auto& x) { return x.first == "shared-bench-B/kit.json"; }),
                  entries.end());
    sum_again(entries);
    refused(to_zip(entries), "no kit.json");
  }
  // A kit that is whole by its checksum and hostile by what it says.
  const auto kit_with = [&](const std::function<void(json&)>& change, const std::string& words) {
    changed(
        [&](Entries& e) {
          std::string& text = *find(e, "shared-bench-B/kit.json");
          json kit = json::parse(text);
          change(kit);
          text = kit.dump();
        },
        true, words);
  };
  kit_with([](json& k) { k["publish"]["licence_file"] = "../../etc/passwd"; }, "leaves the kit's folder");
  kit_with(
      [](json& k) {
        k["frame"]["dome"] = {{"shape", "measured"}, {"points", "/etc/passwd"}};
      },
      "leaves the kit's folder");
  kit_with(
      [](json& k) {
        k["frame"]["dome"] = {{"shape", "measured"}, {"points", "points.csv"}};
      },
      "the bundle holds no such file");
  kit_with([](json& k) { k["parts"][1]["quantity"] = 1000000; }, "/parts/1/quantity");
  kit_with(
      [](json& k) {
        k["parts"][1]["quantity"] = 200;
        k["printer"]["sets"] = 50;
      },
      "at most 5000 are laid out");
  kit_with(
      [](json& k) {
        for (int i = 0; i < 100; ++i) k["parts"].push_back(k["parts"][1]);
      },
      "/parts");
  kit_with([](json& k) { k["kit"] = "../evil"; }, "/kit");
  kit_with([](json& k) { k["note"] = std::string(2 << 20, 'x'); }, "a kit has at most");
  changed([](Entries& e) { *find(e, "shared-bench-B/kit.json") = std::string(100000, '['); }, true, "bad.zip");
  // Cut short, damaged, no archive at all.
  refused(good.substr(0, good.size() / 2), "no list of contents");
  refused("PK\x03\x04 and nothing more", "no list of contents");
  {
    std::string zip = good;
    zip[good.find("\"kit\"") + 2] ^= 1;
    refused(zip, "damaged");
  }
}

TEST_CASE("publish: a page is written by itself, and never over something else", "[cli][publish]") {
  const Workshop shop;
  put_shared(shop);
  const Run run = shop.run("publish kit.json --page page.html --json");
  if (run.status == 2) {  // built without the core for browsers
    CHECK(run.out.find("scripts/setup") != std::string::npos);
    return;
  }
  REQUIRE(run.status == 0);
  const json told = json::parse(run.out);
  const std::string page = file_bytes(shop.path / "page.html");
  CHECK(told["page"]["sha256"] == sha256(page));
  CHECK(told["sha256"].is_null());
  CHECK_FALSE(fs::exists(shop.path / "shared-bench-B.zip"));
  CHECK(page.find("default-src 'none'") != std::string::npos);
  // Issued again from another revision, over the older page; over anything else never.
  CHECK(shop.run("publish kit.json --page page.html --out set.zip").status == 0);
  CHECK(file_bytes(shop.path / "page.html") == page);
  CHECK(is_bundle(file_bytes(shop.path / "set.zip")));
  shop.put("notes.html", std::string("my notes"));
  CHECK(shop.run("publish kit.json --page notes.html").status == 3);
  CHECK(file_bytes(shop.path / "notes.html") == "my notes");
}
