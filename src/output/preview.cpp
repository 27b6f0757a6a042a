#include "output/preview.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "drawing/hidden_lines.h"
#include "parts/lettering.h"

namespace bedwright {
namespace {

constexpr int finer = 3;
constexpr double border_px = 30;
constexpr double edge_px = 1.1;
constexpr double edge_before_mm = 0.05;  // edges win over the faces they border
constexpr std::array<double, 3> paper = {250, 250, 249}, ink = {38, 44, 50}, name_ink = {105, 112, 118};
constexpr std::array<std::array<double, 3>, 6> colours = {
    {{232, 163, 92}, {126, 178, 204}, {164, 190, 120}, {206, 140, 150}, {200, 190, 140}, {150, 150, 200}}};

// right (1, 1, 0), up (-1, 1, 2), toward (1, -1, 1), each made unit.
ViewAxes isometric() {
  return {(1 / std::sqrt(2.0)) * Vec3{1, 1, 0}, (1 / std::sqrt(6.0)) * Vec3{-1, 1, 2},
          (1 / std::sqrt(3.0)) * Vec3{1, -1, 1}};
}

using Triangle = std::array<Vec3, 3>;

/// Pixels with a depth; z grows toward the viewer.
class Canvas {
 public:
  Canvas(int width, int height) : width_(width), height_(height) {
    depth_.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), -1e30F);
    colour_.assign(depth_.size(), {static_cast<std::uint8_t>(paper[0]), static_cast<std::uint8_t>(paper[1]),
                                   static_cast<std::uint8_t>(paper[2])});
  }

  void fill(const Triangle& t, const std::array<std::uint8_t, 3>& colour) {
    // Row by row between the two edges that cross it.
    const auto [low, high] = std::minmax({t[0].y, t[1].y, t[2].y});
    const double twice = cross(Vec2{t[1].x - t[0].x, t[1].y - t[0].y}, Vec2{t[2].x - t[0].x, t[2].y - t[0].y});
    if (twice == 0) return;
    const double dzdx = ((t[1].z - t[0].z) * (t[2].y - t[0].y) - (t[2].z - t[0].z) * (t[1].y - t[0].y)) / twice;
    const double dzdy = ((t[2].z - t[0].z) * (t[1].x - t[0].x) - (t[1].z - t[0].z) * (t[2].x - t[0].x)) / twice;
    const int from = std::max(0, static_cast<int>(std::ceil(low - 0.5))),
              to = std::min(height_ - 1, static_cast<int>(std::floor(high - 0.5)));
    for (int row = from; row <= to; ++row) {
      const double y = row + 0.5;
      double left = 1e30, right = -1e30;
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec3 &a = t[k], &b = t[(k + 1) % 3];
        if ((a.y <= y) == (b.y <= y)) continue;
        const double x = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
        left = std::min(left, x), right = std::max(right, x);
      }
      const int first = std::max(0, static_cast<int>(std::ceil(left - 0.5))),
                last = std::min(width_ - 1, static_cast<int>(std::ceil(right - 0.5)) - 1);
      for (int column = first; column <= last; ++column) {
        const auto z = static_cast<float>(t[0].z + dzdx * (column + 0.5 - t[0].x) + dzdy * (y - t[0].y));
        const std::size_t i =
            static_cast<std::size_t>(row) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(column);
        if (z <= depth_[i]) continue;
        depth_[i] = z;
        colour_[i] = colour;
      }
    }
  }

  void line(Vec3 a, Vec3 b, double thick, const std::array<std::uint8_t, 3>& colour) {
    const Vec2 d{b.x - a.x, b.y - a.y};
    const double size = length(d);
    if (size < 1e-9) return;
    const Vec2 s = (thick / 2 / size) * Vec2{-d.y, d.x}, e = (thick / 4 / size) * d;
    const Vec3 p{a.x - e.x, a.y - e.y, a.z}, q{b.x + e.x, b.y + e.y, b.z}, o{s.x, s.y, 0};
    fill({p + o, p - o, q - o}, colour);
    fill({p + o, q - o, q + o}, colour);
  }

  /// Even-odd, behind everything.
  void paint(const std::vector<std::vector<Vec2>>& loops, const std::array<std::uint8_t, 3>& colour) {
    double low = 1e30, high = -1e30;
    for (const auto& loop : loops)
      for (const Vec2 p : loop) low = std::min(low, p.y), high = std::max(high, p.y);
    for (int row = std::max(0, static_cast<int>(low)); row <= std::min<double>(height_ - 1, high); ++row) {
      std::vector<double> at;
      const double y = row + 0.5;
      for (const auto& loop : loops)
        for (std::size_t k = 0; k < loop.size(); ++k) {
          const Vec2 a = loop[k], b = loop[(k + 1) % loop.size()];
          if ((a.y <= y) != (b.y <= y)) at.push_back(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
        }
      std::sort(at.begin(), at.end());
      for (std::size_t k = 0; k + 1 < at.size(); k += 2)
        for (int column = std::max(0, static_cast<int>(std::ceil(at[k] - 0.5)));
             column < std::min<double>(width_, at[k + 1] - 0.5); ++column)
          colour_[static_cast<std::size_t>(row) * static_cast<std::size_t>(width_) + static_cast<std::size_t>(column)] =
              colour;
    }
  }

  TrueColours averaged() const {
    TrueColours out{width_ / finer, height_ / finer, {}};
    out.pixels.reserve(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height) * 3);
    for (int y = 0; y < out.height; ++y)
      for (int x = 0; x < out.width; ++x)
        for (std::size_t c = 0; c < 3; ++c) {
          int sum = 0;
          for (int dy = 0; dy < finer; ++dy)
            for (int dx = 0; dx < finer; ++dx)
              sum += colour_[static_cast<std::size_t>(y * finer + dy) * static_cast<std::size_t>(width_) +
                             static_cast<std::size_t>(x * finer + dx)][c];
          out.pixels.push_back(static_cast<std::uint8_t>((sum + finer * finer / 2) / (finer * finer)));
        }
    return out;
  }

 private:
  int width_, height_;
  std::vector<float> depth_;
  std::vector<std::array<std::uint8_t, 3>> colour_;
};

