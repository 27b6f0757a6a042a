#include "output/thumbnail.h"

#include <algorithm>
#include <cmath>

#include "base/row_span.h"

namespace bedwright {
namespace {

// Looking down at an angle whose sine is 0.6: 3, 4, 5.
constexpr double into = 0.6, upward = 0.8;
constexpr double border_px = 6;
constexpr int few_px = 4;  // rows no longer than this are looked at whole
constexpr int kinds = 8, shades = 24;
constexpr std::uint8_t background = 0, bed_colour = 1, bed_rim = 2, first_shade = 3;
constexpr std::array<std::array<std::uint8_t, 3>, kinds> colours = {{{230, 140, 60},
                                                                     {80, 160, 220},
                                                                     {120, 190, 90},
                                                                     {200, 100, 160},
                                                                     {220, 200, 80},
                                                                     {120, 120, 220},
                                                                     {90, 200, 190},
                                                                     {190, 150, 120}}};

struct Point {
  double x = 0, y = 0, depth = 0;  // pixels from the top left; depth grows away from the eye
};

class Screen {
 public:
  Screen(Vec2 bed, double highest) {
    const double room = thumbnail_px - 2 * border_px;
    scale_ = room / std::max(bed.x, into * bed.y + upward * highest);
    left_ = (thumbnail_px - scale_ * bed.x) / 2;
    bottom_ = (thumbnail_px + scale_ * (into * bed.y + upward * highest)) / 2;
    depth_.assign(static_cast<std::size_t>(thumbnail_px) * thumbnail_px, 1e300);
    pixels_.assign(depth_.size(), background);
  }

  Point at(Vec3 p) const {
    return {left_ + scale_ * p.x, bottom_ - scale_ * (into * p.y + upward * p.z), upward * p.y - into * p.z};
  }

  void fill(const std::array<Point, 3>& t, std::uint8_t colour) {
    const double twice = (t[1].x - t[0].x) * (t[2].y - t[0].y) - (t[2].x - t[0].x) * (t[1].y - t[0].y);
    if (twice == 0) return;
    const auto [low_x, high_x] = std::minmax({t[0].x, t[1].x, t[2].x});
    const auto [low_y, high_y] = std::minmax({t[0].y, t[1].y, t[2].y});
    const int x0 = pixel(low_x), x1 = pixel(high_x), y0 = pixel(low_y), y1 = pixel(high_y);
    const std::array<Vec2, 3> corners = {Vec2{t[0].x, t[0].y}, Vec2{t[1].x, t[1].y}, Vec2{t[2].x, t[2].y}};
    for (int y = y0; y <= y1; ++y) {
      int from = x0, to = x1;
      if (x1 - x0 > few_px) {
        const RowSpan span = row_span(corners, y + 0.5);
        if (span.low > span.high) continue;
        from = std::max(from, pixel(span.low - 1)), to = std::min(to, pixel(span.high + 1));
      }
      for (int x = from; x <= to; ++x) {
        // A quotient's sign is its numerator's against the denominator's: most pixels need no division.
        double w[3];
        bool outside = false;
        for (int i = 0; i < 3; ++i) {
          const Point &a = t[static_cast<std::size_t>((i + 1) % 3)], &b = t[static_cast<std::size_t>((i + 2) % 3)];
          w[i] = (a.x - (x + 0.5)) * (b.y - (y + 0.5)) - (b.x - (x + 0.5)) * (a.y - (y + 0.5));
          outside = outside || (twice > 0 ? w[i] < 0 : w[i] > 0);
        }
        if (outside) continue;
        for (double& share : w) share /= twice;
        const double depth = w[0] * t[0].depth + w[1] * t[1].depth + w[2] * t[2].depth;
        const std::size_t k = static_cast<std::size_t>(y) * thumbnail_px + static_cast<std::size_t>(x);
        if (depth >= depth_[k]) continue;
        depth_[k] = depth;
        pixels_[k] = colour;
      }
    }
  }

  /// Level, so that it is a rectangle on the screen too, as deep in all of a row.
  void rectangle(Vec2 low, Vec2 high, double z, std::uint8_t colour) {
    const Point front = at({low.x, low.y, z}), rear = at({high.x, high.y, z});
    for (int y = pixel(rear.y), y1 = pixel(front.y); y <= y1; ++y) {
      if (y + 0.5 < rear.y || y + 0.5 > front.y) continue;
      const double depth = front.depth + (front.y - (y + 0.5)) / (front.y - rear.y) * (rear.depth - front.depth);
      for (int x = pixel(front.x), x1 = pixel(rear.x); x <= x1; ++x) {
        const std::size_t k = static_cast<std::size_t>(y) * thumbnail_px + static_cast<std::size_t>(x);
        if (x + 0.5 < front.x || x + 0.5 > rear.x || depth >= depth_[k]) continue;
        depth_[k] = depth;
        pixels_[k] = colour;
      }
    }
  }

  std::vector<std::uint8_t> pixels() && { return std::move(pixels_); }

 private:
  static int pixel(double v) { return static_cast<int>(std::clamp(v, 0.0, thumbnail_px - 1.0)); }

  double scale_ = 1, left_ = 0, bottom_ = 0;
  std::vector<double> depth_;
  std::vector<std::uint8_t> pixels_;
};

/// Light from the upper left, in front.
double brightness(Vec3 normal) {
  const Vec3 light{-0.36, -0.48, 0.8};
  return 0.35 + 0.65 * std::max(0.0, dot(normal, light));
}

std::vector<std::array<std::uint8_t, 3>> palette() {
  std::vector<std::array<std::uint8_t, 3>> list = {{250, 250, 250}, {205, 210, 214}, {150, 156, 162}};
  for (const auto& colour : colours)
    for (int s = 0; s < shades; ++s) {
      std::array<std::uint8_t, 3> shade{};
      for (std::size_t i = 0; i < 3; ++i) shade[i] = static_cast<std::uint8_t>(colour[i] * (s + 1) / shades);
      list.push_back(shade);
    }
  return list;
}

}  // namespace

Picture thumbnail(const std::vector<Shown>& things, Vec2 bed_mm) {
  double highest = 0;
  for (const Shown& thing : things) highest = std::max(highest, bounding_box(*thing.mesh).high.z);
  Screen screen(bed_mm, highest);
  const double rim = std::max(bed_mm.x, bed_mm.y) / 100;
  // Just below the parts' feet, so that those win.
  screen.rectangle({0, 0}, bed_mm, -0.02, bed_rim);
  screen.rectangle({rim, rim}, bed_mm - Vec2{rim, rim}, -0.01, bed_colour);
  for (const Shown& thing : things)
    for (const auto& t : thing.mesh->triangles) {
      std::array<Vec3, 3> p{};
      for (std::size_t i = 0; i < 3; ++i) p[i] = apply(thing.place, thing.mesh->vertices[t[i]]);
      const Vec3 n = cross(p[1] - p[0], p[2] - p[0]);
      const double size = length(n);
      // Facing away from the eye, which looks along (0, upward, -into).
      if (size == 0 || upward * n.y - into * n.z >= 0) continue;
      const int shade = std::clamp(static_cast<int>(brightness((1 / size) * n) * shades), 0, shades - 1);
      const int colour = first_shade + static_cast<int>(thing.kind % kinds) * shades + shade;
      screen.fill({screen.at(p[0]), screen.at(p[1]), screen.at(p[2])}, static_cast<std::uint8_t>(colour));
    }
  return {thumbnail_px, thumbnail_px, palette(), std::move(screen).pixels()};
}

}  // namespace bedwright
