// report.html: the data is whole, text stays text, equal sets give equal pages, and a set's check knows the page.
#include "output/page.h"

#include <catch2/catch.hpp>
#include <cstring>
#include <fstream>

#include "base/sha256.h"
#include "checks/bench.h"
#include "gauge/read_mesh.h"
#include "kit/beside.h"
#include "output/checksums.h"
#include "output/level_advice.h"
#include "output/page_map.h"
#include "output/reuse.h"
#include "output/set_check.h"
#include "parts/part.h"
#include "survey/kit_bed_map.h"

using namespace bedwright;

namespace {

std::vector<PagePart> shown(const Bench& bench) {
  std::vector<PagePart> list;
  for (const MadePart& p : bench.parts) list.push_back({&p.report, &p.bytes});
  return list;
}

std::string bytes_of(const std::string& text) {
  static const std::string digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string bytes;
  unsigned word = 0, have = 0;
  for (const char c : text) {
    if (c == '=') break;
    word = word << 6 | static_cast<unsigned>(digits.find(c));
    have += 6;
    if (have >= 8) bytes += static_cast<char>(word >> (have -= 8) & 0xff);
  }
  return bytes;
}

Json demo_kit_document() {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/params/kits/north-bench.json");
  return Json::parse(file);
}

std::size_t count_of(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = text.find(what); at != text.npos; at = text.find(what, at + 1)) ++count;
  return count;
}

}  // namespace

TEST_CASE("page: base64 is that of RFC 4648 with its padding", "[page]") {
  // RFC 4648 section 10.
  const std::pair<const char*, const char*> table[] = {{"", ""},
                                                       {"f", "Zg=="},
                                                       {"fo", "Zm8="},
                                                       {"foo", "Zm9v"},
                                                       {"foob", "Zm9vYg=="},
                                                       {"fooba", "Zm9vYmE="},
                                                       {"foobar", "Zm9vYmFy"}};
  for (const auto& [plain, coded] : table) REQUIRE(base64(plain) == coded);
  REQUIRE(base64(std::string("\xff\xfe\x00", 3)) == "//4A");
}

TEST_CASE("page: text of a kit can end no script element and starts no markup", "[page]") {
  const std::string hostile = "</script><script>x</script><!-- & \xe2\x80\xa8 \xe2\x80\xa9 \xe2\x80\xa7 \xff";
  const std::string safe = script_safe(Json{{"note", hostile}});
  for (const char* piece : {"<", ">", "&", "\xe2\x80\xa8", "\xe2\x80\xa9", "\xff"})
    REQUIRE(safe.find(piece) == safe.npos);
  REQUIRE(safe.find("\xe2\x80\xa7") != safe.npos);
  // What comes out at the other end is the text again, but for the byte that was no UTF-8.
  const std::string back = Json::parse(safe)["note"];
  REQUIRE(back == hostile.substr(0, hostile.size() - 1) + "\xef\xbf\xbd");
}

TEST_CASE("page: a hostile title adds no element and no script", "[page]") {
  const Bench plain, hostile({{"/title", "</title><script>alert(1)</script>\"><img src=x onerror=alert(1)>"},
                              {"/note", "--></script><script>alert(1)</script>"}});
  const std::string a = page_html(plain.kit, plain.report(), shown(plain)),
                    b = page_html(hostile.kit, hostile.report(), shown(hostile));
  REQUIRE(b.find("\\u003cscript\\u003ealert(1)") != b.npos);
  for (const char* piece : {"<script", "</script", "<img", "<title", "-->"})
    REQUIRE(count_of(a, piece) == count_of(b, piece));
}

TEST_CASE("page: asks for nothing and lets in only its own scripts", "[page]") {
  const Bench bench;
  const std::string page = page_html(bench.kit, bench.report(), shown(bench));
  REQUIRE(page.find("default-src 'none'") != page.npos);
  REQUIRE(page.find("unsafe-") > page.find("</head>"));
  for (const char* piece : {" src=\"http", "href=\"http", "@import", "url("}) {
    const std::size_t at = page.find(piece);
    // three.js, which follows the data, speaks of such things in its loaders; nothing before it may.
    REQUIRE((at == page.npos || at > page.find("three.js, version 111")));
  }
  const std::size_t own = page.rfind("<script>") + 8, end = page.rfind("</script>");
  const std::string hex = sha256(page.substr(own, end - own));
  std::string digest;
  for (std::size_t i = 0; i < hex.size(); i += 2) digest += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
  REQUIRE(page.find("'sha256-" + base64(digest) + "'") < page.find("</head>"));
}

