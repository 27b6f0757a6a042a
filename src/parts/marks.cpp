#include "parts/marks.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "parts/features.h"
#include "parts/grouping.h"
#include "parts/lettering.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double heights_mm[] = {5, 4.5, 4, 3.5};
constexpr double inside_outline_mm = 1.2;
constexpr double clear_of_features_mm = 0.8;
constexpr double below_floor_mm = 0.8;  // material between a mark's floor and a pocket under it
constexpr int most_lines = 4;
constexpr double line_gap = 0.45, word_gap = 0.55, arrow_size = 1.3;  // in letter heights
constexpr double cell_mm = 0.5;                                       // grid on which free room is mapped
constexpr double scan_mm = 1.0;
constexpr double angle_cosine = 0.99985;  // 1 degree

Loop moved(const Loop& loop, Vec2 by) {
  return transformed(loop, shift({by.x, by.y, 0}));
}

/// Turns +Y into the unit vector `d`.
Transform turn_to(Vec2 d) {
  Transform t;
  t.m[0] = d.y;
  t.m[1] = d.x;
  t.m[4] = -d.x;
  t.m[5] = d.y;
  return t;
}

Vec2 quarter_turned(Vec2 d, int quarter) {
  const Vec3 r = turn(quarter_turn(2, quarter), {d.x, d.y, 0});
  return {r.x, r.y};
}

int floor_of(double x) {
  const int towards_zero = static_cast<int>(x);
  return towards_zero > x ? towards_zero - 1 : towards_zero;
}

int ceil_of(double x) {
  return -floor_of(-x);
}

/// Of a feature along X or Y: how high it reaches, and what it covers in plan.
double top_of(const Feature& f) {
  double top = -1e300;
  for (const Loop& loop : f.profile) top = std::max(top, bounding_box(loop).high.y);
  return top;
}

Loop footprint_of(const Feature& f, const PlaneBox& part) {
  PlaneBox across = bounding_box(f.profile.front());
  for (const Loop& loop : f.profile) {
    const PlaneBox b = bounding_box(loop);
    across = {{std::min(across.low.x, b.low.x), 0}, {std::max(across.high.x, b.high.x), 0}};
  }
  const bool x = f.along == Along::x;
  const double least = x ? part.low.x : part.low.y, most = x ? part.high.x : part.high.y;
  const double from = f.from.kind == Bound::Kind::flat ? f.from.z_mm : least,
               to = f.to.kind == Bound::Kind::flat ? f.to.z_mm : most;
  const Vec2 low = x ? Vec2{from, across.low.x} : Vec2{across.low.x, from},
             high = x ? Vec2{to, across.high.x} : Vec2{across.high.x, to};
  return rectangle_loop(0.5 * (low + high), high - low, 0);
}

/// Where a mark may lie: cells whose whole area is free, with prefix sums of the others.
class FreeMap {
 public:
  FreeMap(const Part& part, double lowest_floor, const std::vector<Loop>& keep_clear) {
    const Loop& edge = part.features.front().profile.front();
    box_ = bounding_box(edge);
    nx_ = ceil_of((box_.high.x - box_.low.x) / cell_mm);
    ny_ = ceil_of((box_.high.y - box_.low.y) / cell_mm);
    blocked_.assign(static_cast<std::size_t>(nx_ * ny_), 0);
    const double half_diagonal = cell_mm * 0.70711;
    block(edge, inside_outline_mm + half_diagonal, false);
    for (const Feature& f : part.features) {
      if (f.effect == Effect::none || f.kind == FeatureKind::outline) continue;
      if (crosses(f)) {
        if (top_of(f) >= lowest_floor - below_floor_mm)
          block(footprint_of(f, box_), clear_of_features_mm + half_diagonal, true);
        continue;
      }
      if (f.to.kind == Bound::Kind::flat && f.to.z_mm < lowest_floor - below_floor_mm) continue;
      for (const Loop& loop : f.profile) block(loop, clear_of_features_mm + half_diagonal, true);
    }
    for (const Loop& loop : keep_clear) block(loop, half_diagonal, true);
    add_up();
  }

  const PlaneBox& box() const { return box_; }

