#include "drawing/annotate.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

constexpr double arrow_mm = 2.5, above_line_mm = 0.9;
constexpr double lean = 0.45;  // of a leader: to the right for each millimetre up
constexpr double leader_apart_mm = 1.6, shelf_mm = 2, first_row_mm = 4;

}  // namespace

std::vector<double> spread(const std::vector<double>& wanted, double apart) {
  // Neighbours too close become one block about the mean of what they want.
  struct Block {
    double sum = 0;
    std::size_t count = 0;
    double first(double step) const {
      return sum / static_cast<double>(count) - step * static_cast<double>(count - 1) / 2;
    }
    double last(double step) const { return first(step) + step * static_cast<double>(count - 1); }
  };
  std::vector<Block> blocks;
  for (const double w : wanted) {
    blocks.push_back({w, 1});
    while (blocks.size() > 1 && blocks.back().first(apart) - blocks[blocks.size() - 2].last(apart) < apart) {
      const Block top = blocks.back();
      blocks.pop_back();
      blocks.back().sum += top.sum;
      blocks.back().count += top.count;
    }
  }
  std::vector<double> places;
  for (const Block& b : blocks)
    for (std::size_t i = 0; i < b.count; ++i) places.push_back(b.first(apart) + apart * static_cast<double>(i));
  return places;
}

void linear_dimension(Page& page, Vec2 a, Vec2 b, bool upright, double line_at, const std::string& text) {
  // Worked out along x, turned at the end.
  const auto turn = [&](Vec2 p) { return upright ? Vec2{p.y, p.x} : p; };
  Vec2 p = turn(a), q = turn(b);
  if (q.x < p.x) std::swap(p, q);
  for (const Vec2 end : {p, q}) {
    const double way = line_at < end.y ? -1 : 1;
    page.line(Pen::thin, turn({end.x, end.y + way * extension_gap_mm}),
              turn({end.x, line_at + way * extension_past_mm}));
  }
  const double width = words_width_mm(text, note_cap_mm), room = q.x - p.x;
  const bool arrows_fit = room > 3 * arrow_mm;
  const Vec2 right = turn({1, 0});
  page.arrow(turn({p.x, line_at}), arrows_fit ? -right : right, arrow_mm);
  page.arrow(turn({q.x, line_at}), arrows_fit ? right : -right, arrow_mm);
  double from = p.x, to = q.x;
  if (!arrows_fit) from -= 2 * arrow_mm, to += 2 * arrow_mm;
  // Above its line, off the middle where something crosses there, beside the arrows where it does not fit between.
  const double side = upright ? -1 : 1, past = extension_past_mm + (arrows_fit ? 0 : 2 * arrow_mm);
  std::vector<double> places;
  if (arrows_fit)
    for (double off = 0; off <= (room - width) / 2 - 0.5; off += 0.5) places.insert(places.end(), {off, -off});
  const double centre = (p.x + q.x) / 2, beside = room / 2 + past + width / 2;
  for (double off = 0; off < 20; off += 1)
    if (upright)
      places.insert(places.end(), {-beside - off, beside + off});
    else
      places.insert(places.end(), {beside + off, -beside - off});
  double middle = centre + places.front();
  for (const double off : places) {
    const double at = centre + off;
    const Vec2 m = turn({at - width / 2 - 0.4, line_at + side * 0.4});
    const Vec2 n = turn({at + width / 2 + 0.4, line_at + side * (above_line_mm + note_cap_mm + 0.3)});
    if (!is_clear(page, {{std::min(m.x, n.x), std::min(m.y, n.y)}, {std::max(m.x, n.x), std::max(m.y, n.y)}})) continue;
    middle = at;
    break;
  }
  from = std::min(from, middle - width / 2);
  to = std::max(to, middle + width / 2);
  page.line(Pen::thin, turn({from, line_at}), turn({to, line_at}));
  // Read from below, or from the right: above its line either way.
  page.write(turn({middle, line_at + side * above_line_mm}), text, note_cap_mm, Align::middle, upright);
}

double ordinate_depth(const std::vector<Ordinate>& list) {
  double widest = 0;
  for (const Ordinate& o : list) widest = std::max(widest, words_width_mm(o.text, note_cap_mm));
  return widest + 1;
}

PaperBox ordinate_extent(const std::vector<Ordinate>& list) {
  std::vector<double> wanted;
  for (const Ordinate& o : list) wanted.push_back(o.at);
  std::sort(wanted.begin(), wanted.end());
  const std::vector<double> places = spread(wanted, ordinate_apart_mm);
  if (places.empty()) return {};
  return {{places.front() - ordinate_apart_mm / 2, 0}, {places.back() + ordinate_apart_mm / 2, 0}};
}