TEST_CASE("page: equal sets give equal pages, whether parts were built or used again", "[page]") {
  const Bench bench;
  const Report report = bench.report();
  const auto files = files_of(bench.kit, report, bench.parts);
  REQUIRE(files.at(page_name) == page_html(bench.kit, report, shown(bench)));
  const KeptParts kept = kept_parts(files);
  REQUIRE(kept.size() == bench.parts.size());
  std::vector<MadePart> again;
  for (const Part& part : derive_parts(bench.kit, bench.layout))
    again.push_back(make_part(bench.kit, bench.layout, part, &kept));
  for (std::size_t i = 0; i < again.size(); ++i) compare_made(again, i);
  REQUIRE(again.front().reused);
  REQUIRE(files_of(bench.kit, assemble(bench.kit, bench.layout, again, {}), again).at(page_name) ==
          files.at(page_name));
}

TEST_CASE("page: meshes are those of the files, facet by facet", "[page]") {
  const Bench bench;
  const Json data = page_data(bench.kit, bench.report(), shown(bench));
  REQUIRE(data["parts"].size() == bench.parts.size());
  for (std::size_t n = 0; n < bench.parts.size(); ++n) {
    const Json& told = data["parts"][n];
    const std::string points = bytes_of(told["points"]), facets = bytes_of(told["facets"]);
    const Mesh file = read_stl(bench.parts[n].bytes, "");
    const std::size_t width = told["index_bytes"];
    REQUIRE(facets.size() == file.triangles.size() * 3 * width);
    REQUIRE(bytes_of(told["owners"]).size() == file.triangles.size() * 2);
    for (std::size_t i = 0; i < file.triangles.size(); ++i)
      for (std::size_t k = 0; k < 3; ++k) {
        std::uint32_t index = 0;
        std::memcpy(&index, facets.data() + (3 * i + k) * width, width);
        float p[3];
        std::memcpy(p, points.data() + 12 * std::size_t(index), 12);
        const Vec3 v = file.vertices[file.triangles[i][k]];
        REQUIRE((double(p[0]) == v.x && double(p[1]) == v.y && double(p[2]) == v.z));
      }
  }
}

TEST_CASE("page: facets belong to the feature that the drawing puts there", "[page]") {
  const Bench bench;
  const Json data = page_data(bench.kit, bench.report(), shown(bench));
  const MadePart& made = bench.parts[bench.index("adapter-a")];
  const Json& told = data["parts"][bench.index("adapter-a")];
  const std::string owners = bytes_of(told["owners"]);
  Mesh mesh = read_stl(made.bytes, "");
  for (Vec3& v : mesh.vertices) v = apply(made.report.pose.print_to_part, v);
  const std::vector<Feature>& features = made.report.part.features;
  // Wall areas against closed forms: pi d h of a round hole within its tessellation, 2 x 0.01 mm of chord.
  std::vector<double> wall(features.size() + 1, 0), all(features.size() + 1, 0);
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const auto& t = mesh.triangles[i];
    const Vec3 n = cross(mesh.vertices[t[1]] - mesh.vertices[t[0]], mesh.vertices[t[2]] - mesh.vertices[t[0]]);
    const std::size_t owner =
        static_cast<unsigned char>(owners[2 * i]) + 256u * static_cast<unsigned char>(owners[2 * i + 1]);
    REQUIRE(owner <= features.size());
    all[owner] += length(n) / 2;
    if (std::fabs(n.z) < 0.1 * length(n)) wall[owner] += length(n) / 2;
  }
  const auto index = [&](const std::string& id) {
    for (std::size_t i = 0; i < features.size(); ++i)
      if (features[i].id == id) return i + 1;
    throw std::runtime_error(id);
  };
  const auto of = [&](const std::string& id, const char* quantity) {
    return find_dimension(features[index(id) - 1], quantity)->modelled_mm;
  };
  const double pi = 3.14159265358979323846;
  const double d = of("insert-front-left", "diameter"), depth = of("insert-front-left", "depth");
  REQUIRE(wall[index("insert-front-left")] == Approx(pi * d * depth).epsilon(0.01));
  // A slot's wall, from the carriage's face to the counterbore's floor. It prints lying: below its two ends are round for
  // 3/8 of a turn each with a straight length between, above two flanks meet in a point.
  const double w = of("carriage-hole-1", "width"), l = of("carriage-hole-1", "length"),
               floor = of("counterbore-1", "floor");
  REQUIRE(wall[index("carriage-hole-1")] == Approx((0.75 * pi * w + (l - w) + w + std::sqrt(2.0) * (l - w)) * floor).epsilon(0.01));
  // The counterbore's floor: its slot, which has no room for a point, less the hole's, which has one.
  const double bw = of("counterbore-1", "width"), bl = of("counterbore-1", "length"), r = w / 2, more = l - w;
  const double hole = r * r * (0.75 * pi + 1) + more * r * (1 + std::sqrt(2.0)) + more * more / 4;
  REQUIRE(all[index("counterbore-1")] - wall[index("counterbore-1")] ==
          Approx(pi * bw * bw / 4 + bw * (bl - bw) - hole).epsilon(0.01));
  REQUIRE(all[0] == 0);
}

