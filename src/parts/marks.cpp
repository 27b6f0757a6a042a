#include "parts/marks.h"

#include <algorithm>
#include <cmath>

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

/// Where a mark may lie: cells whose whole area is free, with prefix sums of the others.
class FreeMap {
 public:
  FreeMap(const Part& part, double lowest_floor) {
    const Feature& outline = part.features.front();
    box_ = bounding_box(outline.profile.front());
    nx_ = static_cast<int>(std::ceil((box_.high.x - box_.low.x) / cell_mm));
    ny_ = static_cast<int>(std::ceil((box_.high.y - box_.low.y) / cell_mm));
    sums_.assign(static_cast<std::size_t>((nx_ + 1) * (ny_ + 1)), 0);
    const double half_diagonal = cell_mm * 0.70711;
    std::vector<const Loop*> obstacles;
    std::vector<PlaneBox> reach;
    for (const Feature& f : part.features) {
      if (f.effect == Effect::none || f.kind == FeatureKind::outline) continue;
      if (f.to.kind == Bound::Kind::flat && f.to.z_mm < lowest_floor - below_floor_mm) continue;
      for (const Loop& loop : f.profile) {
        PlaneBox b = bounding_box(loop);
        const double grown = clear_of_features_mm + half_diagonal;
        reach.push_back({b.low - Vec2{grown, grown}, b.high + Vec2{grown, grown}});
        obstacles.push_back(&loop);
      }
    }
    for (int j = 0; j < ny_; ++j)
      for (int i = 0; i < nx_; ++i) {
        const Vec2 p = box_.low + Vec2{(i + 0.5) * cell_mm, (j + 0.5) * cell_mm};
        bool blocked = !contains(outline.profile.front(), p) ||
                       distance(outline.profile.front(), p) < inside_outline_mm + half_diagonal;
        for (std::size_t k = 0; k < obstacles.size() && !blocked; ++k) {
          const PlaneBox& b = reach[k];
          if (p.x < b.low.x || p.x > b.high.x || p.y < b.low.y || p.y > b.high.y) continue;
          blocked = contains(*obstacles[k], p) || distance(*obstacles[k], p) < clear_of_features_mm + half_diagonal;
        }
        sum(i + 1, j + 1) = sum(i, j + 1) + sum(i + 1, j) - sum(i, j) + (blocked ? 1 : 0);
      }
  }

  const PlaneBox& box() const {
    return box_;
  }

  bool is_free(const PlaneBox& b) const {
    const int i0 = static_cast<int>(std::floor((b.low.x - box_.low.x) / cell_mm));
    const int j0 = static_cast<int>(std::floor((b.low.y - box_.low.y) / cell_mm));
    const int i1 = static_cast<int>(std::ceil((b.high.x - box_.low.x) / cell_mm));
    const int j1 = static_cast<int>(std::ceil((b.high.y - box_.low.y) / cell_mm));
    if (i0 < 0 || j0 < 0 || i1 > nx_ || j1 > ny_) return false;
    return sum(i1, j1) - sum(i0, j1) - sum(i1, j0) + sum(i0, j0) == 0;
  }

 private:
  int& sum(int i, int j) {
    return sums_[static_cast<std::size_t>(j * (nx_ + 1) + i)];
  }
  int sum(int i, int j) const {
    return sums_[static_cast<std::size_t>(j * (nx_ + 1) + i)];
  }

  PlaneBox box_;
  int nx_ = 0, ny_ = 0;
  std::vector<int> sums_;
};

/// One line of a mark as drawn: reading along +X, its box from the origin.
struct Line {
  std::vector<Loop> loops;
  Vec2 size;
};

/// A word, or the arrow with its letter (arrow = true).
struct Word {
  std::string text;
  bool arrow = false;
};

double gap_after(const Word& word, double height) {
  return !word.arrow && !word.text.empty() && word.text.back() == '-' ? 0.25 * height : word_gap * height;
}

Line drawn_line(const std::vector<Word>& words, double height, const std::optional<Arrow>& arrow, int quarter) {
  Line line;
  double x = 0;
  line.size.y = height;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) x += gap_after(words[i - 1], height);
    if (words[i].arrow) {
      // The line is turned as a whole afterwards; the arrow must point the same way then.
      const Loop shape =
          transformed(arrow_loop(arrow_size * height), turn_to(quarter_turned(arrow->toward, -quarter)));
      const PlaneBox b = bounding_box(shape);
      line.loops.push_back(moved(shape, {x - b.low.x, -(b.low.y + b.high.y) / 2}));
      line.size.y = std::max(line.size.y, b.high.y - b.low.y);
      x += b.high.x - b.low.x + 0.35 * height;
    }
    for (const Loop& loop : letter_loops(words[i].text, height)) line.loops.push_back(moved(loop, {x, -height / 2}));
    x += text_width_mm(words[i].text, height);
  }
  line.size.x = x;
  for (Loop& loop : line.loops) loop = moved(loop, {0, line.size.y / 2});
  return line;
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
      width = std::max(width, drawn_line(candidate.back(), 1, arrow, 0).size.x);
    }
    if (best.empty() || width < best_width - 1e-9) {
      best = candidate;
      best_width = width;
    }
  }
  return best;
}

struct Block {
  std::vector<Line> lines;  ///< turned already
  std::vector<Vec2> at;     ///< lower left corner of each line's box, from the block's centre
};

