#include "output/measuring_sheet.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <string>
#include <vector>

#include "kit/interview.h"

using namespace bedwright;

namespace {

/// Just enough of XML for a page that we write ourselves: tags close in order, attributes are quoted, no stray < or &.
bool well_formed(const std::string& text) {
  std::vector<std::string> open;
  std::size_t at = 0;
  int roots = 0;
  while (at < text.size()) {
    if (text[at] == '&') {
      const std::size_t end = text.find(';', at);
      if (end == std::string::npos || end - at > 6) return false;
      at = end + 1;
      continue;
    }
    if (text[at] == '>') return false;
    if (text[at] != '<') {
      ++at;
      continue;
    }
    const std::size_t end = text.find('>', at);
    if (end == std::string::npos) return false;
    const std::string tag = text.substr(at + 1, end - at - 1);
    at = end + 1;
    if (tag.empty() || tag.find('<') != std::string::npos) return false;
    if (tag[0] == '?') continue;
    int quotes = 0;
    for (char c : tag) quotes += c == '"';
    if (quotes % 2 != 0) return false;
    const std::string name =
        tag.substr(tag[0] == '/' ? 1 : 0, tag.find_first_of(" /", tag[0] == '/' ? 1 : 0) - (tag[0] == '/' ? 1 : 0));
    if (tag[0] == '/') {
      if (open.empty() || open.back() != name) return false;
      open.pop_back();
    } else if (tag.back() != '/') {
      if (open.empty()) ++roots;
      open.push_back(name);
    }
  }
  return open.empty() && roots == 1;
}

double attribute(const std::string& svg, const std::string& id, const std::string& name) {
  const std::size_t at = svg.find("id=\"" + id + "\"");
  REQUIRE(at != std::string::npos);
  const std::size_t value = svg.find(" " + name + "=\"", at);
  REQUIRE(value < svg.find('>', at));
  return std::strtod(svg.c_str() + value + name.size() + 3, nullptr);
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("measuring sheet: well-formed, A4 in millimetres", "[sheet]") {
  const std::string svg = measuring_sheet_svg();
  CHECK(well_formed(svg));
  CHECK_FALSE(well_formed(svg + "<g>"));
  CHECK_FALSE(well_formed("<svg><g></svg></g>"));
  CHECK_THAT(svg, Catch::Contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
  CHECK(svg.find("transform") == std::string::npos);
}

TEST_CASE("measuring sheet: every question has its number on it, once", "[sheet]") {
  const std::string svg = measuring_sheet_svg();
  for (const Question& q : questions()) {
    INFO(number_text(q));
    CHECK(count(svg, ">" + number_text(q) + "</text>") == 1);
  }
}

TEST_CASE("measuring sheet: check bars are 100 and 50 mm", "[sheet]") {
  const std::string svg = measuring_sheet_svg();
  CHECK(attribute(svg, "check-bar-100", "x2") - attribute(svg, "check-bar-100", "x1") == 100);
  CHECK(attribute(svg, "check-bar-100", "y2") == attribute(svg, "check-bar-100", "y1"));
  CHECK(attribute(svg, "check-bar-50", "y2") - attribute(svg, "check-bar-50", "y1") == 50);
  CHECK(attribute(svg, "check-bar-50", "x2") == attribute(svg, "check-bar-50", "x1"));
}

TEST_CASE("measuring sheet: front, directions, tools and cautions are on it", "[sheet]") {
  const std::string svg = measuring_sheet_svg();
  for (const char* words : {"FRONT", "X right", "Y rear", "Unplug the machine", "Let the bed cool",
                            "licensed people decide", "caliper", "straightedge", "feeler"}) {
    INFO(words);
    CHECK_THAT(svg, Catch::Contains(words));
  }
}

TEST_CASE("measuring sheet: no two boxes to write in overlap, and all are on the page", "[sheet]") {
  const std::string svg = measuring_sheet_svg();
  struct Box {
    double x, y, w, h;
  };
  std::vector<Box> boxes;
  const std::string tag = "<rect class=\"box\"";
  for (std::size_t at = svg.find(tag); at != std::string::npos; at = svg.find(tag, at + 1)) {
    const auto value = [&](const char* name) {
      return std::strtod(svg.c_str() + svg.find(name, at) + std::string(name).size(), nullptr);
    };
    boxes.push_back({value(" x=\""), value(" y=\""), value(" width=\""), value(" height=\"")});
  }
  CHECK(boxes.size() == questions().size());
  const double touch = 1e-6;  // rows of the table share an edge
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const Box& a = boxes[i];
    CHECK(a.x >= 5);
    CHECK(a.x + a.w <= 205);
    CHECK(a.y >= 5);
    CHECK(a.y + a.h <= 292);
    for (std::size_t j = i + 1; j < boxes.size(); ++j) {
      const Box& b = boxes[j];
      INFO(i << " and " << j);
      CHECK((a.x + a.w <= b.x + touch || b.x + b.w <= a.x + touch || a.y + a.h <= b.y + touch ||
             b.y + b.h <= a.y + touch));
    }
  }
}