TEST_CASE("page: parts stand where the layout puts them, and the sheet above them", "[page]") {
  const Bench bench;
  const Json data = page_data(bench.kit, bench.report(), shown(bench));
  const Json& places = data["parts"][bench.index("adapter-a")]["places"];
  REQUIRE(places.size() == 2);
  REQUIRE(places[0]["where"] == "front-left");
  REQUIRE(places[0]["matrix"] == Json({1, 0, 0, -75, 0, 1, 0, -45, 0, 0, 1, 0, 0, 0, 0, 1}));
  REQUIRE(places[1]["matrix"] == Json({-1, 0, 0, 75, 0, -1, 0, 45, 0, 0, 1, 0, 0, 0, 0, 1}));
  std::size_t carriages = 0, rails = 0, beds = 0;
  for (const Json& b : data["bodies"]) {
    carriages += b["kind"] == "carriage", rails += b["kind"] == "rail", beds += b["kind"] == "bed";
    REQUIRE(b["z_mm"][0].get<double>() < b["z_mm"][1].get<double>());
  }
  REQUIRE((carriages == 4 && rails == 2 && beds == 1));
  // Squares lie within what the check of the seats found, to a sixteenth of a chord (seat_gap.h) and half a printed
  // step.
  const double within_um = 1000 * bench.kit.tolerance.chord_mm / 16 + 0.05;
  const Report report = bench.report();
  for (std::size_t n = 0; n < bench.parts.size(); ++n)
    for (const Json& gap : data["parts"][n]["gaps"])
      for (const SeatGap& known : report.seat_gaps)
        if (known.part == bench.parts[n].report.part.id && known.placement == gap["placement"])
          for (const Json& row : gap["um"])
            for (const Json& um : row)
              if (um.is_number()) {
                REQUIRE(um.get<double>() >= known.least_mm * 1000 - within_um);
                REQUIRE(um.get<double>() <= known.greatest_mm * 1000 + within_um);
              }
}

TEST_CASE("page: nothing in a plan reaches past the part's own outline", "[page]") {
  Bench bench;
  const Json data = page_data(bench.kit, bench.report(), shown(bench));
  for (const Json& part : data.at("parts")) {
    double low[2] = {1e9, 1e9}, high[2] = {-1e9, -1e9};
    for (const Json& f : part.at("plan")) {
      CAPTURE(part.at("id").dump(), f.dump());
      for (const Json& loop : f.at("loops"))
        for (const Json& p : loop)
          for (std::size_t k = 0; k < 2; ++k) {
            const double v = p[k].get<double>();
            if (f.at("kind") == "outline") {
              low[k] = std::min(low[k], v), high[k] = std::max(high[k], v);
            } else {
              // The outline comes first; both are rounded to 0.01 mm.
              CHECK(v >= low[k] - 0.011);
              CHECK(v <= high[k] + 0.011);
            }
          }
    }
  }
}