Block arranged(const std::vector<std::vector<Word>>& lines, double height, const std::optional<Arrow>& arrow,
               int quarter) {
  Block block;
  double total = 0;
  for (const auto& words : lines) {
    block.lines.push_back(drawn_line(words, height, arrow, quarter));
    total += block.lines.back().size.y;
  }
  total += line_gap * height * static_cast<double>(lines.size() - 1);
  double y = total / 2;
  for (Line& line : block.lines) {
    y -= line.size.y;
    Vec2 low{-line.size.x / 2, y}, high{line.size.x / 2, y + line.size.y};
    y -= line_gap * height;
    if (quarter != 0) {
      // Turned a quarter left: (x, y) -> (-y, x).
      for (Loop& loop : line.loops) {
        loop = moved(transformed(loop, quarter_turn(2, 1)), {line.size.y, 0});
      }
      const Vec2 turned_low{-high.y, low.x};
      low = turned_low;
      line.size = {line.size.y, line.size.x};
    }
    block.at.push_back(low);
  }
  return block;
}

std::vector<PlaneBox> boxes_of(const Block& block, Vec2 centre) {
  std::vector<PlaneBox> boxes;
  for (std::size_t i = 0; i < block.lines.size(); ++i)
    boxes.push_back({centre + block.at[i], centre + block.at[i] + block.lines[i].size});
  return boxes;
}

/// Nearest to the middle of the outline's box; of equals the first in scanning order.
std::optional<Vec2> room_for(const Block& block, const FreeMap& map) {
  const PlaneBox& b = map.box();
  const Vec2 middle = 0.5 * (b.low + b.high);
  const int rx = static_cast<int>((b.high.x - b.low.x) / 2 / scan_mm);
  const int ry = static_cast<int>((b.high.y - b.low.y) / 2 / scan_mm);
  std::optional<Vec2> best;
  double best_distance = 0;
  for (int j = -ry; j <= ry; ++j)
    for (int i = -rx; i <= rx; ++i) {
      const Vec2 centre = middle + Vec2{i * scan_mm, j * scan_mm};
      const double far = length(centre - middle);
      if (best && far >= best_distance - 1e-9) continue;
      const std::vector<PlaneBox> boxes = boxes_of(block, centre);
      if (!std::all_of(boxes.begin(), boxes.end(), [&](const PlaneBox& box) { return map.is_free(box); })) continue;
      best = centre;
      best_distance = far;
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
  for (std::size_t i = 0; i < part.placements.size(); ++i) {
    const Vec2 points = quarter_turned(toward, part.quarter_turns[i]);
    Vec2 wanted{0, -1};
    for (const Placement& p : layout.placements)
      if (to_centre && p.id == part.placements[i]) wanted = (-1.0 / length(p.at)) * p.at;
    if (dot(points, wanted) < angle_cosine) return false;
  }
  return true;
}

std::optional<Arrow> true_arrow(const Layout& layout, Part& part) {
  if (part.placements.empty() || part.quarter_turns.size() != part.placements.size()) return std::nullopt;
  const std::vector<int> own = turns_between(part, part);
  const auto holds = [&](Vec2 toward, bool to_centre) {
    Part chosen = part;
    for (std::size_t i = 0; i < part.placements.size(); ++i) {
      bool found = false;
      for (int turn : own) {
        Part one = part;
        one.placements = {part.placements[i]};
        one.quarter_turns = {(part.quarter_turns[i] + turn) % 4};
        if (!found && arrow_holds(layout, one, toward, to_centre)) {
          chosen.quarter_turns[i] = one.quarter_turns[0];
          found = true;
        }
      }
      if (!found) return false;
    }
    part.quarter_turns = chosen.quarter_turns;
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

void engrave(Part& part, const MarkWish& wish, const std::string& face) {
  std::vector<Word> words;
  for (const std::string& word : wish.words)
    if (const std::string kept = with_glyphs_only(word); !kept.empty()) words.push_back({kept, false});
  if (wish.arrow) words.push_back({wish.arrow->letter, true});
  if (words.empty()) return;
  const FreeMap map(part, top_over(part, part.features.front().profile) - wish.depth_mm);
  for (double height : heights_mm)
    for (int count = 1; count <= most_lines; ++count) {
      const std::vector<std::vector<Word>> lines = broken(words, count, wish.arrow);
      if (lines.empty()) continue;
      for (int quarter : {0, 1}) {
        const Block block = arranged(lines, height, wish.arrow, quarter);
        const std::optional<Vec2> centre = room_for(block, map);
        if (!centre) continue;
        std::vector<Loop> footprint;
        for (const PlaneBox& b : boxes_of(block, *centre))
          footprint.push_back(rectangle_loop(0.5 * (b.low + b.high), b.high - b.low, 0));
        const double top = top_over(part, footprint);
        for (std::size_t i = 0; i < block.lines.size(); ++i) {
          Feature f;
          f.id = "mark-" + std::to_string(i + 1);
          f.kind = FeatureKind::mark;
          f.effect = Effect::cut;
          for (const Loop& loop : block.lines[i].loops) f.profile.push_back(moved(loop, *centre + block.at[i]));
          f.from = Bound::at(top - wish.depth_mm);
          f.to = Bound::open();
          const Vec2 middle = *centre + block.at[i] + 0.5 * block.lines[i].size;
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
