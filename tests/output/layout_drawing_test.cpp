#include "output/layout_drawing.h"

#include <catch2/catch.hpp>

#include "base/numbers.h"
#include "checks/bench.h"
#include "output/layout_report.h"

using namespace bedwright;

namespace {

std::string drawing(const std::vector<Change>& changes) {
  const Kit kit = read_kit(bench_json(changes).dump(), "bench", ".");
  const Layout layout = settle(kit);
  return layout_drawing_svg(kit, layout, rail_lines(kit, layout));
}

std::size_t count(const std::string& text, const std::string& word) {
  std::size_t n = 0;
  for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("layout drawing: true to the scale that it states, on the sheet", "[move]") {
  const std::string svg = drawing({});
  const std::size_t at = svg.find("scale 1:");
  REQUIRE(at != std::string::npos);
  const double scale = std::stod(svg.substr(at + 8));
  // Rails of 370 x 12: twice from above, once from the side (7.75 high).
  CHECK(count(svg, "width=\"" + decimal(12 / scale, 2) + "\" height=\"" + decimal(370 / scale, 2) + "\"") == 2);
  CHECK(count(svg, "width=\"" + decimal(370 / scale, 2) + "\"") == 1);
  // Carriages of 27 x 34.8.
  CHECK(count(svg, "width=\"" + decimal(27 / scale, 2) + "\" height=\"" + decimal(34.8 / scale, 2) + "\"") == 4);
  // The bar of 100 mm.
  CHECK(count(svg, "100 mm: measure it on the paper") == 1);
  // Everything on the sheet: the bed's extremes are inside.
  for (std::size_t i = svg.find("<rect x=\""); i != std::string::npos; i = svg.find("<rect x=\"", i + 1)) {
    const double x = std::stod(svg.substr(i + 9)), y = std::stod(svg.substr(svg.find("y=\"", i) + 3));
    CHECK(x >= 0);
    CHECK(x <= 297);
    CHECK(y >= 0);
    CHECK(y <= 210);
  }
}

TEST_CASE("layout drawing: a longer machine takes a smaller scale, and texts are escaped", "[move]") {
  const std::string svg = drawing({{"/rails/length_mm", 900}, {"/rails/travel_mm", 500}, {"/rails/pads", Json::array()}});
  CHECK(std::stod(svg.substr(svg.find("scale 1:") + 8)) > 5);
  CHECK(count(svg, "<svg") == 1);
}

TEST_CASE("layout: the document has every answer, and the text names what is not told", "[move]") {
  Json plain = bench_json({});
  for (const char* key : {"before", "base", "drive"}) plain.erase(key);
  const Kit kit = read_kit(plain.dump(), "bench", ".");
  const Layout layout = settle(kit);
  const MachineAnswers answers = machine_answers(kit, layout, {});
  const Json document = layout_document(kit, layout, derive_parts(kit, layout), answers);
  for (const char* key : {"heights", "constraints", "rails", "rocking_points", "diagnosis", "moving_mass", "figures"}) {
    CAPTURE(key);
    CHECK(document.contains(key));
  }
  CHECK(document["travel"]["available_mm"] == 237.2);
  CHECK(document["heights"]["rise"].is_null());
  const std::string text = layout_text(kit, layout, derive_parts(kit, layout), answers);
  CHECK_THAT(text, Catch::Contains("not told: before: rocking, heights and masses"));
  CHECK_THAT(text, Catch::Contains("New rails do not cure"));
  std::size_t start = 0;
  for (std::size_t end = text.find('\n'); end != std::string::npos; start = end + 1, end = text.find('\n', start))
    CHECK(end - start <= 110);
}
