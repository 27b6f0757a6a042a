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
constexpr std::array<double, 3> metal = {196, 200, 203};
constexpr double machine_share = 0.5;  // of the picture's width
constexpr std::array<std::array<double, 3>, 10> colours = {{{232, 163, 92},
                                                             {126, 178, 204},
                                                             {164, 190, 120},
                                                             {206, 140, 150},
                                                             {200, 190, 140},
                                                             {150, 150, 200},
                                                             {120, 186, 170},
                                                             {214, 180, 196},
                                                             {176, 140, 108},
                                                             {222, 206, 96}}};

// right (1, 1, 0), up (-1, 1, 2), toward (1, -1, 1), each made unit.
ViewAxes isometric() {
  return {(1 / std::sqrt(2.0)) * Vec3{1, 1, 0}, (1 / std::sqrt(6.0)) * Vec3{-1, 1, 2},
          (1 / std::sqrt(3.0)) * Vec3{1, -1, 1}};
}

using Triangle = std::array<Vec3, 3>;

/// Red, green and blue, the lowest byte first.
using Colour = std::uint32_t;
Colour bytes(const std::array<double, 3>& colour, double times = 1) {
  Colour out = 0;
  for (std::size_t i = 3; i-- > 0;) out = out << 8 | static_cast<std::uint8_t>(std::min(255.0, colour[i] * times));
  return out;
}
int channel(Colour colour, std::size_t c) {
  return static_cast<int>(colour >> (8 * c) & 255);
}

/// Pixels with a depth; z grows toward the viewer.
class Canvas {
 public:
  Canvas(int width, int height) : width_(width), height_(height) {
    depth_.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), -1e30F);
    colour_.assign(depth_.size(), bytes(paper));
  }

  void fill(const Triangle& t, Colour colour) {
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
      if (left > right) continue;
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

  void line(Vec3 a, Vec3 b, double thick, Colour colour) {
    const Vec2 d{b.x - a.x, b.y - a.y};
    const double size = length(d);
    if (size < 1e-9) return;
    const Vec2 s = (thick / 2 / size) * Vec2{-d.y, d.x}, e = (thick / 4 / size) * d;
    const Vec3 p{a.x - e.x, a.y - e.y, a.z}, q{b.x + e.x, b.y + e.y, b.z}, o{s.x, s.y, 0};
    fill({p + o, p - o, q - o}, colour);
    fill({p + o, q - o, q + o}, colour);
  }

  /// Even-odd, behind everything.
  void paint(const std::vector<std::vector<Vec2>>& loops, Colour colour) {
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
      for (int x = 0; x < out.width; ++x) {
        const Colour* first = &colour_[static_cast<std::size_t>(y * finer) * static_cast<std::size_t>(width_) +
                                       static_cast<std::size_t>(x * finer)];
        // Inside faces and beside everything, which is most of a picture, all are of one colour.
        Colour differ = 0;
        for (int dy = 0; dy < finer; ++dy)
          for (int dx = 0; dx < finer; ++dx) differ |= first[dy * width_ + dx] ^ *first;
        for (std::size_t c = 0; c < 3; ++c) {
          int sum = finer * finer * channel(*first, c);
          if (differ) {
            sum = 0;
            for (int dy = 0; dy < finer; ++dy)
              for (int dx = 0; dx < finer; ++dx) sum += channel(first[dy * width_ + dx], c);
          }
          out.pixels.push_back(static_cast<std::uint8_t>((sum + finer * finer / 2) / (finer * finer)));
        }
      }
    return out;
  }

 private:
  int width_, height_;
  std::vector<float> depth_;
  std::vector<Colour> colour_;
};


/// As much of the name as has letters.
std::vector<Loop> letters(const std::string& name, double height) {
  std::string text;
  for (const char c : name)
    if (has_glyph(c)) text += c;
  return text.empty() ? std::vector<Loop>{} : letter_loops(text, height);
}

/// What is drawn, where it stands.
struct Drawn {
  const Mesh* solid = nullptr;
  Vec3 shift;
  std::array<double, 3> colour;
};

/// An upright window of the picture, pixels, and what of the view it shows.
struct Window {
  double left = 0, width = 0, height = preview_height_px * finer;
  Vec2 low{1e30, 1e30}, high{-1e30, -1e30};

  void take(Vec3 in_view) {
    low = {std::min(low.x, in_view.x), std::min(low.y, in_view.y)};
    high = {std::max(high.x, in_view.x), std::max(high.y, in_view.y)};
  }
  double scale() const {
    return std::min((width - 2 * border_px * finer) / (high.x - low.x),
                    (height - 2 * border_px * finer) / (high.y - low.y));
  }
  /// Pixels of the picture that what it shows takes, as wide as it may be.
  double wants_px() const { return 2 * border_px + scale() * (high.y - low.y) / finer; }
  Vec3 pixel(Vec3 in_view) const {
    const Vec2 middle = 0.5 * (low + high);
    return {left + width / 2 + scale() * (in_view.x - middle.x),
            height / 2 - scale() * (in_view.y - middle.y), in_view.z};
  }
};