TEST_CASE("page: a lifted seat shows in the gap map", "[page]") {
  const Bench bench;
  const Report report = bench.report();
  // The same file held against a frame 0.05 mm higher: every square says 50 um more.
  Report higher = report;
  higher.layout.underside.height += 0.05;
  const Json a = page_data(bench.kit, report, shown(bench)), b = page_data(bench.kit, higher, shown(bench));
  std::size_t squares = 0;
  for (std::size_t n = 0; n < bench.parts.size(); ++n)
    for (std::size_t g = 0; g < a["parts"][n]["gaps"].size(); ++g)
      for (std::size_t k = 0; k < a["parts"][n]["gaps"][g]["um"].size(); ++k)
        for (std::size_t i = 0; i < a["parts"][n]["gaps"][g]["um"][k].size(); ++i) {
          const Json &x = a["parts"][n]["gaps"][g]["um"][k][i], &y = b["parts"][n]["gaps"][g]["um"][k][i];
          REQUIRE(x.is_number() == y.is_number());
          if (!x.is_number()) continue;
          ++squares;
          REQUIRE(y.get<double>() - x.get<double>() == Approx(50).margin(0.11));
        }
  REQUIRE(squares > 200);
}

TEST_CASE("page: a set's check finds a page of another revision and one that is gone", "[page]") {
  const Bench bench, next(std::vector<Change>{{"/revision", "B"}});
  const auto folder_of = [](const Bench& b) {
    const Report report = b.report();
    SetFolder folder;
    folder.name = "set";
    folder.report = report_document(report);
    for (const auto& [path, bytes] : files_of(b.kit, report, b.parts)) {
      if (path.find(".stl") != path.npos) folder.files[path] = bytes;
      if (path == checksums_name)
        folder.sums = bytes;
      else
        folder.others[path] = bytes;
    }
    return folder;
  };
  SetFolder folder = folder_of(bench);
  REQUIRE(check_folder(folder).empty());
  const auto named = folder.report["files"];
  REQUIRE(std::find(named.begin(), named.end(), Json(page_name)) != named.end());
  folder.others[page_name] = folder_of(next).others[page_name];
  REQUIRE(check_folder(folder).size() == 1);
  REQUIRE(check_folder(folder)[0].code == "set-file-changed");
  REQUIRE(check_folder(folder)[0].message.find(page_name) != std::string::npos);
  folder.others.erase(page_name);
  REQUIRE(check_folder(folder).size() == 1);
  REQUIRE(check_folder(folder)[0].code == "set-file-changed");
}

namespace {

/// The demo kit with one map beside it: a plane of 0.4 mm up over the mounts' 176 mm to the right, read as stated.
Kit kit_with_map(const Json& convention, double sign, const std::string& text = "") {
  Json kit = demo_kit_document();
  kit["bed_map"] = convention;
  kit["bed_map"]["files"] = {"map.csv"};
  std::string map = "x,y,z\n";
  for (int x = -88; x <= 88; x += 44)
    for (int y = -88; y <= 88; y += 44)
      map += std::to_string(x) + "," + std::to_string(y) + "," + std::to_string(sign * 0.4 * x / 176) + "\n";
  return read_kit(kit.dump(), "kit", Beside{"", true, {{"map.csv", text.empty() ? map : text}}});
}

}  // namespace

TEST_CASE("page: the bed's map says what level says, and shims cure a plane", "[page][level]") {
  const Kit kit = kit_with_map({{"positive_is", "high"}}, 1);
  const Layout layout = settle(kit);
  const Json map = page_bed_map(kit, layout);
  const Json level = level_document(*level_of_kit(kit, layout));
  for (const char* key : {"mounts", "before", "after", "best_possible", "reading"}) REQUIRE(map[key] == level[key]);
  // The plane rises by 0.4 mm from the left mounts to the right ones: 0.4 mm under both left ones flattens it.
  for (const Json& mount : map["mounts"])
    REQUIRE(mount["shim_mm"].get<double>() == Approx(mount["at_mm"][0].get<double>() < 0 ? 0.4 : 0.0));
  REQUIRE(map["before"]["range_mm"].get<double>() == Approx(0.4).margin(1e-4));
  REQUIRE(map["after"]["range_mm"].get<double>() == Approx(0).margin(1e-4));
  // Between the points the plane goes on, from the front left corner's -200 um to +200 at the right.
  const Json& grid = map["grid"];
  for (std::size_t k = 0; k < grid["y_mm"].size(); ++k)
    for (std::size_t i = 0; i < grid["x_mm"].size(); ++i)
      REQUIRE(grid["before_um"][k][i].get<double>() == Approx(400 * grid["x_mm"][i].get<double>() / 176).margin(0.06));
}

