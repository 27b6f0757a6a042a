#include "output/survey_picture.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/markup.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

// Page, millimetres; y runs down, as in SVG.
constexpr double page_height = 297, margin = 14;
constexpr double map_left = 26, map_top = 30, map_size = 124;
constexpr double largest_dot = 2.6;
constexpr std::size_t most_single_dots = 420;
constexpr int cells = 18;
constexpr double section_left = 34, section_width = 150, section_height = 20, section_top = 176, section_step = 28.5;

std::string at(double v) {
  return decimal(v, 3);
}

struct Page {
  std::string body;
  void line(Vec2 a, Vec2 b, const char* kind) {
    body += std::string("<line class=\"") + kind + "\" x1=\"" + at(a.x) + "\" y1=\"" + at(a.y) + "\" x2=\"" + at(b.x) +
            "\" y2=\"" + at(b.y) + "\"/>\n";
  }
  void circle(Vec2 c, double r, const char* kind) {
    body += std::string("<circle class=\"") + kind + "\" cx=\"" + at(c.x) + "\" cy=\"" + at(c.y) + "\" r=\"" + at(r) +
            "\"/>\n";
  }
  void box(Vec2 low, Vec2 size, const char* kind) {
    body += std::string("<rect class=\"") + kind + "\" x=\"" + at(low.x) + "\" y=\"" + at(low.y) + "\" width=\"" +
            at(size.x) + "\" height=\"" + at(size.y) + "\"/>\n";
  }
  void text(Vec2 p, double size, const std::string& words, const char* anchor = "start", bool bold = false) {
    body += "<text x=\"" + at(p.x) + "\" y=\"" + at(p.y) + "\" font-size=\"" + at(size) + "\" text-anchor=\"" + anchor +
            "\"" + (bold ? " font-weight=\"bold\"" : "") + ">" + escaped_markup(words) + "</text>\n";
  }
  void path(const std::string& d, const char* kind) {
    body += std::string("<path class=\"") + kind + "\" d=\"" + d + "\"/>\n";
  }
  void cross(Vec2 c, double r, const char* kind) {
    line({c.x - r, c.y - r}, {c.x + r, c.y + r}, kind);
    line({c.x - r, c.y + r}, {c.x + r, c.y - r}, kind);
  }
};

/// The next 1, 2 or 5 times a power of ten at or above v.
double round_up(double v) {
  double power = 1e-6;
  while (power * 10 <= v) power *= 10;
  for (double f : {1.0, 2.0, 5.0})
    if (f * power >= v * (1 - 1e-9)) return f * power;
  return 10 * power;
}

struct Dot {
  Vec2 at;
  double off = 0;
};

std::vector<Dot> dots_of(const Survey& s) {
  std::vector<Dot> dots;
  if (s.used.size() <= most_single_dots) {
    for (const Vec3& p : s.used) dots.push_back({{p.x, p.y}, residual(s, p)});
    return dots;
  }
  struct Cell {
    double n = 0, x = 0, y = 0, off = 0;
  };
  std::vector<Cell> grid(cells * cells);
  const double wide = std::max(s.high.x - s.low.x, 1e-9), deep = std::max(s.high.y - s.low.y, 1e-9);
  for (const Vec3& p : s.used) {
    const int i = std::clamp(static_cast<int>((p.x - s.low.x) / wide * cells), 0, cells - 1);
    const int j = std::clamp(static_cast<int>((p.y - s.low.y) / deep * cells), 0, cells - 1);
    Cell& c = grid[static_cast<std::size_t>(j * cells + i)];
    c.n += 1;
    c.x += p.x;
    c.y += p.y;
    c.off += residual(s, p);
  }
  for (const Cell& c : grid)
    if (c.n > 0) dots.push_back({{c.x / c.n, c.y / c.n}, c.off / c.n});
  return dots;
}

class Picture {
 public:
  explicit Picture(const SurveyReport& report) : r_(report), s_(report.survey) {
    Vec2 low{s_.low.x, s_.low.y}, high{s_.high.x, s_.high.y};
    if (r_.pitch_mm) {
      low = {std::min(low.x, -0.5 * r_.pitch_mm->x), std::min(low.y, -0.5 * r_.pitch_mm->y)};
      high = {std::max(high.x, 0.5 * r_.pitch_mm->x), std::max(high.y, 0.5 * r_.pitch_mm->y)};
    }
    middle_ = 0.5 * (low + high);
    size_ = 1.06 * std::max({high.x - low.x, high.y - low.y, 1e-6});
  }

