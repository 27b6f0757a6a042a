// tests/data/refusals.json, "kits" and "readers": one mistake a row, and every line that its refusal must hold, whole:
// JSON pointer or line, value, range, likely slip.
#include "refusals.h"

#include <catch2/catch.hpp>
#include <functional>
#include <map>

#include "base/csv.h"
#include "base/delimited.h"
#include "base/error.h"
#include "gauge/read_mesh.h"
#include "kit/read_kit.h"
#include "output/calibrate_report.h"
#include "output/checksums.h"
#include "output/variants.h"
#include "survey/bed_map.h"
#include "survey/read_points.h"
#include "survey/soft_foot.h"
#include "visit/visit_text.h"

using namespace bedwright;

namespace {

/// What is told of a mistake, a line each; none if nothing is refused.
std::vector<std::string> told(const std::function<void()>& read) {
  std::vector<std::string> lines;
  try {
    read();
  } catch (const BadInput& e) {
    for (const Problem& p : e.problems) lines.push_back(to_text(p));
  } catch (const BadUsage& e) {
    lines.push_back(e.what());
  }
  return lines;
}

void read_changed(const Json& row) {
  const Json kit = kit_of_row(row);
  std::vector<Setting> settings;
  for (const Json& setting : row.value("set", Json::array()))
    settings.push_back(parse_setting(setting.get<std::string>()));
  Beside beside{root_path("params/kits"), false, {}};
  if (row.contains("beside")) {
    beside.in_memory = true;
    for (const auto& [name, text] : row["beside"].items()) beside.files[name] = text.get<std::string>();
  }
  read_kit(row.contains("text") ? row["text"].get<std::string>() : kit.dump(), "kit.json", beside, settings);
}

const std::vector<std::string> corners = {"front-left", "front-right", "rear-left", "rear-right"};

const std::map<std::string, std::function<void(const std::string&)>> readers = {
    {"table of words", [](const std::string& text) { read_text_table(text, "t"); }},
    {"table of three columns", [](const std::string& text) { read_number_table(text, "t", 3); }},
    {"map", [](const std::string& text) { read_bed_map(text, "t", std::nullopt); }},
    {"grid of a map",
     [](const std::string& text) {
       read_bed_map(text, "t", GridExtent{{0, 0}, {200, 200}});
     }},
    {"points", [](const std::string& text) { points_of_table(text, "t"); }},
    {"profile", [](const std::string& text) { profile_of_table(text, "t"); }},
    {"gaps", [](const std::string& text) { read_soft_foot(text, "t", corners); }},
    {"visitor's text", [](const std::string& text) { read_visit(text, "t"); }},
    {"grid of a map without width",
     [](const std::string& text) {
       read_bed_map(text, "t", GridExtent{{0, 0}, {0, 200}});
     }},
    {"coupon", [](const std::string& text) { read_coupon_table(text, "t"); }},
    {"checksums", [](const std::string& text) { read_checksums(text, "t"); }},
    {"numbered checksums",
     [](const std::string& text) {
       std::string lines;
       int n = 0;
       for (std::size_t from = 0, to; (to = text.find("part-", from)) != text.npos; from = to + 5)
         lines += text.substr(from, to + 5 - from) + std::to_string(++n) + "\n";
       read_checksums(lines, "t");
     }},
    {"variants",
     [](const std::string& text) { read_variants(text, "t", file_text(root_path("params/kits/north-bench.json"))); }},
    {"STL", [](const std::string& text) { read_stl(text, "t"); }},
};

void check_rows(const char* list, const std::function<void(const Json&)>& read) {
  for_refusals(list, [&](const Json& row) {
    const auto lines = told([&] { read(row); });
    CHECK(lines == row.at("says").get<std::vector<std::string>>());
  });
}

}  // namespace

TEST_CASE("refusals: every mistake in a kit is told with its pointer, value, range and likely slip",
          "[kit][refusals]") {
  check_rows("kits", read_changed);
}

TEST_CASE("refusals: every mistake in a table or a file is told with its line", "[kit][refusals]") {
  check_rows("readers", [](const Json& row) {
    std::string text = row.at("text").get<std::string>();
    // A file of a size that nobody should send.
    if (row.contains("filled_to")) text.resize(row["filled_to"].get<std::size_t>(), ' ');
    if (row.contains("times")) {
      const std::string once = text;
      for (int i = 1; i < row["times"].get<int>(); ++i) text += once;
    }
    readers.at(row.at("reader").get<std::string>())(text);
  });
}