void ordinates(Page& page, std::vector<Ordinate> list, bool leftward, double row) {
  std::sort(list.begin(), list.end(), [](const Ordinate& a, const Ordinate& b) { return a.at < b.at; });
  std::vector<double> wanted;
  for (const Ordinate& o : list) wanted.push_back(o.at);
  const std::vector<double> places = spread(wanted, ordinate_apart_mm);
  const auto turn = [&](Vec2 p) { return leftward ? Vec2{p.y, p.x} : p; };
  // The dimension line runs above the jogs (3 mm) between places and texts.
  constexpr double jog = 3, last = 1, small_arrow = 2;
  const double line_at = row + last + jog + 1;
  std::size_t origin = list.size();
  for (std::size_t i = 0; i < list.size(); ++i) {
    std::vector<Vec2> line = {{list[i].at, std::max(list[i].from, line_at + 1)}};
    if (std::fabs(places[i] - list[i].at) > 1e-9) {
      line.push_back({list[i].at, row + last + jog});
      line.push_back({places[i], row + last});
    }
    line.push_back({places[i], row});
    for (Vec2& p : line) p = turn(p);
    page.strokes.push_back({Pen::thin, line, false});
    const Vec2 end = turn({places[i] + (leftward ? -1 : 1) * note_cap_mm / 2, row - 0.6});
    page.write(end, list[i].text, note_cap_mm, Align::right, !leftward);
    if (list[i].text == "0") origin = i;
  }
  if (origin == list.size() || list.size() < 2) return;
  page.line(Pen::thin, turn({list.front().at, line_at}), turn({list.back().at, line_at}));
  page.rings.push_back({Pen::thin, turn({list[origin].at, line_at}), 0.9});
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (i == origin) continue;
    const double way = i < origin ? -1 : 1;
    const std::size_t before = i < origin ? i + 1 : i - 1;
    const Vec2 tip{list[i].at, line_at};
    // Where arrowheads would run into each other, a dot does (ISO 129-1).
    if (std::fabs(list[i].at - list[before].at) > small_arrow + (before == origin ? 0.9 : 0.3))
      page.arrow(turn(tip), turn({way, 0}), small_arrow);
    else
      page.fills.push_back(
          {turn(tip + Vec2{0.4, 0}), turn(tip + Vec2{0, 0.4}), turn(tip - Vec2{0.4, 0}), turn(tip - Vec2{0, 0.4})});
  }
}

PaperBox box_of(const PlacedCallout& c) {
  double width = 0;
  for (const std::string& line : c.lines) width = std::max(width, words_width_mm(line, note_cap_mm));
  const double left = c.text.x - (c.leftward ? width : 0);
  return {{left, c.text.y - 0.8},
          {left + width, c.text.y + text_row_mm * static_cast<double>(c.lines.size() - 1) + note_cap_mm}};
}

std::vector<PlacedCallout> placed_above(std::vector<Callout> callouts, double top, bool leftward) {
  if (leftward) {
    for (Callout& c : callouts)
      for (Vec2& tip : c.tips) tip.x = -tip.x;
    std::vector<PlacedCallout> mirrored = placed_above(std::move(callouts), top, false);
    for (PlacedCallout& p : mirrored) {
      p.tip.x = -p.tip.x, p.end.x = -p.end.x, p.text.x = -p.text.x;
      p.leftward = true;
    }
    return mirrored;
  }
  // Where a leader with the usual lean would be at the height 0.
  const auto foot = [](Vec2 tip) { return tip.x - lean * tip.y; };
  // Each points at its highest place, for a short leader, unless another leader would run beside it.
  std::vector<std::pair<double, std::size_t>> order;
  std::vector<Vec2> tips;
  for (std::size_t i = 0; i < callouts.size(); ++i) {
    std::vector<Vec2> list = callouts[i].tips;
    std::stable_sort(list.begin(), list.end(),
                     [&](Vec2 a, Vec2 b) { return std::fabs(a.y - b.y) > 0.01 ? a.y > b.y : a.x > b.x; });
    const auto free = std::find_if(list.begin(), list.end(), [&](Vec2 tip) {
      return std::all_of(tips.begin(), tips.end(),
                         [&](Vec2 t) { return std::fabs(foot(t) - foot(tip)) >= leader_apart_mm; });
    });
    tips.push_back(free == list.end() ? list.front() : *free);
    order.push_back({-foot(tips.back()), i});
  }
  std::sort(order.begin(), order.end());
  // From the right to the left, each row above the one before: texts run to the right, away from later leaders.
  std::vector<PlacedCallout> placed;
  double row = top + first_row_mm;
  for (const auto& [minus_foot, i] : order) {
    const Vec2 tip = tips[i];
    PlacedCallout p;
    p.tip = tip;
    p.lines = callouts[i].lines;
    const double height = row + note_cap_mm / 2;
    double x = tip.x + lean * (height - tip.y);
    for (const PlacedCallout& other : placed) {
      const PaperBox box = box_of(other);
      for (const double y : {box.low.y, box.high.y}) {
        const double limit = box.low.x - shelf_mm - leader_apart_mm;
        if (y > tip.y) x = std::min(x, tip.x + (limit - tip.x) * (height - tip.y) / (y - tip.y));
      }
    }
    p.end = {x, height};
    p.text = {x + shelf_mm + 0.6, row};
    placed.push_back(p);
    row += text_row_mm * static_cast<double>(p.lines.size());
  }
  return placed;
}

void draw_callout(Page& page, const PlacedCallout& c) {
  const Vec2 way = c.tip - c.end;
  page.arrow(c.tip, (1 / length(way)) * way, arrow_mm);
  page.strokes.push_back({Pen::thin, {c.tip, c.end, c.end + Vec2{c.leftward ? -shelf_mm : shelf_mm, 0}}, false});
  for (std::size_t i = 0; i < c.lines.size(); ++i)
    page.write(c.text + Vec2{0, text_row_mm * static_cast<double>(c.lines.size() - 1 - i)}, c.lines[i], note_cap_mm,
               c.leftward ? Align::right : Align::left);
}

bool is_clear(const Page& page, const PaperBox& box) {
  for (const Words& w : page.words)
    if (overlap(box_of(w), box)) return false;
  for (const Stroke& s : page.strokes) {
    for (std::size_t i = 0; i + 1 < s.points.size(); ++i)
      if (runs_through(s.points[i], s.points[i + 1], box)) return false;
    if (s.closed && runs_through(s.points.back(), s.points.front(), box)) return false;
  }
  for (const auto& fill : page.fills)
    for (std::size_t i = 0; i < fill.size(); ++i)
      if (runs_through(fill[i], fill[(i + 1) % fill.size()], box)) return false;
  return true;
}

}  // namespace bedwright
