#include "output/level_picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/markup.h"
#include "base/numbers.h"
#include "output/height_field.h"

namespace bedwright {
namespace {

// Page, millimetres; y runs down, as in SVG.
constexpr double page_width = 297, page_height = 210, plan_mm = 122, plan_top = 30;
constexpr double plan_left[2] = {14, 160};
constexpr int cells = 48;        // of the plan, along its longer side: contour segments of 2.5 mm
constexpr int most_numbers = 7;  // heights written along a side
constexpr int most_lines = 16;

std::string n(double v) {
  return decimal(v, 2);
}

/// Micrometres are whole here; nothing has no sign.
std::string signed_number(double um) {
  const long whole = std::lround(um);
  return whole == 0 ? "0" : fmt::format("{:+d}", whole);
}

/// 1, 2 or 5 times a power of ten, so that the range takes at most most_lines lines.
double interval_for(double range_um) {
  double step = 1;
  for (int k = 0; k < 18 && range_um / step > most_lines; ++k) step *= k % 3 == 1 ? 2.5 : 2;
  return step;
}

class Plan {
 public:
  Plan(const LevelReport& report, const std::vector<double>& z, double left, double interval, double low)
      : report_(report), left_(left), interval_(interval), low_(low) {
    double mean = 0;
    for (double v : z) mean += v / static_cast<double>(z.size());
    for (double v : z) um_.push_back(1000 * (v - mean));
    bed_ = report.input.bed_mm;
    scale_ = plan_mm / std::max(bed_.x, bed_.y);
    map_low_ = map_high_ = report.input.map.at[0];
    for (Vec2 p : report.input.map.at) {
      map_low_ = {std::min(map_low_.x, p.x), std::min(map_low_.y, p.y)};
      map_high_ = {std::max(map_high_.x, p.x), std::max(map_high_.y, p.y)};
    }
  }

  std::string drawn(const std::string& title) {
    const Vec2 a = page({-bed_.x / 2, bed_.y / 2}), b = page({bed_.x / 2, -bed_.y / 2});
    std::string body;
    body += fmt::format("<text class=\"title\" x=\"{}\" y=\"{}\">{}</text>\n", n(left_), n(plan_top - 6),
                        escaped_markup(title));
    sample();
    // Contour labels keep off the heights and the mounts.
    const std::string heights = numbers();
    for (const Mount& mount : report_.input.mounts)
      for (double dy : {0.0, mount.at.y > 0 ? 6.0 : -6.0}) labels_at_.push_back(page(mount.at) + Vec2{0, dy});
    body += shades() + contours();
    body += fmt::format("<rect class=\"bed\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>\n", n(a.x), n(a.y),
                        n(b.x - a.x), n(b.y - a.y));
    body += heights;
    body += fmt::format("<text class=\"front\" x=\"{}\" y=\"{}\">FRONT</text>\n", n((a.x + b.x) / 2), n(b.y + 7));
    return body;
  }

  std::string mounts(const std::vector<double>& shims) const {
    std::string body;
    for (std::size_t i = 0; i < shims.size(); ++i) {
      const Vec2 at = page(report_.input.mounts[i].at);
      body += fmt::format(
          "<circle class=\"mount\" cx=\"{0}\" cy=\"{1}\" r=\"2.2\"/><path class=\"mount\" d=\"M{2} {1}H{3}M{0} "
          "{4}V{5}\"/>\n",
          n(at.x), n(at.y), n(at.x - 3.4), n(at.x + 3.4), n(at.y - 3.4), n(at.y + 3.4));
      const std::string text = shims[i] > 0 ? "shim " + decimal(shims[i], 3) : "no shim";
      const double dy = report_.input.mounts[i].at.y > 0 ? 7.6 : -5;
      body += fmt::format(
          "<text class=\"halo shim\" x=\"{0}\" y=\"{1}\">{2}</text><text class=\"shim\" x=\"{0}\" "
          "y=\"{1}\">{2}</text>\n",
          n(at.x), n(at.y + dy), text);
    }
    return body;
  }

 private:
  Vec2 page(Vec2 p) const { return {left_ + (p.x + bed_.x / 2) * scale_, plan_top + (bed_.y / 2 - p.y) * scale_}; }

