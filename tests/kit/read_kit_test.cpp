// Reading good kits: values, expansion, defaults, notes, checksum, limits.
#include "kit/read_kit.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "kit/corpus.h"
#include "kit/expand.h"
#include "kit/schema_walk.h"

using namespace bedwright;

namespace {

const std::string north_bench = root_path("params/kits/north-bench.json");
const std::string base_kit = root_path("tests/data/kits/good/base.json");

std::string note_at(const std::vector<Note>& notes, const std::string& pointer) {
  for (const Note& note : notes) {
    if (note.pointer == pointer) return note.text;
  }
  return "";
}

/// A folder of its own, removed at the end.
class Folder {
 public:
  explicit Folder(const std::string& name)
      : path_(std::filesystem::temp_directory_path() / ("bedwright-kit-" + name + "-" + std::to_string(getpid()))) {
    std::filesystem::remove_all(path_);
    std::filesystem::create_directories(path_);
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  std::string operator/(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

void write(const std::string& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

std::vector<Problem> problems_of(const std::string& text, const std::string& folder = ".") {
  try {
    read_kit(text, "test", folder);
  } catch (const BadInput& error) {
    return error.problems;
  }
  return {};
}

void require_keyword_known(const Json& schema, const std::string& where) {
  const auto& known = known_schema_keywords();
  for (const auto& [keyword, value] : schema.items()) {
    CAPTURE(where, keyword);
    CHECK(std::find(known.begin(), known.end(), keyword) != known.end());
    if (keyword == "properties" || keyword == "definitions") {
      for (const auto& [name, inner] : value.items()) require_keyword_known(inner, where + "/" + keyword + "/" + name);
    } else if (keyword == "items") {
      require_keyword_known(value, where + "/items");
    } else if (keyword == "oneOf") {
      for (const Json& branch : value) require_keyword_known(branch, where + "/oneOf");
    }
  }
}

/// What a person needs in an editor, and what keeps the reader and other validators of one mind.
void require_complete(const Json& schema, const std::string& where) {
  CAPTURE(where);
  if (schema.contains("properties")) {
    CHECK(schema.value("additionalProperties", true) == false);
    if (where != "#") CHECK(schema["properties"].contains("note"));
    for (const auto& [key, property] : schema["properties"].items()) {
      CAPTURE(key);
      const Json* title = schema_keyword(kit_schema(), property, "title");
      const Json* description = schema_keyword(kit_schema(), property, "description");
      CHECK((title && !title->get<std::string>().empty()));
      CHECK((description && !description->get<std::string>().empty()));
      require_complete(property, where + "/" + key);
    }
  }
  if (schema.contains("$ref")) {
    // Validators ignore what stands beside a reference, so nothing there may constrain.
    for (const auto& [keyword, unused] : schema.items()) {
      CAPTURE(keyword);
      CHECK((keyword == "$ref" || keyword == "title" || keyword == "description" || keyword == "default" ||
             keyword == "x-matters-if"));
    }
  }
  if (schema.contains("type") && (schema["type"] == "number" || schema["type"] == "integer") &&
      where.find("/open_value/range") == std::string::npos) {
    CHECK((schema.contains("minimum") && schema.contains("maximum")));
  }
  if (schema.contains("items")) require_complete(schema["items"], where);
  if (schema.contains("oneOf")) {
    for (const Json& branch : schema["oneOf"]) require_complete(branch, where);
  }
}

/// Every property of the schema that a document uses, by its place in the schema.
void collect_used(const Json& schema, const Json& value, std::vector<const Json*>& used) {
  const Json* branch = schema_branch(kit_schema(), schema, value);
  REQUIRE(branch);
  if (value.is_object() && branch->contains("properties")) {
    for (const auto& [key, member] : value.items()) {
      used.push_back(&branch->at("properties").at(key));
      collect_used(branch->at("properties").at(key), member, used);
    }
  } else if (value.is_array()) {
    for (const Json& each : value) collect_used(branch->at("items"), each, used);
  }
}

}  // namespace

TEST_CASE("the demo kit reads as its file says", "[kit]") {
  const Kit kit = read_kit_file(north_bench);
  CHECK(kit.name == "north-bench");
  CHECK(kit.frame.dome.shape == "sphere");
  CHECK(kit.frame.dome.radius_mm == 2600);
  CHECK(kit.frame.dome.crown_up);
  CHECK_FALSE(kit.frame.dome.measured_on_upper);
  REQUIRE(kit.frame.holes.size() == 4);
  CHECK(kit.frame.holes[0].id == "front-left");
  CHECK(kit.frame.holes[0].at_mm == Vec2{-98, -75});
  CHECK(kit.frame.holes[1].at_mm == Vec2{98, -75});
  CHECK(kit.frame.holes[2].at_mm == Vec2{-98, 75});
  CHECK(kit.frame.holes[3].id == "rear-right");
  CHECK(kit.frame.mounts.size() == 4);
  CHECK(kit.frame.reach_mm == 80);
  CHECK(kit.carriages.size.length_mm == 34.8);
  CHECK(kit.carriages.clearance_um == 5);
  REQUIRE(kit.before);
  CHECK(kit.before->moving_mass_g == 1650.0);
  REQUIRE(kit.bed);
  CHECK(kit.bed->max_temperature_c == 90);
  CHECK(kit.printer.material == "asa");
  CHECK(kit.printer.bed_mm == Vec3{220, 220, 240});
  REQUIRE(kit.parts.size() == 3);
  CHECK(kit.parts[0].pointer == "/parts/0");
  CHECK_FALSE(kit.parts[0].quantity);
  CHECK(kit.parts[1].quantity == 4);
  CHECK(kit.parts[0].settings.at("head_cover_mm") == 0.3);
  CHECK(note_at(kit.notes, "/frame/dome").find("feeler") != std::string::npos);
}

TEST_CASE("a bolt circle runs counter-clockwise from its start", "[kit]") {
  const auto holes = expand_pattern(Json::parse(
      R"({"kind":"bolt_circle","count":4,"circle_mm":200,"start_deg":30,"centre_mm":[10,-5],"diameter_mm":4.5})"));
  REQUIRE(holes.size() == 4);
  // Closed form: centre + r (cos, sin) at 30, 120, 210, 300 degrees.
  const double long_leg = 100 * std::sqrt(3.0) / 2, short_leg = 50;
  const Vec2 expected[] = {{10 + long_leg, -5 + short_leg},
                           {10 - short_leg, -5 + long_leg},
                           {10 - long_leg, -5 - short_leg},
                           {10 + short_leg, -5 - long_leg}};
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(holes[i].id == "h" + std::to_string(i + 1));
    CHECK(length(holes[i].at_mm - expected[i]) < 1e-12 * 200);
    CHECK(holes[i].diameter_mm == 4.5);
  }
}

TEST_CASE("measured values replace the tables", "[kit]") {
  const Kit kit = read_kit_file(root_path("params/kits/every-option.json"));
  CHECK(kit.carriages.size.assembly_height_mm == 13.05);
  CHECK(kit.carriages.size.length_mm == 34.9);
  CHECK(kit.carriages.size.thread_depth_mm == 3.6);
  CHECK(kit.carriages.size.mass_g == 35);
  CHECK(kit.rails.size.height_mm == 7.6);
  CHECK(kit.rails.size.width_mm == 12);
  CHECK(kit.rails.reference == "left");
  CHECK(kit.joints.size() == 3);
  CHECK(kit.joint_rules.settling_share == 0.012);
  CHECK(kit.joint_rules.clamp_limit_mpa == 12);
  CHECK(kit.joint_rules.pattern_plus_minus_mm == 0.08);
  CHECK(kit.rails.under_head_mm == 3.4);
  REQUIRE(kit.rails.base);
  CHECK(kit.rails.base->depth_mm == 6);
  CHECK(kit.rails.base->clear_mm == 8);
  CHECK(kit.joints[1].at("behind") == "unknown");
  CHECK(kit.joints[1].at("head") == "socket");
  CHECK(kit.keep_outs.size() == 1);
  CHECK(kit.open.size() == 2);
  CHECK(kit.stock.size() == 2);
  CHECK(kit.bed_map.at("turned_deg") == 90);
}

TEST_CASE("every default used is stated with its unit", "[kit]") {
  const Kit kit = read_kit_file(base_kit);
  CHECK(note_at(kit.assumed, "/frame/reach_mm") == "80 mm");
  CHECK(note_at(kit.assumed, "/printer/line_mm") == "0.45 mm");
  CHECK(note_at(kit.assumed, "/printer/bed_mm") == "220, 220, 240 mm");
  CHECK(note_at(kit.assumed, "/printer/compensation/hole_mm") == "0 mm");
  CHECK(note_at(kit.assumed, "/frame/dome/measured_on") == "underside");
  CHECK(note_at(kit.assumed, "/parts/0/boss_side") == "down");
  CHECK(note_at(kit.assumed, "/parts/0/frame_screw") == "M4");
  CHECK(note_at(kit.assumed, "/parts/2/quantity") == "1");
  CHECK(note_at(kit.assumed, "/tolerance/chord_mm") == "0.01 mm");
  CHECK(note_at(kit.assumed, "/joint_rules/tip_clearance_mm") == "0.3 mm");
  CHECK(kit.joint_rules.engagement_pitches == 5);
  // Given, so not assumed; and defaults that change nothing stay quiet.
  CHECK(note_at(kit.assumed, "/printer/layer_mm").empty());
  CHECK(note_at(kit.assumed, "/parts/0/pad_diameter_mm").empty());
  CHECK(note_at(kit.assumed, "/parts/0/slot_axis").empty());
  CHECK(kit.parts[0].settings.at("slot_axis") == "x");
}

TEST_CASE("a preload word stands for a typical play, and says so", "[kit]") {
  const auto with = [](const char* preload) {
    return read_kit_file(root_path("params/kits/tall-bench.json"), {{"/carriages/preload", preload}});
  };
  // Common practice, no source: clearance class 4 to 10 um, the others none.
  CHECK(with("clearance").carriages.clearance_um == 7);
  CHECK(with("zero").carriages.clearance_um == 0);
  CHECK(with("light").carriages.clearance_um == 0);
  CHECK(note_at(with("zero").assumed, "/carriages/clearance_um") ==
        "0 um, typical of preload class zero (common practice)");
  const Kit silent = read_kit_file(root_path("tests/data/kits/good/least.json"));
  CHECK(silent.carriages.clearance_um == 7);
  CHECK(note_at(silent.assumed, "/carriages/clearance_um").find("clearance") != std::string::npos);
}

TEST_CASE("defaults that would not fit a small part are cut to it", "[kit]") {
  const Kit thin = read_kit_file(root_path("tests/data/kits/good/thin-spacer.json"));
  CHECK(thin.parts[1].settings.at("bottom_chamfer_mm") == 0.2);
  CHECK(note_at(thin.assumed, "/parts/1/bottom_chamfer_mm").find("0.2 mm") == 0);
  const Kit small = read_kit_file(root_path("tests/data/kits/good/small-rectangle.json"));
  CHECK(small.parts[1].settings.at("corner_radius_mm") == 1.5);
}

TEST_CASE("what is kept but not used is stated", "[kit]") {
  const Kit flat = read_kit_file(root_path("tests/data/kits/good/flat-keeps-its-old-radius.json"));
  CHECK(flat.frame.dome.shape == "flat");
  CHECK(flat.frame.dome.radius_mm == 0);
  CHECK(note_at(flat.assumed, "/frame/dome/radius_mm") == "not used: the frame is flat");
  const Kit shim = read_kit_file(root_path("tests/data/kits/good/carriage-shim.json"));
  CHECK(note_at(shim.assumed, "/parts/2/outer_mm") == "not used: outline is carriage");
}

TEST_CASE("placements stand in placement order and set the quantity", "[kit]") {
  const Kit kit = read_kit_file(root_path("tests/data/kits/good/number-of-placements.json"));
  CHECK(kit.parts[1].placements == std::vector<std::string>{"front-left", "rear-right"});
  CHECK(kit.parts[1].quantity == 2);
}

TEST_CASE("every note of the file is kept", "[kit]") {
  const Kit kit = read_kit_file(root_path("tests/data/kits/good/notes-everywhere.json"));
  CHECK(kit.notes.size() == 8);
  CHECK(note_at(kit.notes, "") == "a");
  CHECK(note_at(kit.notes, "/frame/hole_pattern") == "d");
  CHECK(note_at(kit.notes, "/parts/0") == "\xc3\xbc");
}

TEST_CASE("the checksum follows the values, not the spelling", "[kit]") {
  const std::string text = file_text(base_kit);
  const std::string checksum = read_kit(text, "a", ".").input_sha256;
  // SHA-256 of the canonical text; the number is held by reading the same kit written otherwise.
  CHECK(read_kit(Json::parse(text).dump(), "b", ".").input_sha256 == checksum);
  std::string spelt = text;
  spelt.replace(spelt.find("2600"), 4, "2.6e3");
  CHECK(read_kit(spelt, "c", ".").input_sha256 == checksum);
  CHECK(read_kit_file(root_path("tests/data/kits/good/byte-order-mark.json")).input_sha256 == checksum);
  CHECK(read_kit_file(root_path("tests/data/kits/good/windows-lines.json")).input_sha256 == checksum);
  CHECK(read_kit(text, "d", ".", {{"/frame/dome/radius_mm", "2601"}}).input_sha256 != checksum);
  CHECK(read_kit(text, "e", ".", {{"/frame/note", "x"}}).input_sha256 != checksum);
}

TEST_CASE("a kit over the limit is refused before it is parsed", "[kit]") {
  const std::string text(largest_kit_bytes + 1, ' ');
  const auto problems = problems_of(text);
  REQUIRE(problems.size() == 1);
  CHECK(problems[0].message.find("1048576") != std::string::npos);
  const Folder folder("limit");
  write(folder / "large.json", text);
  CHECK_THROWS_AS(read_kit_file(folder / "large.json"), BadInput);
  // At the limit it is only an unusual kit.
  std::string padded = file_text(base_kit);
  padded += std::string(largest_kit_bytes - padded.size(), ' ');
  write(folder / "full.json", padded);
  CHECK_NOTHROW(read_kit_file(folder / "full.json"));
}

TEST_CASE("a file that cannot be read is no bad input", "[kit]") {
  CHECK_THROWS_AS(read_kit_file(root_path("no-such-kit.json")), FileError);
  CHECK_THROWS_AS(read_kit_file(root_path("params")), FileError);
}

TEST_CASE("a link out of the kit's folder is seen through", "[kit]") {
  const Folder folder("link");
  std::filesystem::create_directories(folder / "kit");
  const char* grid = "-90,-70,0\n0,-70,1\n90,-70,0\n-90,0,1\n0,0,2\n90,0,1\n-90,70,0\n0,70,1\n90,70,0\n";
  write(folder / "outside.csv", grid);
  write(folder / "kit/inside.csv", grid);
  std::filesystem::create_symlink(folder / "outside.csv", folder / "kit/link.csv");
  Json kit = Json::parse(file_text(base_kit));
  const auto pointers_with = [&](const char* points) {
    kit["frame"]["dome"] = {{"shape", "measured"}, {"points", points}};
    std::vector<std::string> pointers;
    for (const Problem& problem : problems_of(kit.dump(), folder / "kit")) pointers.push_back(problem.pointer);
    return pointers;
  };
  CHECK(pointers_with("link.csv") == std::vector<std::string>{"/frame/dome/points"});
  CHECK(pointers_with("inside.csv").empty());
}

TEST_CASE("hostile text is refused, never crashes", "[kit]") {
  const std::string text = file_text(base_kit);
  // Every prefix, and every single byte replaced by one that breaks words: read or refused, nothing else thrown.
  const std::size_t end = text.find_last_of('}');
  for (std::size_t size = 0; size <= end; ++size) {
    if (problems_of(text.substr(0, size)).empty()) FAIL_CHECK("a kit cut off after " << size << " bytes is read");
  }
  for (std::size_t i = 0; i < text.size(); i += 3) {
    for (const char c : {'\0', '"', '}', '\xff', '9', '/'}) {
      std::string other = text;
      other[i] = c;
      CHECK_NOTHROW(problems_of(other));
    }
  }
}

TEST_CASE("wrong types anywhere are problems, never crashes", "[kit]") {
  for (const std::string& file :
       {north_bench, root_path("params/kits/every-option.json"), root_path("params/kits/tall-bench.json")}) {
    const Json document = Json::parse(file_text(file));
    // Objects and lists too, not only leaves.
    std::vector<std::string> pointers;
    const Json leaves = document.flatten();
    for (const auto& [leaf, unused] : leaves.items()) {
      for (std::string at = leaf; !at.empty(); at = at.substr(0, at.find_last_of('/'))) pointers.push_back(at);
    }
    std::sort(pointers.begin(), pointers.end());
    pointers.erase(std::unique(pointers.begin(), pointers.end()), pointers.end());
    for (const std::string& pointer : pointers) {
      for (const Json& wrong :
           {Json(), Json(true), Json(-1e300), Json("x"), Json::array(), Json::object(), Json{1, "a"}}) {
        Json other = document;
        other[Json::json_pointer(pointer)] = wrong;
        CAPTURE(pointer, wrong);
        CHECK_NOTHROW(problems_of(other.dump()));
      }
    }
  }
}

TEST_CASE("the reader understands every keyword of the schema", "[kit][schema]") {
  require_keyword_known(kit_schema(), "#");
}

TEST_CASE("the schema is strict, explains itself, and states every range", "[kit][schema]") {
  require_complete(kit_schema(), "#");
  for (const auto& [name, schema] : kit_schema().at("definitions").items())
    require_complete(schema, "#/definitions/" + name);
}

TEST_CASE("every default of the schema passes the schema", "[kit][schema]") {
  // A kit read once, written out with its defaults and read again, has nothing left to assume in its parts.
  const Kit kit = read_kit_file(base_kit);
  Json again = Json::parse(file_text(base_kit));
  for (std::size_t i = 0; i < kit.parts.size(); ++i) again["parts"][i] = kit.parts[i].settings;
  const Kit second = read_kit(again.dump(), "again", ".");
  for (const Note& note : second.assumed) CHECK(note.pointer.find("/parts/") != 0);
}

TEST_CASE("the practice kits use every option of the schema", "[kit][schema]") {
  std::vector<const Json*> used;
  std::vector<Json> documents;
  for (const std::string& file : kit_files("params/kits")) documents.push_back(Json::parse(file_text(file)));
  for (const Json& document : documents) collect_used(kit_schema(), document, used);
  const auto check = [&](const Json& properties, const std::string& where) {
    for (const auto& [key, schema] : properties.items()) {
      if (key == "note") continue;
      CAPTURE(where, key);
      CHECK(std::find(used.begin(), used.end(), &schema) != used.end());
    }
  };
  for (const char* top :
       {"tolerance", "frame", "rails", "carriages", "before", "bed", "printer", "bed_map", "publish", "drawing"}) {
    check(kit_schema().at("properties").at(top).at("properties"), top);
  }
  for (const char* name :
       {"adapter_plate", "spacer", "shim", "spacer_hole", "listed_hole", "joint", "joint_layer", "anchor", "keep_out",
        "open_value", "stock_row", "placed_shim", "foot_gap", "tested_thing", "revision_note"}) {
    check(kit_schema().at("definitions").at(name).at("properties"), name);
  }
}
