#include "print/pack.h"

#include <catch2/catch.hpp>
#include <cstdint>
#include <map>

using namespace bedwright;

namespace {

/// What no packing may get wrong: every copy once, clear of the rim and of each other.
void check_layout(const Packed& p, const std::vector<Printed>& things, Vec2 bed) {
  std::map<std::string, int> count;
  for (const Bed& b : p.beds) {
    struct Box {
      double x0, y0, x1, y1;
    };
    std::vector<Box> boxes;
    for (const OnBed& item : b.items) {
      ++count[item.part];
      Vec3 size;
      for (const Printed& t : things)
        if (t.part == item.part) size = t.size_mm;
      const double w = item.quarter ? size.y : size.x, h = item.quarter ? size.x : size.y;
      const Box box{item.at.x - w / 2, item.at.y - h / 2, item.at.x + w / 2, item.at.y + h / 2};
      CHECK(box.x0 >= bed_edge_mm - 1e-6);
      CHECK(box.y0 >= bed_edge_mm - 1e-6);
      CHECK(box.x1 <= bed.x - bed_edge_mm + 1e-6);
      CHECK(box.y1 <= bed.y - bed_edge_mm + 1e-6);
      for (const Box& o : boxes)
        CHECK((box.x0 >= o.x1 + between_parts_mm - 1e-6 || o.x0 >= box.x1 + between_parts_mm - 1e-6 ||
               box.y0 >= o.y1 + between_parts_mm - 1e-6 || o.y0 >= box.y1 + between_parts_mm - 1e-6));
      boxes.push_back(box);
    }
  }
  for (const Printed& t : things) CHECK(count[t.part] == t.quantity);
}

}  // namespace

TEST_CASE("pack: four quarters of a bed go onto it, five need a second", "[pack]") {
  // 220 - 2 x 5 of rim - 4 between: two of 103.
  const std::vector<Printed> four = {{"q", 4, {103, 103, 10}}}, five = {{"q", 5, {103, 103, 10}}};
  CHECK(packed(four, {220, 220}).beds.size() == 1);
  check_layout(packed(four, {220, 220}), four, {220, 220});
  CHECK(packed(five, {220, 220}).beds.size() == 2);
  CHECK(packed({{"q", 4, {103.1, 103, 10}}}, {220, 220}).beds.size() == 2);
}

TEST_CASE("pack: a part that fits only turned is turned, one that fits neither way is named", "[pack]") {
  const std::vector<Printed> things = {{"long", 1, {100, 280, 4}}, {"huge", 1, {300, 300, 4}}};
  const Packed p = packed(things, {300, 150});
  REQUIRE(p.beds.size() == 1);
  REQUIRE(p.beds[0].items.size() == 1);
  CHECK(p.beds[0].items[0].quarter);
  CHECK(p.too_large == std::vector<std::string>{"huge"});
}

TEST_CASE("pack: what fits the bed but not within its rim has a bed to itself", "[pack]") {
  const Packed p = packed({{"wide", 1, {218, 100, 4}}, {"small", 2, {20, 20, 4}}}, {220, 220});
  REQUIRE(p.beds.size() == 2);
  REQUIRE(p.beds[1].items.size() == 1);
  CHECK(p.beds[1].items[0].part == "wide");
  CHECK(p.beds[1].items[0].at == Vec2{110, 110});
}

// Perfect squared rectangle of order 9 (Moron 1925): nine different squares fill 33 x 32 without a gap. With gap and
// rim taken off each, a bed of that size holds them all; area alone allows no more.
TEST_CASE("pack: a perfect squared rectangle is at most one bed worse than its optimum", "[pack]") {
  std::vector<Printed> things;
  for (const int side : {18, 15, 14, 10, 9, 8, 7, 4, 1})
    things.push_back(
        {"s" + std::to_string(side), 1, {side * 10.0 - between_parts_mm, side * 10.0 - between_parts_mm, 5}});
  const Vec2 bed{330 + 2 * bed_edge_mm - between_parts_mm, 320 + 2 * bed_edge_mm - between_parts_mm};
  const Packed p = packed(things, bed);
  CHECK(p.beds.size() <= 2);
  check_layout(p, things, bed);
}

TEST_CASE("pack: random sets stay clear of rim and each other, and need few beds more than their area", "[pack]") {
  std::uint32_t state = 7;
  const auto random = [&](double low, double high) {
    state = state * 1664525u + 1013904223u;
    return low + (high - low) * (state >> 8) / 16777216.0;
  };
  for (int round = 0; round < 60; ++round) {
    std::vector<Printed> things;
    double area = 0;
    for (int i = 0; i < 12; ++i) {
      things.push_back(
          {"p" + std::to_string(i), 1 + static_cast<int>(random(0, 4)), {random(8, 90), random(8, 90), random(1, 60)}});
      area += things.back().quantity * (things.back().size_mm.x + between_parts_mm) *
              (things.back().size_mm.y + between_parts_mm);
    }
    const Packed p = packed(things, {220, 220});
    check_layout(p, things, {220, 220});
    CHECK(static_cast<double>(p.beds.size()) <= area / (214.0 * 214) * 1.25 + 1);
    CHECK(p.too_large.empty());
    const Packed again = packed(things, {220, 220});
    REQUIRE(again.beds.size() == p.beds.size());
    for (std::size_t b = 0; b < p.beds.size(); ++b)
      for (std::size_t i = 0; i < p.beds[b].items.size(); ++i)
        CHECK(again.beds[b].items[i].at == p.beds[b].items[i].at);
  }
}

TEST_CASE("pack: the tallest part stands to the rear", "[pack]") {
  const Packed p = packed({{"tower", 1, {30, 30, 120}}, {"flat", 3, {200, 40, 4}}}, {220, 220});
  REQUIRE(p.beds.size() == 1);
  for (const OnBed& item : p.beds[0].items)
    if (item.part == "tower") CHECK(item.at.y > 110);
}