  void sample() {
    const HeightField field(report_.input.map.at, um_);
    nx_ = ny_ = cells;
    for (int j = 0; j <= ny_; ++j)
      for (int i = 0; i <= nx_; ++i) {
        const Vec2 p{map_low_.x + (map_high_.x - map_low_.x) * i / nx_,
                     map_low_.y + (map_high_.y - map_low_.y) * j / ny_};
        corners_.push_back(page(p));
        values_.push_back(field(p));
      }
  }
  std::size_t corner(int i, int j) const { return static_cast<std::size_t>(i + (nx_ + 1) * j); }

  /// One path a band of heights; the lowest is the darkest.
  std::string shades() const {
    const int bands = std::max(1, static_cast<int>(std::ceil(-low_ / interval_)) * 2);
    std::vector<std::string> paths(static_cast<std::size_t>(bands));
    for (int j = 0; j < ny_; ++j)
      for (int i = 0; i < nx_; ++i) {
        const double z = (values_[corner(i, j)] + values_[corner(i + 1, j)] + values_[corner(i, j + 1)] +
                          values_[corner(i + 1, j + 1)]) /
                         4;
        const int band = std::clamp(static_cast<int>(std::floor(z / interval_)) + bands / 2, 0, bands - 1);
        const Vec2 a = corners_[corner(i, j + 1)], b = corners_[corner(i + 1, j)];
        paths[static_cast<std::size_t>(band)] +=
            fmt::format("M{} {}H{}V{}H{}Z", n(a.x), n(a.y), n(b.x), n(b.y), n(a.x));
      }
    std::string body;
    for (int k = 0; k < bands; ++k) {
      const int grey = bands == 1 ? 255 : 175 + 80 * k / (bands - 1);
      if (!paths[static_cast<std::size_t>(k)].empty())
        body += fmt::format(
            "<path fill=\"rgb({0},{0},{0})\" stroke=\"rgb({0},{0},{0})\" stroke-width=\"0.1\" d=\"{1}\"/>\n", grey,
            paths[static_cast<std::size_t>(k)]);
    }
    return body;
  }

  /// Marching triangles; a label on each line where it is farthest from the other labels.
  std::string contours() {
    std::string body, labels;
    const auto [low, high] = std::minmax_element(values_.begin(), values_.end());
    for (int k = static_cast<int>(std::ceil(*low / interval_)); k * interval_ <= *high; ++k) {
      const double level = k * interval_ + 1e-7;
      std::string path;
      std::vector<Vec2> middles;
      for (int j = 0; j < ny_; ++j)
        for (int i = 0; i < nx_; ++i) {
          const std::size_t a = corner(i, j), b = corner(i + 1, j), c = corner(i + 1, j + 1), d = corner(i, j + 1);
          for (const auto& t : {std::array<std::size_t, 3>{a, b, c}, std::array<std::size_t, 3>{a, c, d}}) {
            std::vector<Vec2> cut;
            for (int e = 0; e < 3; ++e) {
              const std::size_t p = t[static_cast<std::size_t>(e)], q = t[static_cast<std::size_t>((e + 1) % 3)];
              if ((values_[p] < level) == (values_[q] < level)) continue;
              const double s = (level - values_[p]) / (values_[q] - values_[p]);
              cut.push_back(corners_[p] + s * (corners_[q] - corners_[p]));
            }
            if (cut.size() != 2) continue;
            path += "M" + n(cut[0].x) + " " + n(cut[0].y) + "L" + n(cut[1].x) + " " + n(cut[1].y);
            middles.push_back(0.5 * (cut[0] + cut[1]));
          }
        }
      if (path.empty()) continue;
      body += fmt::format("<path class=\"{}\" d=\"{}\"/>\n", k == 0 ? "zero" : "line", path);
      Vec2 best{};
      double most = 6;  // nearer than this a label would lie on another
      for (Vec2 m : middles) {
        double nearest = 1e9;
        for (Vec2 o : labels_at_) nearest = std::min(nearest, length(m - o));
        if (nearest <= most) continue;
        most = nearest;
        best = m;
      }
      if (most <= 6) continue;
      labels_at_.push_back(best);
      labels += fmt::format(
          "<text class=\"halo label\" x=\"{0}\" y=\"{1}\">{2}</text><text class=\"label\" x=\"{0}\" "
          "y=\"{1}\">{2}</text>\n",
          n(best.x), n(best.y + 1), signed_number(k * interval_));
    }
    return body + labels;
  }

