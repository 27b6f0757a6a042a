#include "parts/lettering.h"

#include <cmath>
#include <cstdlib>

#include "base/error.h"

namespace bedwright {

namespace {

constexpr int grid_height = 20;
constexpr int letter_gap = 4;  // between neighbours: 0.7 mm at 3.5 mm height

/// Loops are lists of x y, counter-clockwise, parted by ';': the outline first, then its counters.
struct Glyph {
  char character;
  int width;
  const char* loops;
};

// Strokes are 4 units, sloping ones at least 6 measured level (4.2 across); a notch narrower than a right angle ends
// in a flat of 3, so that it stays open when printed.
constexpr Glyph glyphs[] = {
    {' ', 6, ""},
    {'-', 10, "0 8 10 8 10 12 0 12"},
    {'.', 4, "0 0 4 0 4 4 0 4"},
    {'+', 12, "4 4 8 4 8 8 12 8 12 12 8 12 8 16 4 16 4 12 0 12 0 8 4 8"},
    {'/', 12, "0 0 4 0 12 16 12 20 8 20 0 4"},
    {'#', 18,
     "3 0 7 0 7 4 11 4 11 0 15 0 15 4 18 4 18 8 15 8 15 12 18 12 18 16 15 16 15 20 11 20 11 16 7 16 7 20 3 20 3 16 "
     "0 16 0 12 3 12 3 8 0 8 0 4 3 4; 7 8 11 8 11 12 7 12"},
    {'0', 12, "4 0 8 0 12 4 12 16 8 20 4 20 0 16 0 4; 6 4 8 6 8 14 6 16 4 14 4 6"},
    {'1', 10, "0 0 10 0 10 4 7 4 7 20 4 20 0 16 0 13 3 13 3 4 0 4"},
    {'2', 14, "0 0 14 0 14 4 4 4 4 8 12 8 14 10 14 18 12 20 0 20 0 16 10 16 10 12 2 12 0 10"},
    {'3', 14, "0 0 12 0 14 2 14 10 12 12 12 18 10 20 0 20 0 16 8 16 8 12 2 12 2 8 10 8 10 4 0 4"},
    {'4', 14, "8 0 12 0 12 4 14 4 14 8 12 8 12 20 8 20 0 12 0 4 8 4; 4 8 8 8 8 12 6 12 4 10"},
    {'5', 14, "0 0 12 0 14 2 14 10 12 12 4 12 4 16 13 16 13 20 0 20 0 8 10 8 10 4 0 4"},
    {'6', 14, "2 0 12 0 14 2 14 10 12 12 4 12 4 14 6 16 13 16 13 20 4 20 0 16 0 2; 4 4 10 4 10 8 4 8"},
    {'7', 13, "3 0 7 0 7 6 13 12 13 20 0 20 0 16 9 16 9 14 3 8"},
    {'8', 15, "2 0 13 0 15 2 15 10 13 12 13 18 11 20 4 20 2 18 2 12 0 10 0 2; 4 4 11 4 11 8 4 8; 6 12 9 12 9 16 6 16"},
    {'9', 14, "1 0 10 0 14 4 14 18 12 20 2 20 0 18 0 10 2 8 10 8 10 6 8 4 1 4; 4 12 10 12 10 16 4 16"},
    {'A', 14, "0 0 4 0 4 5 10 5 10 0 14 0 14 15 9 20 5 20 0 15; 4 9 10 9 10 13 8 15 6 15 4 13"},
    {'B', 14, "0 0 12 0 14 2 14 10 12 12 12 18 10 20 0 20; 4 4 10 4 10 8 4 8; 4 12 8 12 8 16 4 16"},
    {'C', 14, "4 0 10 0 14 4 14 8 10 8 10 6 8 4 6 4 4 6 4 14 6 16 8 16 10 14 10 12 14 12 14 16 10 20 4 20 0 16 0 4"},
    {'D', 14, "0 0 10 0 14 4 14 16 10 20 0 20; 4 4 8 4 10 6 10 14 8 16 4 16"},
    {'E', 12, "0 0 12 0 12 4 4 4 4 8 10 8 10 12 4 12 4 16 12 16 12 20 0 20"},
    {'F', 12, "0 0 4 0 4 8 10 8 10 12 4 12 4 16 12 16 12 20 0 20"},
    {'G', 14, "4 0 10 0 14 4 14 12 7 12 7 8 10 8 10 6 8 4 6 4 4 6 4 14 6 16 13 16 13 20 4 20 0 16 0 4"},
    {'H', 14, "0 0 4 0 4 8 10 8 10 0 14 0 14 20 10 20 10 12 4 12 4 20 0 20"},
    {'I', 4, "0 0 4 0 4 20 0 20"},
    {'J', 12, "4 0 8 0 12 4 12 20 8 20 8 6 6 4 4 6 4 8 0 8 0 4"},
    {'K', 16, "0 0 4 0 4 5 7 5 12 0 14 0 16 2 8 10 16 18 14 20 12 20 7 15 4 15 4 20 0 20"},
    {'L', 12, "0 0 12 0 12 4 4 4 4 20 0 20"},
    {'M', 18, "0 0 4 0 4 10 7 10 9 8 11 10 14 10 14 0 18 0 18 20 15 20 9 14 3 20 0 20"},
    {'N', 18, "0 0 4 0 4 9 7 9 13 0 18 0 18 20 14 20 14 11 11 11 5 20 0 20"},
    {'O', 16, "4 0 12 0 16 4 16 16 12 20 4 20 0 16 0 4; 6 4 10 4 12 6 12 14 10 16 6 16 4 14 4 6"},
    {'P', 14, "0 0 4 0 4 7 12 7 14 9 14 18 12 20 0 20; 4 11 10 11 10 16 4 16"},
    {'Q', 16, "4 3 8 3 11 0 13 0 15 2 13 4 16 7 16 16 12 20 4 20 0 16 0 7; 6 7 10 7 12 9 12 14 10 16 6 16 4 14 4 9"},
    {'R', 14, "0 0 4 0 4 7 7 7 10 4 10 0 14 0 14 6 12 8 12 18 10 20 0 20; 4 11 8 11 8 16 4 16"},
    {'S', 14, "0 0 10 0 14 4 14 8 10 12 6 12 4 14 6 16 14 16 14 20 4 20 0 16 0 12 4 8 8 8 10 6 8 4 0 4"},
    {'T', 12, "4 0 8 0 8 16 12 16 12 20 0 20 0 16 4 16"},
    {'U', 14, "2 0 12 0 14 2 14 20 10 20 10 4 4 4 4 20 0 20 0 2"},
    {'V', 14, "7 0 14 7 14 20 10 20 10 9 7 6 4 9 4 20 0 20 0 7"},
    {'W', 18, "3 0 9 6 15 0 18 0 18 20 14 20 14 10 11 10 9 12 7 10 4 10 4 20 0 20 0 0"},
    {'X', 14, "0 0 4 0 4 4 7 7 10 4 10 0 14 0 14 6 10 10 14 14 14 20 10 20 10 16 7 13 4 16 4 20 0 20 0 14 4 10 0 6"},
    {'Y', 14, "5 0 9 0 9 8 14 13 14 20 10 20 10 15 7 12 4 15 4 20 0 20 0 13 5 8"},
    {'Z', 14, "0 0 14 0 14 4 7 4 7 7 14 14 14 20 0 20 0 16 7 16 7 13 0 6"},
};

const Glyph* find_glyph(char c) {
  const char capital = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  for (const Glyph& glyph : glyphs) {
    if (glyph.character == capital) return &glyph;
  }
  return nullptr;
}

const Glyph& glyph_of(char c, const std::string& text) {
  if (const Glyph* glyph = find_glyph(c)) return *glyph;
  const bool printable = c > ' ' && c < 0x7f;
  throw Error("no letter is drawn for " +
              (printable ? "'" + std::string(1, c) + "'"
                         : "the character with code " + std::to_string(static_cast<unsigned char>(c))) +
              " in \"" + text + "\": use A-Z, 0-9, space and - . + / #");
}

void require_positive(double value, const char* what) {
  if (!(value > 0) || !std::isfinite(value)) throw Error(std::string(what) + " must be a number of mm above 0");
}

void append_loops(const Glyph& glyph, int left, double unit_mm, std::vector<Loop>& loops) {
  const char* at = glyph.loops;
  while (*at) {
    std::vector<Vec2> points;
    while (*at && *at != ';') {
      char* next = nullptr;
      const long x = std::strtol(at, &next, 10);
      const long y = std::strtol(next, &next, 10);
      points.push_back({static_cast<double>(left + x) * unit_mm, static_cast<double>(y) * unit_mm});
      at = next;
    }
    if (*at == ';') ++at;
    loops.push_back(polygon_loop(points));
  }
}

}  // namespace

bool has_glyph(char c) {
  return find_glyph(c) != nullptr;
}

std::vector<Loop> letter_loops(const std::string& text, double height_mm) {
  require_positive(height_mm, "letter height");
  std::vector<Loop> loops;
  int left = 0;
  for (char c : text) {
    const Glyph& glyph = glyph_of(c, text);
    append_loops(glyph, left, height_mm / grid_height, loops);
    left += glyph.width + letter_gap;
  }
  return loops;
}

double text_width_mm(const std::string& text, double height_mm) {
  require_positive(height_mm, "letter height");
  int width = 0;
  for (char c : text) width += glyph_of(c, text).width + letter_gap;
  return text.empty() ? 0 : (width - letter_gap) * height_mm / grid_height;
}

Loop arrow_loop(double length_mm) {
  require_positive(length_mm, "arrow length");
  // Right half, in lengths: shaft, the head's underside, a blunt barb, a square tip.
  const double x[] = {0.125, 0.125, 0.4, 0.4};
  const double y[] = {-0.5, -0.05, -0.05, 0.1};
  std::vector<Vec2> points;
  for (int i = 0; i < 4; ++i) points.push_back({x[i] * length_mm, y[i] * length_mm});
  points.push_back({0, 0.5 * length_mm});
  for (int i = 3; i >= 0; --i) points.push_back({-x[i] * length_mm, y[i] * length_mm});
  return polygon_loop(points);
}

}  // namespace bedwright