TEST_CASE("page: a map read the wrong way doubles the tilt, and the page foretells it", "[page][level]") {
  const Kit kit = kit_with_map({{"positive_is", "high"}}, 1);
  const LevelReport level = *level_of_kit(kit, settle(kit));
  const std::vector<OtherReading> others = other_readings(level, *bed_map_of(kit));
  REQUIRE(others.size() == 15);
  // A plane of 0.4 mm along x. Shims add 0.4 the other way: with the sign wrong 0.8 in all. Turned by a quarter the two
  // slopes are square to each other: 0.8 from corner to corner of a square map. Turned by 180 and the sign wrong:
  // right.
  for (const OtherReading& o : others) {
    const bool along = o.convention.quarter_turns % 2 == 0;
    const bool turned = o.convention.quarter_turns == 2;
    const bool same = along && (turned != o.convention.mirrored) == !o.convention.positive_high;
    CAPTURE(o.convention.quarter_turns, o.convention.mirrored, o.convention.positive_high);
    REQUIRE(o.range_mm == Approx(same ? 0.0 : 0.8).margin(1e-3));
  }
  REQUIRE(others.front().range_mm > others.back().range_mm);
}

TEST_CASE("page: the kit's convention turns its map back", "[page][level]") {
  // Positive is low and left is right: the same plane on the machine.
  const Kit plain = kit_with_map({{"positive_is", "high"}}, 1),
            other = kit_with_map({{"positive_is", "low"}, {"mirrored", true}}, 1);
  const Json a = page_bed_map(plain, settle(plain)), b = page_bed_map(other, settle(other));
  REQUIRE(a["mounts"] == b["mounts"]);
  REQUIRE(a["grid"] == b["grid"]);
  // And a convention that is wrong shows: the shims go to the other side.
  const Kit wrong = kit_with_map({{"positive_is", "low"}}, 1);
  REQUIRE(page_bed_map(wrong, settle(wrong))["mounts"] != a["mounts"]);
}

TEST_CASE("page: a kit without maps has none on its page, and a map counts into the digest", "[page][level]") {
  const Bench bench;
  REQUIRE(page_bed_map(bench.kit, bench.layout).is_null());
  REQUIRE(kit_with_map({{"positive_is", "high"}}, 1).input_sha256 !=
          kit_with_map({{"positive_is", "high"}}, 2).input_sha256);
}

TEST_CASE("page: maps that cannot be read are refused before any part is built", "[page][level]") {
  const Json high = {{"positive_is", "high"}};
  REQUIRE_THROWS_AS(settle(kit_with_map(high, 1, "x,y,z\n1,2,three\n")), BadInput);
  REQUIRE_THROWS_AS(kit_with_map(high, 1, "\xff\xfe"), BadInput);
  Json kit = demo_kit_document();
  const auto refused = [&](const Json& bed_map, const std::string& pointer, const std::string& word) {
    kit["bed_map"] = bed_map;
    try {
      read_kit(kit.dump(), "kit", Beside{"", true, {}});
    } catch (const BadInput& e) {
      for (const Problem& p : e.problems)
        if (p.pointer == pointer && p.message.find(word) != std::string::npos) return true;
    }
    return false;
  };
  REQUIRE(refused({{"positive_is", "high"}, {"files", {"gone.csv"}}}, "/bed_map/files/0", "no such file"));
  REQUIRE(refused({{"positive_is", "high"}, {"files", {"../map.csv"}}}, "/bed_map/files/0", "leaves"));
  REQUIRE(refused({{"positive_is", "high"}, {"extent_mm", {0, 0, 1, 1}}}, "/bed_map/extent_mm", "no map"));
  REQUIRE(refused({{"positive_is", "high"}, {"on", "2026-02-30"}}, "/bed_map/on", "calendar"));
}