  std::string numbers() {
    std::vector<double> x, y;
    for (Vec2 p : report_.input.map.at) {
      x.push_back(p.x);
      y.push_back(p.y);
    }
    const std::vector<double> xs = distinct_places(x), ys = distinct_places(y);
    const auto every = [](std::size_t count) { return (count + most_numbers - 1) / most_numbers; };
    const auto kept = [&](const std::vector<double>& values, double v) {
      const auto at =
          static_cast<std::size_t>(std::lower_bound(values.begin(), values.end(), v - 0.02) - values.begin());
      return at % every(values.size()) == 0;
    };
    std::string body;
    for (std::size_t i = 0; i < um_.size(); ++i) {
      if (!kept(xs, x[i]) || !kept(ys, y[i])) continue;
      const Vec2 at = page({x[i], y[i]});
      labels_at_.push_back({at.x, at.y + 2});
      body += fmt::format(
          "<circle class=\"point\" cx=\"{0}\" cy=\"{1}\" r=\"0.5\"/><text class=\"halo height\" x=\"{0}\" "
          "y=\"{2}\">{3}</text>"
          "<text class=\"height\" x=\"{0}\" y=\"{2}\">{3}</text>\n",
          n(at.x), n(at.y), n(at.y + 3.4), signed_number(um_[i]));
    }
    return body;
  }

  const LevelReport& report_;
  double left_, interval_, low_, scale_ = 1;
  Vec2 bed_, map_low_, map_high_;
  std::vector<double> um_, values_;
  std::vector<Vec2> corners_, labels_at_;
  int nx_ = 0, ny_ = 0;
};

}  // namespace

std::string level_picture_svg(const LevelReport& report) {
  const LevelResult& r = report.result;
  const double interval = interval_for(1000 * std::max(r.range_mm, 0.005));
  double mean = 0, low = 0;
  for (double v : report.input.map.z) mean += v / static_cast<double>(report.input.map.z.size());
  for (double v : report.input.map.z) low = std::min(low, 1000 * (v - mean));
  std::string body;
  Plan before(report, report.input.map.z, plan_left[0], interval, low);
  body += before.drawn("Measured: range " + decimal(r.range_mm, 3) + " mm") + before.mounts(report.input.now_mm);
  Plan after(report, r.plan.predicted, plan_left[1], interval, low);
  body += after.drawn("Foretold: range " + decimal(r.plan.range_mm, 3) + " mm, each point within " +
                      decimal(r.band_mm, 3) + " mm") +
          after.mounts(r.plan.shim_mm);
  const std::string head =
      report.kit + " " + report.revision + (report.map_date.empty() ? "" : ", map of " + report.map_date);
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n"
      "<style>text{{font-family:sans-serif;fill:#000}} .head{{font-size:5.5px}} .title{{font-size:4.2px}} "
      ".front{{font-size:5px;font-weight:bold;text-anchor:middle}} .note{{font-size:3.6px}} "
      ".label{{font-size:3px;font-style:italic;text-anchor:middle}} .height{{font-size:2.8px;text-anchor:middle}} "
      ".shim{{font-size:3.6px;font-weight:bold;text-anchor:middle}} "
      ".halo{{stroke:#fff;stroke-width:1;stroke-linejoin:round}} "
      ".bed{{fill:none;stroke:#000;stroke-width:.5}} .line{{fill:none;stroke:#000;stroke-width:.18}} "
      ".zero{{fill:none;stroke:#000;stroke-width:.5}} .point{{fill:#000}} "
      ".mount{{fill:none;stroke:#000;stroke-width:.45}}</style>\n"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#fff\"/>\n"
      "<text class=\"head\" x=\"14\" y=\"13\">Bed seen from above: {2}</text>\n{3}"
      "<text class=\"note\" x=\"14\" y=\"{4}\">Numbers are micrometres above (+) or below (-) the map's mean; a "
      "contour "
      "line every {5} um, the thick one at 0; darker is lower.</text>\n"
      "<text class=\"note\" x=\"14\" y=\"{6}\">Circles with a cross are the mounts. Shims raise the bed where they "
      "stand.</text>\n"
      "</svg>\n",
      page_width, page_height, escaped_markup(head), body, n(plan_top + plan_mm + 18), decimal(interval, 1),
      n(plan_top + plan_mm + 24));
}

}  // namespace bedwright