  bool is_free(const PlaneBox& b) const {
    const int i0 = floor_of((b.low.x - box_.low.x) / cell_mm);
    const int j0 = floor_of((b.low.y - box_.low.y) / cell_mm);
    const int i1 = ceil_of((b.high.x - box_.low.x) / cell_mm);
    const int j1 = ceil_of((b.high.y - box_.low.y) / cell_mm);
    if (i0 < 0 || j0 < 0 || i1 > nx_ || j1 > ny_) return false;
    return sum(i1, j1) - sum(i0, j1) - sum(i1, j0) + sum(i0, j0) == 0;
  }

  /// No box wider or higher than this is free anywhere.
  Vec2 largest() const { return {longest_x_ * cell_mm + 1e-6, longest_y_ * cell_mm + 1e-6}; }

 private:
  struct Cells {
    int i0, j0, i1, j1;
  };
  /// The cells whose centres lie in a box, and some more.
  Cells cells_over(const PlaneBox& b) const {
    return {std::max(0, floor_of((b.low.x - box_.low.x) / cell_mm) - 1),
            std::max(0, floor_of((b.low.y - box_.low.y) / cell_mm) - 1),
            std::min(nx_, ceil_of((b.high.x - box_.low.x) / cell_mm) + 1),
            std::min(ny_, ceil_of((b.high.y - box_.low.y) / cell_mm) + 1)};
  }
  Vec2 middle_of(int i, int j) const { return box_.low + Vec2{(i + 0.5) * cell_mm, (j + 0.5) * cell_mm}; }
  std::uint8_t& blocked(int i, int j) { return blocked_[static_cast<std::size_t>(j * nx_ + i)]; }

  /// Blocks cells nearer than `reach` to the loop, and those inside it (or outside).
  void block(const Loop& loop, double reach, bool inside) {
    if (loop.circle) block_along(loop, bounding_box(loop), reach);
    Loop one;
    for (const Curve& c : loop.curves) {
      one.curves = {c};
      PlaneBox b = bounding_box(one);  // a loop's box leaves a curve's end to the next one's start
      b.low = {std::min(b.low.x, c.end.x), std::min(b.low.y, c.end.y)};
      b.high = {std::max(b.high.x, c.end.x), std::max(b.high.y, c.end.y)};
      block_along(one, b, reach);
    }
    // The band along the loop is wider than a cell: neighbours that are both off it lie on the same side.
    const Cells cells = inside ? cells_over(bounding_box(loop)) : Cells{0, 0, nx_, ny_};
    for (int j = cells.j0; j < cells.j1; ++j) {
      bool known = false, same_side = false;
      for (int i = cells.i0; i < cells.i1; ++i) {
        if (blocked(i, j)) {
          known = false;
          continue;
        }
        if (!known) same_side = contains(loop, middle_of(i, j)) == inside;
        known = true;
        if (same_side) blocked(i, j) = 1;
      }
    }
  }

  /// `one` is a circle or a single curve.
  void block_along(const Loop& one, const PlaneBox& b, double reach) {
    const Cells cells = cells_over({b.low - Vec2{reach, reach}, b.high + Vec2{reach, reach}});
    for (int j = cells.j0; j < cells.j1; ++j)
      for (int i = cells.i0; i < cells.i1; ++i)
        if (!blocked(i, j) && near(one, middle_of(i, j), reach)) blocked(i, j) = 1;
  }

  /// distance(one, p) < reach, without trigonometry: it is asked of every cell near an arc.
  static bool near(const Loop& one, Vec2 p, double reach) {
    if (one.circle || !one.curves.front().arc) return distance(one, p) < reach;
    const Curve& c = one.curves.front();
    const Vec2 d = p - c.centre;
    if (std::fabs(length(d) - c.radius) >= reach) return false;
    if (length(p - c.start) < reach || length(p - c.end) < reach) return true;
    const Vec2 from = (c.ccw ? c.start : c.end) - c.centre, to = (c.ccw ? c.end : c.start) - c.centre;
    const bool up_to_half = cross(from, to) >= 0;
    return up_to_half ? cross(from, d) >= 0 && cross(d, to) >= 0 : !(cross(to, d) > 0 && cross(d, from) > 0);
  }