void draw(Canvas& canvas, const Window& window, const ViewAxes& axes, const std::vector<Drawn>& list) {
  const Vec3 light = (1 / std::sqrt(0.25 * 0.25 + 0.6 * 0.6 + 0.9 * 0.9)) * Vec3{0.25, -0.6, 0.9};
  const auto seen = [&](Vec3 p) { return window.pixel(in_view(axes, p)); };
  for (const Drawn& item : list) {
    const Mesh& solid = *item.solid;
    for (const auto& t : solid.triangles) {
      Triangle p;
      for (std::size_t k = 0; k < 3; ++k) p[k] = solid.vertices[t[k]] + item.shift;
      const Vec3 n = cross(p[1] - p[0], p[2] - p[0]);
      const double size = length(n);
      if (size == 0 || dot(n, axes.toward) <= 0) continue;
      const double bright = 0.5 + 0.52 * std::max(0.0, dot(n, light) / size);
      canvas.fill({seen(p[0]), seen(p[1]), seen(p[2])}, bytes(item.colour, bright));
    }
    for (const auto& e : sharp_edges(solid)) {
      Vec3 a = seen(e[0] + item.shift), b = seen(e[1] + item.shift);
      a.z += edge_before_mm, b.z += edge_before_mm;
      canvas.line(a, b, edge_px * finer, bytes(ink));
    }
  }
}

/// Where parts lie on the table: rows, the first in front.
std::vector<Vec3> on_table(const std::vector<PreviewPart>& parts, const std::vector<Box>& boxes, double letter,
                           double row_width) {
  const double gap = letter * 1.6;
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
    const Vec3 corner{x, y + 2 * letter, 0};
    shifts[i] = corner - boxes[i].low;
    x += wide + gap;
    deep = std::max(deep, size.y + 2 * letter);
  }
  return shifts;
}

std::array<double, 3> colour_of(int part) {
  return part < 0 ? metal : colours[static_cast<std::size_t>(part) % colours.size()];
}

}  // namespace

TrueColours preview(const std::vector<PreviewPart>& parts, const std::vector<PreviewBody>& machine) {
  if (parts.empty()) return Canvas(preview_width_px * finer, least_preview_height_px * finer).averaged();
  const ViewAxes axes = isometric();
  const int width = preview_width_px * finer;
  Window machine_window{0, machine.empty() ? 0 : machine_share * width};
  std::vector<Drawn> in_machine;
  for (const PreviewBody& body : machine) {
    for (const Vec3 v : body.solid.vertices) machine_window.take(in_view(axes, v));
    in_machine.push_back({&body.solid, {}, colour_of(body.part)});
  }
  std::vector<Box> boxes;
  double largest = 0, area = 0;
  for (const PreviewPart& p : parts) {
    boxes.push_back(bounding_box(*p.solid));
    const Vec3 size = boxes.back().high - boxes.back().low;
    largest = std::max({largest, size.x, size.y});
    area += (size.x + 12) * (size.y + 16);
  }
  const double letter = std::max(2.6, largest / 24);
  const std::vector<Vec3> shifts = on_table(parts, boxes, letter, std::max(largest, 1.25 * std::sqrt(area)));
  Window window{machine_window.width, width - machine_window.width};
  std::vector<Drawn> list;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    for (const Vec3 v : parts[i].solid->vertices) window.take(in_view(axes, v + shifts[i]));
    const Vec3 corner = boxes[i].low + shifts[i];
    window.take(in_view(axes, {corner.x, corner.y - 2 * letter, 0}));
    for (const Loop& l : letters(parts[i].name, letter))
      window.take(in_view(axes, {corner.x + bounding_box(l).high.x, corner.y - 1.6 * letter, 0}));
    list.push_back({parts[i].solid, shifts[i], colour_of(static_cast<int>(i))});
  }
  const double wants_px = std::max(window.wants_px(), machine.empty() ? 0 : machine_window.wants_px());
  const int height_px = std::clamp(static_cast<int>(std::ceil(wants_px)), least_preview_height_px, preview_height_px);
  machine_window.height = window.height = height_px * finer;
  Canvas canvas(width, height_px * finer);
  draw(canvas, machine_window, axes, in_machine);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Vec3 corner = boxes[i].low + shifts[i];
    std::vector<std::vector<Vec2>> name;
    for (const Loop& l : letters(parts[i].name, letter)) {
      std::vector<Vec2> loop;
      for (const Vec2 p : polygonised(l, 0.05)) {
        const Vec3 q = window.pixel(in_view(axes, {corner.x + p.x, corner.y - 1.6 * letter + p.y, 0}));
        loop.push_back({q.x, q.y});
      }
      name.push_back(std::move(loop));
    }
    canvas.paint(name, bytes(name_ink));
  }
  draw(canvas, window, axes, list);
  return canvas.averaged();
}

}  // namespace bedwright