std::array<std::uint8_t, 3> bytes(const std::array<double, 3>& colour, double times = 1) {
  std::array<std::uint8_t, 3> out{};
  for (std::size_t i = 0; i < 3; ++i) out[i] = static_cast<std::uint8_t>(std::min(255.0, colour[i] * times));
  return out;
}

/// As much of the name as has letters.
std::vector<Loop> letters(const std::string& name, double height) {
  std::string text;
  for (const char c : name)
    if (has_glyph(c)) text += c;
  return text.empty() ? std::vector<Loop>{} : letter_loops(text, height);
}

}  // namespace

TrueColours preview(const std::vector<PreviewPart>& parts) {
  // Rows on the table, the first in front; as wide as makes the whole about as wide as high in the picture.
  std::vector<Box> boxes;
  double largest = 0, area = 0;
  for (const PreviewPart& p : parts) {
    boxes.push_back(bounding_box(*p.solid));
    const Vec3 size = boxes.back().high - boxes.back().low;
    largest = std::max({largest, size.x, size.y});
    area += (size.x + 12) * (size.y + 16);
  }
  const double letter = std::max(2.6, largest / 24), gap = letter * 1.6;
  const double row_width = std::max(largest, 1.25 * std::sqrt(area));
  std::vector<Vec3> shifts(parts.size());
  double x = 0, y = 0, deep = 0, tall = 0;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Vec3 size = boxes[i].high - boxes[i].low;
    double name_width = 0;
    for (const Loop& l : letters(parts[i].name, letter)) name_width = std::max(name_width, bounding_box(l).high.x);
    const double wide = std::max(size.x, name_width);
    // What is h high hides the table for h to its left and its rear.
    if (x > 0 && x + size.z + wide > row_width) x = 0, y += deep + gap + tall, deep = 0, tall = 0;
    if (x > 0) x += size.z;
    tall = std::max(tall, size.z);
    shifts[i] = Vec3{x, y + 2 * letter, 0} - boxes[i].low;
    x += wide + gap;
    deep = std::max(deep, size.y + 2 * letter);
  }
  const ViewAxes axes = isometric();
  Vec2 low{1e30, 1e30}, high{-1e30, -1e30};
  const auto take = [&](Vec3 p) {
    const Vec3 q = in_view(axes, p);
    low = {std::min(low.x, q.x), std::min(low.y, q.y)};
    high = {std::max(high.x, q.x), std::max(high.y, q.y)};
  };
  for (std::size_t i = 0; i < parts.size(); ++i) {
    for (const Vec3 v : parts[i].solid->vertices) take(v + shifts[i]);
    const Vec3 corner = boxes[i].low + shifts[i];
    take({corner.x, corner.y - 2 * letter, 0});
    for (const Loop& l : letters(parts[i].name, letter))
      take({corner.x + bounding_box(l).high.x, corner.y - 1.6 * letter, 0});
  }
  const int width = preview_width_px * finer, height = preview_height_px * finer;
  Canvas canvas(width, height);
  if (parts.empty()) return canvas.averaged();
  const double room_x = width - 2 * border_px * finer, room_y = height - 2 * border_px * finer;
  const double scale = std::min(room_x / (high.x - low.x), room_y / (high.y - low.y));
  const Vec2 middle = 0.5 * (low + high);
  const auto seen = [&](Vec3 p) {
    const Vec3 q = in_view(axes, p);
    return Vec3{width / 2.0 + scale * (q.x - middle.x), height / 2.0 - scale * (q.y - middle.y), q.z};
  };
  const Vec3 light = (1 / std::sqrt(0.25 * 0.25 + 0.6 * 0.6 + 0.9 * 0.9)) * Vec3{0.25, -0.6, 0.9};
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Vec3 corner = boxes[i].low + shifts[i];
    std::vector<std::vector<Vec2>> name;
    for (const Loop& l : letters(parts[i].name, letter)) {
      std::vector<Vec2> loop;
      for (const Vec2 p : polygonised(l, 0.05)) {
        const Vec3 q = seen({corner.x + p.x, corner.y - 1.6 * letter + p.y, 0});
        loop.push_back({q.x, q.y});
      }
      name.push_back(std::move(loop));
    }
    canvas.paint(name, bytes(name_ink));
  }
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Mesh& solid = *parts[i].solid;
    for (const auto& t : solid.triangles) {
      Triangle p;
      for (std::size_t k = 0; k < 3; ++k) p[k] = solid.vertices[t[k]] + shifts[i];
      const Vec3 n = cross(p[1] - p[0], p[2] - p[0]);
      const double size = length(n);
      if (size == 0 || dot(n, axes.toward) <= 0) continue;
      const double bright = 0.5 + 0.52 * std::max(0.0, dot(n, light) / size);
      canvas.fill({seen(p[0]), seen(p[1]), seen(p[2])}, bytes(colours[i % colours.size()], bright));
    }
    for (const auto& e : sharp_edges(solid)) {
      Vec3 a = seen(e[0] + shifts[i]), b = seen(e[1] + shifts[i]);
      a.z += edge_before_mm, b.z += edge_before_mm;
      canvas.line(a, b, edge_px * finer, bytes(ink));
    }
  }
  return canvas.averaged();
}

}  // namespace bedwright