  void add_up() {
    sums_.assign(static_cast<std::size_t>((nx_ + 1) * (ny_ + 1)), 0);
    std::vector<int> run_y(static_cast<std::size_t>(nx_), 0);
    for (int j = 0; j < ny_; ++j) {
      int run_x = 0;
      for (int i = 0; i < nx_; ++i) {
        const int taken = blocked(i, j);
        int& up = run_y[static_cast<std::size_t>(i)];
        sum(i + 1, j + 1) = sum(i, j + 1) + sum(i + 1, j) - sum(i, j) + taken;
        run_x = taken ? 0 : run_x + 1;
        up = taken ? 0 : up + 1;
        longest_x_ = std::max(longest_x_, run_x);
        longest_y_ = std::max(longest_y_, up);
      }
    }
  }

  int& sum(int i, int j) { return sums_[static_cast<std::size_t>(j * (nx_ + 1) + i)]; }
  int sum(int i, int j) const { return sums_[static_cast<std::size_t>(j * (nx_ + 1) + i)]; }

  PlaneBox box_;
  int nx_ = 0, ny_ = 0, longest_x_ = 0, longest_y_ = 0;
  std::vector<std::uint8_t> blocked_;
  std::vector<int> sums_;
};

/// A word, or the arrow with its letter (arrow = true).
struct Word {
  std::string text;
  bool arrow = false;
};

double gap_after(const Word& word, double height) {
  return !word.arrow && !word.text.empty() && word.text.back() == '-' ? 0.25 * height : word_gap * height;
}

/// What all lines of one height and direction share.
struct Pen {
  double height = 0;
  int quarter = 0;
  Loop arrow;  ///< the line is turned as a whole afterwards; the arrow must point the right way then
  PlaneBox arrow_box{};
};

Pen pen_for(double height, const std::optional<Arrow>& arrow, int quarter) {
  Pen pen;
  pen.height = height;
  pen.quarter = quarter;
  if (!arrow) return pen;
  pen.arrow = transformed(arrow_loop(arrow_size * height), turn_to(quarter_turned(arrow->toward, -quarter)));
  pen.arrow_box = bounding_box(pen.arrow);
  return pen;
}

/// Size of a line that reads along +X; its loops, from the box's lower left corner, if they are wanted.
Vec2 set_line(const std::vector<Word>& words, const Pen& pen, std::vector<Loop>* loops) {
  const double height = pen.height;
  const PlaneBox& b = pen.arrow_box;
  Vec2 size{0, height};
  double x = 0;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) x += gap_after(words[i - 1], height);
    if (words[i].arrow) {
      if (loops) loops->push_back(moved(pen.arrow, {x - b.low.x, -(b.low.y + b.high.y) / 2}));
      size.y = std::max(size.y, b.high.y - b.low.y);
      x += b.high.x - b.low.x + 0.35 * height;
    }
    if (loops)
      for (const Loop& loop : letter_loops(words[i].text, height)) loops->push_back(moved(loop, {x, -height / 2}));
    x += text_width_mm(words[i].text, height);
  }
  size.x = x;
  if (loops)
    for (Loop& loop : *loops) loop = moved(loop, {0, size.y / 2});
  return size;
}

/// All ways to break n words into `lines` lines, as the index of each line's first word.
void breakings(std::size_t n, int lines, std::vector<std::size_t> starts, std::vector<std::vector<std::size_t>>& out) {
  if (static_cast<int>(starts.size()) == lines) {
    out.push_back(starts);
    return;
  }
  for (std::size_t next = starts.back() + 1; next < n; ++next) {
    std::vector<std::size_t> more = starts;
    more.push_back(next);
    breakings(n, lines, std::move(more), out);
  }
}

/// The breaking into that many lines whose longest line is shortest; empty if there are too few words.
std::vector<std::vector<Word>> broken(const std::vector<Word>& words, int lines, const std::optional<Arrow>& arrow) {
  if (lines > static_cast<int>(words.size())) return {};
  const Pen pen = pen_for(1, arrow, 0);
  std::vector<std::vector<std::size_t>> all;
  breakings(words.size(), lines, {0}, all);
  std::vector<std::vector<Word>> best;
  double best_width = 0;
  for (const auto& starts : all) {
    std::vector<std::vector<Word>> candidate;
    double width = 0;
    for (std::size_t k = 0; k < starts.size(); ++k) {
      const std::size_t end = k + 1 < starts.size() ? starts[k + 1] : words.size();
      candidate.emplace_back(words.begin() + static_cast<std::ptrdiff_t>(starts[k]),
                             words.begin() + static_cast<std::ptrdiff_t>(end));
      width = std::max(width, set_line(candidate.back(), pen, nullptr).x);
    }
    if (best.empty() || width < best_width - 1e-9) {
      best = candidate;
      best_width = width;
    }
  }
  return best;
}

