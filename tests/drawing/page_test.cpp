// Line kinds, letters and the two back ends.
#include "drawing/page.h"

#include <catch2/catch.hpp>

#include "drawing/annotate.h"
#include "drawing/sheet.h"

using namespace bedwright;
using Catch::Matchers::Contains;

TEST_CASE("pages: widths and dashes are those of ISO 128-2's line group 0.5", "[drawing]") {
  // Dashes in widths: dashed 12 and 3, long-dashed dotted 24, 3, 0.5, 3 (ISO 128-2, table 3).
  CHECK(pen_style(Pen::visible).width_mm == 0.5);
  CHECK(pen_style(Pen::visible).dashes.empty());
  for (const Pen pen : {Pen::hidden, Pen::centre, Pen::thin, Pen::hatch}) CHECK(pen_style(pen).width_mm == 0.25);
  CHECK(pen_style(Pen::hidden).dashes == std::vector<double>{12 * 0.25, 3 * 0.25});
  CHECK(pen_style(Pen::centre).dashes == std::vector<double>{24 * 0.25, 3 * 0.25, 0.5 * 0.25, 3 * 0.25});
  CHECK(pen_style(Pen::thin).dashes.empty());
  CHECK(pen_style(Pen::cut_end).width_mm == 0.5);
  CHECK(pen_style(Pen::frame).width_mm == 0.7);  // ISO 5457
}

TEST_CASE("pages: both back ends use those widths and dashes", "[drawing]") {
  Page page;
  page.line(Pen::hidden, {10, 10}, {20, 10});
  const std::string svg = to_svg(page);
  CHECK_THAT(svg, Contains(".hidden{stroke-width:0.25;stroke-dasharray:3,0.75}"));
  CHECK_THAT(svg, Contains("<path class=\"hidden\" d=\"M10 287L20 287\"/>"));
}

TEST_CASE("pages: a text is as wide as Helvetica's metric says", "[drawing]") {
  // Adobe Core 14 font metrics: A 667, period 278, 1 556, capitals 718 high.
  CHECK(words_width_mm("A", 7.18) == Approx(6.67));
  CHECK(words_width_mm("1.1", 7.18) == Approx(5.56 + 2.78 + 5.56));
  const PaperBox level = box_of({{10, 20}, 7.18, Align::right, false, "A"});
  CHECK(level.low.x == Approx(10 - 6.67));
  CHECK(level.high.y == Approx(27.18));
  const PaperBox turned = box_of({{10, 20}, 7.18, Align::middle, true, "A"});
  CHECK(turned.low.x == Approx(10 - 7.18));
  CHECK(turned.high.y == Approx(20 + 6.67 / 2));
}

TEST_CASE("pages: a line through a box is told from one that passes or touches it", "[drawing]") {
  const PaperBox box{{10, 10}, {20, 14}};
  CHECK(runs_through({0, 12}, {30, 12}, box));
  CHECK(runs_through({12, 11}, {13, 12}, box));
  CHECK(runs_through({8, 8}, {22, 16}, box));
  CHECK_FALSE(runs_through({0, 14}, {30, 14}, box));
  CHECK_FALSE(runs_through({0, 15}, {30, 15}, box));
  CHECK_FALSE(runs_through({5, 16}, {12, 30}, box));
}

TEST_CASE("pages: running dimensions spread by no more than they must", "[drawing]") {
  CHECK(spread({0, 10, 20}, 4) == std::vector<double>{0, 10, 20});
  const std::vector<double> near = spread({0, 1, 30}, 4);
  CHECK(near[0] == Approx(-1.5));
  CHECK(near[1] == Approx(2.5));
  CHECK(near[2] == Approx(30));
}

TEST_CASE("pages: hostile text stays text in SVG and PDF", "[drawing]") {
  TitleBlock title;
  title.kit = "<script>alert(1)</script>";
  title.title = "a) (b \\ \"c\" & d";
  title.part = "\xd0\x96\xd1\x83\xd0\xba \xe2\x8c\x80 \xff";  // Cyrillic, a diameter sign, a broken byte
  title.revision = "A", title.what = "]]>", title.material = "asa", title.scale = "1:1", title.general = "m";
  const Page page = framed_sheet(sheet_a4, title);
  const std::string svg = to_svg(page);
  CHECK_THAT(svg, !Contains("<script"));
  CHECK_THAT(svg, Contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
  CHECK_THAT(svg, Contains("a) (b \\ &quot;c&quot; &amp; d"));
  CHECK_THAT(svg, !Contains("]]>"));
  // The PDF's title stands in the open; pages are packed (tests/drawing/pdf_referee.py reads those).
  const std::string pdf = to_pdf({page}, "x) (y \\ \xd0\x96 \xe2\x8c\x80");
  CHECK_THAT(pdf, Contains("/Title (x\\) \\(y \\\\ ? \\330)"));
}

TEST_CASE("pages: the projection symbol's circles stand at the right in first angle, at the left in third",
          "[drawing]") {
  for (const bool third : {false, true}) {
    Page page;
    projection_symbol(page, {100, 100}, third);
    REQUIRE(page.rings.size() == 2);
    CHECK((page.rings[0].centre.x > 100) == !third);
    CHECK(page.rings[1].radius == Approx(2 * page.rings[0].radius));
    // The cone's small end looks to the left: seen from there it is in front, so both circles are visible.
    const std::vector<Vec2>& cone = page.strokes.front().points;
    const double left = std::abs(cone[0].y - cone[3].y), right = std::abs(cone[1].y - cone[2].y);
    CHECK(cone[0].x < cone[1].x);
    CHECK(right == Approx(2 * left));
  }
}

TEST_CASE("pages: scales are written as ISO 5455 does", "[drawing]") {
  CHECK(scale_text(2) == "2:1");
  CHECK(scale_text(1) == "1:1");
  CHECK(scale_text(0.5) == "1:2");
  CHECK(scale_text(0.2) == "1:5");
}