  std::string svg() {
    page_.text({margin, 15}, 5.2, "Survey of the frame", "start", true);
    page_.text({margin, 21}, 3.1, summary());
    map();
    sections();
    page_.text({margin, page_height - 6}, 2.4,
               "Seen from above, machine frame: X to the right, Y to the rear. Diagonal 1 runs from front left to rear "
               "right.");
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
           "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\" "
           "font-family=\"sans-serif\">\n<title>Survey of the frame</title>\n<style>\n"
           ".edge{stroke:#000;stroke-width:.3;fill:none}\n.thin{stroke:#000;stroke-width:.15;fill:none}\n"
           ".curve{stroke:#000;stroke-width:.45;fill:none}\n.dashed{stroke:#000;stroke-width:.3;stroke-dasharray:2 "
           "1.2;fill:none}\n"
           ".above{fill:#000;stroke:#000;stroke-width:.2}\n.below{fill:#fff;stroke:#000;stroke-width:.3}\n"
           ".point{fill:#fff;stroke:#000;stroke-width:.15}\n.out{stroke:#000;stroke-width:.25}\n"
           "</style>\n<rect width=\"210\" height=\"297\" fill=\"#fff\"/>\n" +
           page_.body + "</svg>\n";
  }

 private:
  std::string summary() const {
    std::string words = std::string("Shape: ") + to_text(s_.shape);
    if (s_.shape != FitShape::flat && std::isfinite(s_.radius_mm))
      words += "; radius as a sphere " + decimal(s_.radius_mm, 0) + " mm (standard uncertainty " +
               decimal(s_.radius_u_mm, 0) + "), crown " + (s_.crown_up ? "up" : "down");
    if (s_.twist_mm) words += "; twist " + decimal(*s_.twist_mm, 3) + " mm";
    return words;
  }

  Vec2 on_map(Vec2 p) const {
    const double unit = map_size / size_;
    return {map_left + map_size / 2 + (p.x - middle_.x) * unit, map_top + map_size / 2 - (p.y - middle_.y) * unit};
  }

  void hole(Vec2 c) {
    page_.line({c.x - 3, c.y}, {c.x + 3, c.y}, "thin");
    page_.line({c.x, c.y - 3}, {c.x, c.y + 3}, "thin");
    page_.circle(c, 1.6, "edge");
  }

  void map() {
    page_.box({map_left, map_top}, {map_size, map_size}, "edge");
    if (r_.pitch_mm)
      for (double sx : {-0.5, 0.5})
        for (double sy : {-0.5, 0.5}) {
          hole(on_map({sx * r_.pitch_mm->x, sy * r_.pitch_mm->y}));
        }
    const std::vector<Dot> dots = dots_of(s_);
    double most = 0;
    for (const Dot& d : dots) most = std::max(most, std::fabs(d.off));
    const double full = round_up(std::max(most, 1e-4));
    for (const Dot& d : dots) {
      const double radius = std::max(0.25, largest_dot * std::sqrt(std::fabs(d.off) / full));
      page_.circle(on_map(d.at), radius, d.off >= 0 ? "above" : "below");
    }
    std::size_t shown_out = 0;
    for (const Vec3& p : s_.left_out) {
      const Vec2 c = on_map({p.x, p.y});
      if (c.x < map_left || c.x > map_left + map_size || c.y < map_top || c.y > map_top + map_size) continue;
      page_.cross(c, 0.8, "out");
      ++shown_out;
    }
    if (dots.empty())
      page_.text({map_left + map_size / 2, map_top + map_size / 2}, 3, "readings: no single points to show", "middle");
    const double key = map_left + map_size + 6;
    double y = map_top + 4;
    const auto row = [&](const std::string& words) {
      page_.text({key + 8, y + 1}, 2.8, words);
      y += 7.5;
    };
    page_.text({key, y}, 3, "Off the shape", "start", true);
    y += 7.5;
    if (!dots.empty()) {
      for (double share : {1.0, 0.5, 0.1}) {
        page_.circle({key + 3, y}, largest_dot * std::sqrt(share), "above");
        row(decimal(share * full, 4) + " mm above");
      }
      page_.circle({key + 3, y}, largest_dot, "below");
      row(decimal(full, 4) + " mm below");
    }
    if (shown_out > 0) {
      page_.cross({key + 3, y}, 1, "out");
      row("left out");
    }
    if (r_.pitch_mm) {
      hole({key + 3, y});
      row("hole of the frame");
    }
    const double unit = map_size / size_, bar = round_up(size_ / 8);
    page_.line({key, y + 4}, {key + bar * unit, y + 4}, "curve");
    page_.text({key, y + 9}, 2.8, decimal(bar, 1) + " mm");
    page_.box({map_left, map_top + map_size + 1.5}, {map_size, 4.6}, "edge");
    page_.text({map_left + map_size / 2, map_top + map_size + 5}, 3, "FRONT", "middle", true);
    if (!dots.empty() && s_.used.size() > most_single_dots)
      page_.text({map_left, map_top + map_size + 10.5}, 2.6, "Each dot is the mean of the points around it.");
  }