/// A mark's line as it will lie: the lower left corner of its box, from the mark's centre, and the box's size.
struct Line {
  Vec2 at, size;
};
using Block = std::vector<Line>;

PlaneBox box_of(const Line& line, Vec2 centre) {
  return {centre + line.at, centre + line.at + line.size};
}

Block arranged(const std::vector<std::vector<Word>>& lines, const Pen& pen) {
  std::vector<Vec2> sizes;
  double total = 0;
  for (const auto& words : lines) {
    sizes.push_back(set_line(words, pen, nullptr));
    total += sizes.back().y;
  }
  total += line_gap * pen.height * static_cast<double>(lines.size() - 1);
  Block block;
  double y = total / 2;
  for (const Vec2 size : sizes) {
    y -= size.y;
    // Turned a quarter left: (x, y) -> (-y, x).
    if (pen.quarter != 0)
      block.push_back({{-(y + size.y), -size.x / 2}, {size.y, size.x}});
    else
      block.push_back({{-size.x / 2, y}, size});
    y -= line_gap * pen.height;
  }
  return block;
}

std::vector<Loop> drawn(const std::vector<Word>& words, const Pen& pen) {
  std::vector<Loop> loops;
  const Vec2 size = set_line(words, pen, &loops);
  if (pen.quarter != 0)
    for (Loop& loop : loops) loop = moved(transformed(loop, quarter_turn(2, 1)), {size.y, 0});
  return loops;
}

/// Nearest to the middle of the outline's box; of equals the first in scanning order.
std::optional<Vec2> room_for(const Block& block, const FreeMap& map) {
  const Vec2 largest = map.largest();
  for (const Line& line : block)
    if (line.size.x > largest.x || line.size.y > largest.y) return std::nullopt;
  const PlaneBox& b = map.box();
  const Vec2 middle = 0.5 * (b.low + b.high);
  const int rx = static_cast<int>((b.high.x - b.low.x) / 2 / scan_mm);
  const int ry = static_cast<int>((b.high.y - b.low.y) / 2 / scan_mm);
  std::optional<Vec2> best;
  int best_square = 0;
  for (int j = -ry; j <= ry; ++j)
    for (int i = -rx; i <= rx; ++i) {
      if (best && i * i + j * j >= best_square) continue;
      const Vec2 centre = middle + Vec2{i * scan_mm, j * scan_mm};
      if (!std::all_of(block.begin(), block.end(), [&](const Line& line) { return map.is_free(box_of(line, centre)); }))
        continue;
      best = centre;
      best_square = i * i + j * j;
    }
  return best;
}

std::string with_glyphs_only(const std::string& text) {
  std::string kept;
  for (char c : text)
    if (has_glyph(c) && c != ' ') kept += c;
  return kept;
}

std::string spoken(const MarkWish& wish) {
  std::string text;
  for (const std::string& word : wish.words) {
    if (!text.empty() && text.back() != '-') text += ' ';
    text += word;
  }
  return wish.arrow ? text + ", " + wish.arrow->words + " (" + wish.arrow->letter + ")" : text;
}

/// Whether an arrow points to the front (or to the centre) within 1 degree where the part stands turned by quarters.
bool holds_at(const Layout& layout, const std::string& placement, int quarter, Vec2 toward, bool to_centre) {
  Vec2 wanted{0, -1};
  for (const Placement& p : layout.placements)
    if (to_centre && p.id == placement) wanted = (-1.0 / length(p.at)) * p.at;
  return dot(quarter_turned(toward, quarter), wanted) >= angle_cosine;
}

double top_over(const Part& part, const std::vector<Loop>& loops) {
  const Bound& top = part.features.front().to;
  return top.kind == Bound::Kind::flat ? top.z_mm : heights_over(part.seat, loops).least;
}

}  // namespace

std::vector<std::string> words_of_id(const std::string& id) {
  std::vector<std::string> words(1);
  for (char c : id) {
    words.back() += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    if (c == '-') words.emplace_back();
  }
  words.erase(std::remove(words.begin(), words.end(), std::string()), words.end());
  return words;
}

