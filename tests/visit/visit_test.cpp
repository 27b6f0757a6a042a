// A stranger's visit to a published kit: what is open, what is refused, how it fits, and that going back and forth
// gives the very files that make gives.
#include "visit/visit.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "visit/visit_text.h"
#include "visit/visitor_map.h"

using namespace bedwright;

namespace {

std::string kit_file(const std::string& name) {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::map<std::string, std::string> beside() {
  return {{"licence.txt", kit_file("licence.txt")}};
}

Visit shared_visit() {
  return Visit(kit_file("shared-bench.json"), beside());
}

void finish(Visit& visit) {
  while (visit.step()) {
  }
}

Kit shared_kit(const std::vector<Setting>& values = {}) {
  return read_kit(kit_file("shared-bench.json"), "kit.json", Beside{"", true, beside()}, values);
}

/// The set as a run without any visit makes it.
std::map<std::string, std::string> set_of(const Kit& kit) {
  const Layout layout = settle(kit);
  std::vector<MadePart> made;
  for (const Part& part : keyed_parts(kit, layout)) made.push_back(make_part(kit, layout, part));
  for (std::size_t i = 0; i < made.size(); ++i) compare_made(made, i);
  return files_of(kit, assemble(kit, layout, made, {}), made);
}

const OpenField& field(const std::vector<OpenField>& fields, const std::string& pointer) {
  for (const OpenField& f : fields)
    if (f.pointer == pointer) return f;
  throw Error("no field " + pointer);
}

std::vector<Problem> problems_with(Visit& visit, const std::vector<Setting>& values) {
  try {
    visit.begin(values);
  } catch (const BadInput& e) {
    return e.problems;
  }
  return {};
}

}  // namespace

TEST_CASE("visit: what the author opens comes as fields, with unit, value and range", "[visit]") {
  const std::vector<OpenField> fields = shared_visit().fields();
  REQUIRE(fields.size() == 4);
  const OpenField& radius = field(fields, "/frame/dome/radius_mm");
  CHECK(radius.label == "Radius of the frame's dome");
  CHECK(radius.kind == "number");
  CHECK(radius.unit == "mm");
  CHECK(radius.value == "2400");
  CHECK(*radius.least == 800);
  CHECK(*radius.greatest == 20000);
  const OpenField& pitch = field(fields, "/frame/hole_pattern/pitch_mm");
  CHECK(pitch.kind == "list");
  CHECK(Json::parse(pitch.value) == Json({138, 104}));
  // Where the author gives no words, the schema's stand in.
  CHECK_FALSE(field(fields, "/parts/1/thickness_mm").help.empty());
}

TEST_CASE("visit: a value that is not open, twice there or out of range is refused at its pointer", "[visit]") {
  Visit visit = shared_visit();
  const std::vector<OpenField>& fields = visit.fields();
  CHECK(problems_of(fields, {{"/frame/dome/radius_mm", "2450"}}).empty());
  const auto one = [&](const std::vector<Setting>& values) {
    const std::vector<Problem> problems = problems_of(fields, values);
    REQUIRE(problems.size() == 1);
    return problems.front();
  };
  CHECK(one({{"/rails/pitch_mm", "100"}}).message.find("not among the values") != std::string::npos);
  CHECK(one({{"/frame/dome/radius_mm", "799"}}).message.find("800 to 20000 mm") != std::string::npos);
  CHECK(one({{"/frame/dome/radius_mm", "20001"}}).pointer == "/frame/dome/radius_mm");
  CHECK(one({{"/frame/dome/radius_mm", "2450"}, {"/frame/dome/radius_mm", "2460"}}).message == "is given twice");
  // What only the kit's reader knows to be wrong it says itself.
  const std::vector<Problem> read = problems_with(visit, {{"/frame/dome/radius_mm", "a lot"}});
  REQUIRE_FALSE(read.empty());
  CHECK(read.front().pointer == "/frame/dome/radius_mm");
}

TEST_CASE("visit: values that are refused leave the set as it was", "[visit]") {
  Visit visit = shared_visit();
  visit.begin({});
  finish(visit);
  const std::string before = visit.files().at("report.json");
  CHECK_FALSE(problems_with(visit, {{"/frame/dome/radius_mm", "1"}}).empty());
  CHECK(visit.done());
  CHECK(visit.files().at("report.json") == before);
}

TEST_CASE("visit: going to other values and back gives the files that make gives", "[visit]") {
  const std::vector<Setting> other = {{"/frame/dome/radius_mm", "2700.5"}, {"/frame/sheet_thickness_mm", "2.4"}};
  Visit visit = shared_visit();
  const auto published = set_of(shared_kit()), mine = set_of(shared_kit(other));
  visit.begin({});
  finish(visit);
  CHECK(visit.files() == published);
  visit.begin(other);
  CHECK_FALSE(visit.done());
  finish(visit);
  CHECK(visit.files() == mine);
  visit.begin(other);
  visit.step();  // dropped half way
  visit.begin({});
  finish(visit);
  CHECK(visit.files() == published);
  CHECK(published != mine);
}

TEST_CASE("visit: the kit file with the values is read as the values are", "[visit]") {
  const std::vector<Setting> values = {{"/frame/dome/radius_mm", "2451.5"},
                                       {"/frame/hole_pattern/pitch_mm", "[139.2,104]"},
                                       {"/parts/1/thickness_mm", "7"}};
  const std::string text = kit_text_with(kit_file("shared-bench.json"), values);
  CHECK(text != kit_file("shared-bench.json"));
  const Kit read = read_kit(text, "kit.json", Beside{"", true, beside()});
  CHECK(read.input_sha256 == shared_kit(values).input_sha256);
  CHECK(kit_text_with(kit_file("shared-bench.json"), {}) == kit_file("shared-bench.json"));
}

TEST_CASE("visit: the fit is the envelope's, and what was asked for besides is made", "[visit]") {
  Visit visit = shared_visit();
  visit.begin({});
  finish(visit);
  const auto told = [&](const std::vector<Setting>& values) {
    visit.begin(values);
    finish(visit);
    return visit.verdict();
  };
  // The published envelope's own limits: docs/commands/fit-envelope.md says how they come about.
  Json row;
  const Json published = visit.verdict();
  for (const Json& r : published.at("envelope"))
    if (r.at("id") == "dome-radius") row = r;
  REQUIRE_FALSE(row.is_null());
  const auto radius = [&](double mm) { return told({{"/frame/dome/radius_mm", std::to_string(mm)}}).at("fits"); };
  CHECK(radius(row["yes_mm"][1].get<double>() - 1) == "as-published");
  CHECK(radius(row["yes_mm"][1].get<double>() + 1) == "with-help");
  CHECK(radius(row["with_mm"][1].get<double>() - 1) == "with-help");
  CHECK(radius(row["with_mm"][1].get<double>() + 1) == "needs-parts");
  CHECK(radius(row["with_mm"][0].get<double>() - 1) == "needs-parts");

  const Json thick = told({{"/frame/sheet_thickness_mm", "3.4"}});
  CHECK(thick.at("fits") == "with-help");
  CHECK(thick.at("with") == "M3x12 screws in place of M3x10");
  const Json riser = told({{"/parts/1/thickness_mm", "7"}});
  CHECK(riser.at("fits") == "needs-parts");
  CHECK(riser.at("parts") == Json({"riser"}));
  const Json both = told({{"/parts/1/thickness_mm", "7"}, {"/frame/dome/radius_mm", "4000"}});
  CHECK(both.at("parts") == Json({"adapter-a", "adapter-b", "riser"}));
  const Json none = told({});
  CHECK(none.at("fits") == "as-published");
  CHECK(none.at("parts").empty());
}

TEST_CASE("visit: a part that is suited to how it is printed is no other part", "[visit]") {
  // Its plates stand on an edge when printed: their holes get points, the edge a chamfer.
  Json kit = Json::parse(kit_file("north-bench.json"));
  kit["open"] = Json::array({{{"pointer", "/frame/dome/radius_mm"}}});
  Visit visit(kit.dump(), {});
  for (const char* radius : {"2600", "2601"}) {
    visit.begin(std::string(radius) == "2600" ? std::vector<Setting>{}
                                              : std::vector<Setting>{{"/frame/dome/radius_mm", radius}});
    finish(visit);
    CHECK(visit.verdict().at("fits") == "as-published");
    CHECK(visit.verdict().at("parts").empty() == (std::string(radius) == "2600"));
  }
}

TEST_CASE("visit: what an envelope does not know is not left to it", "[visit]") {
  const Kit published = shared_kit();
  Kit other = published;
  CHECK(machine_between(published, other));
  other.frame.dome.apex_mm = {3, 0};
  CHECK_FALSE(machine_between(published, other));
  other = published;
  other.frame.dome.crown_up = !other.frame.dome.crown_up;
  CHECK_FALSE(machine_between(published, other));
  other = published;
  other.frame.holes[0].at_mm.x += 0.5;  // one hole alone is no other pitch
  CHECK_FALSE(machine_between(published, other));
  other = published;
  for (FrameHole& h : other.frame.holes) h.diameter_mm += 0.1;
  CHECK_FALSE(machine_between(published, other));
  other = shared_kit({{"/frame/hole_pattern/pitch_mm", "[140,103]"}, {"/frame/dome/radius_mm", "4800"}});
  const auto machine = machine_between(published, other);
  REQUIRE(machine);
  CHECK(machine->pitch_x_mm == Approx(2));
  CHECK(machine->pitch_y_mm == Approx(-1));
  CHECK(machine->curvature_share == Approx(0.5));
}

TEST_CASE("visit text: what is written is read again, also out of a mail", "[visit]") {
  VisitText text;
  text.kit = "shared-bench";
  text.revision = "B";
  text.inputs = "0123456789ab";
  text.values = {{"/frame/dome/radius_mm", "2604"}, {"/frame/hole_pattern/pitch_mm", "[139.2,104]"}};
  text.taken = {"/frame/dome/radius_mm straightedge 200 mm gap 1.92 mm"};
  const std::string written = to_text(text);
  const auto same = [&](const VisitText& read) {
    CHECK(read.kit == text.kit);
    CHECK(read.revision == text.revision);
    CHECK(read.inputs == text.inputs);
    CHECK(read.values == text.values);
    CHECK(read.taken == text.taken);
  };
  same(read_visit(written, "text"));
  std::string mailed = "Dear author,\r\nit fits.\r\n\r\n";
  for (const char c : written)
    mailed += c == '\n' ? std::string("\r\n") : std::string(mailed.back() == '\n' ? "> " : "") + c;
  same(read_visit(mailed + "\r\nGreetings\r\n", "mail"));
}

TEST_CASE("visit text: cut anywhere or one letter changed, it is refused", "[visit]") {
  VisitText text{"shared-bench", "B", "0123456789ab", {{"/frame/dome/radius_mm", "2604"}}, {}};
  const std::string written = to_text(text);
  for (std::size_t i = 0; i + 1 < written.size(); ++i) {
    CAPTURE(i);
    CHECK_THROWS_AS(read_visit(written.substr(0, i), "cut"), BadInput);
    std::string changed = written;
    changed[i] = changed[i] == 'x' ? 'y' : 'x';
    CHECK_THROWS_AS(read_visit(changed, "changed"), BadInput);
  }
  CHECK_THROWS_AS(read_visit(std::string(largest_visit_bytes + 1, 'a'), "long"), BadInput);
}

TEST_CASE("visit: a map of a bed without three mounts, or larger than any map, is refused", "[visit]") {
  Kit kit = shared_kit();
  CHECK_THROWS_WITH(level_visitor_map(kit, {std::string((std::size_t(64) << 20) + 1, ' '), {}, {}}),
                    Catch::Contains("is larger than any map"));
  kit.frame.mounts.resize(2);
  CHECK_THROWS_WITH(level_visitor_map(kit, {"x,y,z\n0,0,0\n", {}, {}}),
                    Catch::Contains("/frame/bed_mounts: this kit names no three mounts to put shims under"));
}

TEST_CASE("visit text: more values than any kit opens are refused at their line", "[visit]") {
  VisitText text{"shared-bench", "B", "000000000000", {}, {}};
  for (std::size_t i = 0; i <= most_visit_values; ++i) text.values.emplace_back("/a/" + std::to_string(i), "1");
  // The first line, the kit's, and 61 values.
  CHECK_THROWS_WITH(read_visit(to_text(text), "t"),
                    Catch::Contains("line 63: more values than any kit opens (is it another file?)"));
}