  struct Section {
    std::string name;
    double reach = 0;
    std::vector<Vec2> line, ball, points;  ///< along the section, height
  };

  Section section_of(const std::string& name, Vec2 along) const {
    Section section;
    section.name = name;
    section.reach = size_ / 2 / 1.06;
    const Vec2 across{-along.y, along.x};
    constexpr int steps = 80;
    for (int i = 0; i <= steps; ++i) {
      const double t = section.reach * (2.0 * i / steps - 1);
      const Vec2 p = middle_ + t * along;
      section.line.push_back({t, height_of(s_.model, p.x, p.y)});
      section.ball.push_back({t, height_of(s_.sphere, p.x, p.y)});
    }
    for (const Vec3& q : s_.used) {
      const Vec2 d = Vec2{q.x, q.y} - middle_;
      const double t = dot(d, along);
      if (std::fabs(dot(d, across)) > 0.03 * size_ || std::fabs(t) > section.reach) continue;
      section.points.push_back({t, q.z});
    }
    return section;
  }

  /// All sections have one scale, or they could not be compared.
  void draw(int index, const Section& section, double from, double to, double step) {
    const double top = section_top + index * section_step, reach = section.reach;
    const auto place = [&](Vec2 p) {
      return Vec2{section_left + section_width / 2 + p.x / reach * section_width / 2,
                  top + section_height * (1 - (p.y - from) / (to - from))};
    };
    page_.box({section_left, top}, {section_width, section_height}, "edge");
    const int lines = static_cast<int>(std::lround((to - from) / step));
    for (int i = 0; i <= lines; ++i) {
      const double z = from + i * step, y = place({0, z}).y;
      if (i > 0 && i < lines) page_.line({section_left, y}, {section_left + section_width, y}, "thin");
      page_.text({section_left - 1.5, y + 0.9}, 2.3, decimal(z, 3), "end");
    }
    page_.text({margin, top + section_height / 2 + 1}, 3, section.name, "start", true);
    for (Vec2 p : section.points) page_.circle(place(p), 0.55, "point");
    if (s_.shape != FitShape::sphere && s_.shape != FitShape::flat) curve(section.ball, place, top, "dashed");
    curve(section.line, place, top, "curve");
    page_.text({section_left, top + section_height + 3}, 2.3, decimal(-reach, 0), "start");
    page_.text({section_left + section_width, top + section_height + 3}, 2.3, decimal(reach, 0) + " mm", "end");
    const double times = section_height / (to - from) / (section_width / (2 * reach));
    page_.text({section_left + section_width / 2, top + section_height + 3}, 2.3,
               "height in mm, drawn " + decimal(times, times < 10 ? 1 : 0) + " times too high", "middle");
  }

  template <typename Place>
  void curve(const std::vector<Vec2>& points, Place place, double top, const char* kind) {
    std::string d;
    bool pen = false;
    for (Vec2 p : points) {
      const Vec2 c = place(p);
      if (!(c.y >= top - 0.01 && c.y <= top + section_height + 0.01)) {
        pen = false;
        continue;
      }
      d += (pen ? "L" : "M") + at(c.x) + " " + at(c.y);
      pen = true;
    }
    if (!d.empty()) page_.path(d, kind);
  }

  void sections() {
    const bool other = s_.shape != FitShape::sphere && s_.shape != FitShape::flat;
    page_.text({section_left, section_top - 3}, 3,
               std::string("Sections through the middle: line = ") + to_text(s_.shape) +
                   (other ? ", dashed = sphere" : "") + (s_.used.empty() ? "" : ", rings = points near the line"));
    const double root = std::sqrt(0.5);
    const Section all[] = {section_of("along X", {1, 0}), section_of("along Y", {0, 1}),
                           section_of("diag 1", {root, root}), section_of("diag 2", {root, -root})};
    double low = 1e300, high = -1e300;
    for (const Section& one : all)
      for (const auto* list : {&one.line, &one.points})
        for (Vec2 p : *list) {
          low = std::min(low, p.y);
          high = std::max(high, p.y);
        }
    const double step = round_up(std::max(high - low, 0.02) / 3);
    const double from = std::floor(low / step) * step, to = std::max(std::ceil(high / step) * step, from + step);
    for (int i = 0; i < 4; ++i) draw(i, all[i], from, to, step);
  }

  const SurveyReport& r_;
  const Survey& s_;
  Page page_;
  Vec2 middle_{};
  double size_ = 1;
};

}  // namespace

std::string survey_svg(const SurveyReport& report) {
  return Picture(report).svg();
}

}  // namespace bedwright