bool arrow_holds(const Layout& layout, const Part& part, Vec2 toward, bool to_centre) {
  for (std::size_t i = 0; i < part.placements.size(); ++i)
    if (!holds_at(layout, part.placements[i], part.quarter_turns[i], toward, to_centre)) return false;
  return true;
}

std::optional<Arrow> true_arrow(const Layout& layout, Part& part) {
  if (part.placements.empty() || part.quarter_turns.size() != part.placements.size()) return std::nullopt;
  const std::vector<int> own = turns_between(part, part);
  const auto holds = [&](Vec2 toward, bool to_centre) {
    std::vector<int> chosen;
    for (std::size_t i = 0; i < part.placements.size(); ++i) {
      const auto turn = std::find_if(own.begin(), own.end(), [&](int quarter) {
        return holds_at(layout, part.placements[i], (part.quarter_turns[i] + quarter) % 4, toward, to_centre);
      });
      if (turn == own.end()) return false;
      chosen.push_back((part.quarter_turns[i] + *turn) % 4);
    }
    part.quarter_turns = chosen;
    return true;
  };
  const Arrow front{{0, -1}, "F", "arrow to the machine's front"};
  if (part.placements.size() == 1) return holds(front.toward, false) ? std::optional<Arrow>(front) : std::nullopt;
  for (const Placement& p : layout.placements) {
    if (p.id != part.placements.front()) continue;
    const Arrow centre{(-1.0 / length(p.at)) * p.at, "C", "arrow to the machine's centre"};
    if (holds(centre.toward, true)) return centre;
  }
  if (holds(front.toward, false)) return front;
  return std::nullopt;
}

std::string why_no_arrow(const Part& part) {
  std::string lies;
  for (std::size_t i = 0; i < part.placements.size() && i < part.quarter_turns.size(); ++i)
    lies += (lies.empty() ? "" : ", ") + std::to_string(90 * part.quarter_turns[i]) + " deg at " + part.placements[i];
  return "the mark has no arrow: the part lies turned by " + lies +
         ", and no one side of it faces the machine's front, or its centre, at all of these places";
}

void engrave(Part& part, const MarkWish& wish, const std::string& face) {
  std::vector<Word> words;
  for (const std::string& word : wish.words)
    if (const std::string kept = with_glyphs_only(word); !kept.empty()) words.push_back({kept, false});
  if (wish.arrow) words.push_back({wish.arrow->letter, true});
  if (words.empty()) return;
  const FreeMap map(part, top_over(part, part.features.front().profile) - wish.depth_mm, wish.keep_clear);
  std::vector<std::vector<std::vector<Word>>> ways;
  for (int count = 1; count <= most_lines; ++count)
    if (auto lines = broken(words, count, wish.arrow); !lines.empty()) ways.push_back(std::move(lines));
  for (double height : heights_mm) {
    const Pen pens[] = {pen_for(height, wish.arrow, 0), pen_for(height, wish.arrow, 1)};
    for (const auto& lines : ways)
      for (const Pen& pen : pens) {
        const Block block = arranged(lines, pen);
        const std::optional<Vec2> centre = room_for(block, map);
        if (!centre) continue;
        std::vector<Loop> footprint;
        for (const Line& line : block) {
          const PlaneBox b = box_of(line, *centre);
          footprint.push_back(rectangle_loop(0.5 * (b.low + b.high), b.high - b.low, 0));
        }
        const double top = top_over(part, footprint);
        for (std::size_t i = 0; i < lines.size(); ++i) {
          Feature f;
          f.id = "mark-" + std::to_string(i + 1);
          f.kind = FeatureKind::mark;
          f.effect = Effect::cut;
          for (const Loop& loop : drawn(lines[i], pen)) f.profile.push_back(moved(loop, *centre + block[i].at));
          f.from = Bound::at(top - wish.depth_mm);
          f.to = Bound::open();
          const Vec2 middle = *centre + block[i].at + 0.5 * block[i].size;
          f.at = {middle.x, middle.y, top};
          part.features.push_back(std::move(f));
        }
        part.visible_mark = true;
        part.mark_face = face;
        part.mark_text = spoken(wish);
        return;
      }
  }
  part.statements.push_back("no room for the mark \"" + spoken(wish) +
                            "\" in letters of 3.5 mm: write it on by hand before the parts get mixed");
}

}  // namespace bedwright
