#include "drawing/part_drawing.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/error.h"
#include "base/numbers.h"
#include "drawing/annotate.h"
#include "drawing/hidden_lines.h"
#include "drawing/told.h"

namespace bedwright {
namespace {

constexpr double axis_past_mm = 2.5;   // centre lines beyond what they cross
constexpr double ordinate_row_mm = 9;  // from the view to the end of its extension lines
constexpr double overall_row_mm = 8;   // to an overall dimension, or between two rows
constexpr double mark_past_mm = 7;     // a plane of section beyond the view
constexpr double view_gap_mm = 5, label_row_mm = 6;
constexpr double short_axis_mm = 8;  // half a centre line shorter than this has no dashes
constexpr double same_mm = 0.005;
constexpr double hatch_apart_mm = 2;
constexpr double merge_mm = 0.2;   // hidden lines nearer to a visible one than this would only blot it
constexpr double sliver_mm = 0.5;  // so would curves this near to longer lines

/// A view in its own plane, model lengths.
struct View {
  std::string label;
  ViewAxes axes;
  std::vector<ViewLine> lines;
  Vec2 low, high;
  std::vector<std::pair<Vec2, Vec2>> crosses;  ///< centre and half size of holes seen along their axis
  std::vector<double> axes_u, axes_v;          ///< upright and level centre lines of holes seen from the side
  std::vector<Ordinate> ordinates_u, ordinates_v;
  std::string overall_u, overall_v;
  std::vector<Callout> callouts;
  std::vector<std::array<Vec2, 2>> cut, hatch;  ///< of a section
  bool marked = false;                          ///< with the plane of section
  // Paper.
  Vec2 origin;                                       ///< place of `low`
  double left = 0, right = 0, above = 0, below = 0;  ///< what stands round it
  double body_left = 0, body_right = 0;              ///< `left` and `right` without callouts above the view
};

Vec2 on_paper(const View& v, double scale, Vec2 p) {
  return v.origin + scale * (p - v.low);
}

class Composer {
 public:
  Composer(const DrawnPart& drawn, const TitleBlock& title, const SheetSize& size)
      : drawn_(drawn),
        part_(*drawn.part),
        title_(title),
        size_(size),
        groups_(hole_groups(part_)),
        outline_(outline_size(part_)),
        box_(bounding_box(*drawn.solid)) {
    for (const Feature& f : part_.features)
      if (f.kind == FeatureKind::mark) lettering_.boxes.push_back(box_of_mark(f));
    above_ = view("from above, rear is up", from_above);
    lettering_.drawn = false;  // seen along its face it is a blot
    front_ = view("from the front", from_front);
    side_ = title.third_angle ? view("from the right", from_right) : view("from the left", from_left);
    tell_plan();
    tell_upright(front_, Along::y);
    tell_upright(side_, Along::x);
    tell_levels();
    plan_section();
    notes_ = notes();
  }

  Page page() {
    scale_ = largest_scale();
    if (scale_ < least_scale_on_a4 && size_.width_mm < sheet_a3.width_mm) {
      const SheetSize asked = std::exchange(size_, sheet_a3);
      const double larger = largest_scale();
      if (larger > scale_)
        scale_ = larger;
      else
        size_ = asked, scale_ = largest_scale();
    }
    settle(scale_);
    place();
    title_.scale = scale_text(scale_);
    page_ = framed_sheet(size_, title_);
    draw(front_);
    draw(side_);
    draw(section_);
    draw(above_);
    write_notes();
    table();
    return std::move(page_);
  }

 private:
  /// On the sheet as it is; says too whether the section stands beside the views.
  double largest_scale() {
    const double *scale = std::begin(drawing_scales), *last = std::end(drawing_scales) - 1;
    for (; scale != last; ++scale) {
      section_beside_ = false;
      if (fits(*scale)) break;
      section_beside_ = true;
      if (fits(*scale)) break;
    }
    return *scale;
  }

  Box box_of_mark(const Feature& f) const {
    Box box{{1e300, 1e300, -1e300}, {-1e300, -1e300, 1e300}};
    for (const Loop& loop : f.profile) {
      const PlaneBox b = bounding_box(loop);
      box.low.x = std::min(box.low.x, b.low.x), box.low.y = std::min(box.low.y, b.low.y);
      box.high.x = std::max(box.high.x, b.high.x), box.high.y = std::max(box.high.y, b.high.y);
    }
    // As much of the height as the mark may have touched.
    if (f.from.kind == Bound::Kind::flat) box.low.z = f.from.z_mm;
    if (f.to.kind == Bound::Kind::flat) box.high.z = f.to.z_mm;
    const Vec3 slack{0.05, 0.05, 0.05};
    return {box.low - slack, box.high + slack};
  }

  View view(const char* label, const ViewAxes& axes) const {
    View v;
    v.label = label;
    v.axes = axes;
    v.lines = view_lines(*drawn_.solid, axes, lettering_);
    const Vec3 a = in_view(axes, box_.low), b = in_view(axes, box_.high);
    v.low = {std::min(a.x, b.x), std::min(a.y, b.y)};
    v.high = {std::max(a.x, b.x), std::max(a.y, b.y)};
    return v;
  }

  static Vec3 spot(const HoleGroup& g, const HolePlace& p) { return in_space(g.along, p.at, 0); }

  /// Half size of a hole as a view along its axis has it: its plane is turned by quarter turns only.
  static Vec2 plane(const View& v, Along along, Vec2 p) {
    const Vec3 q = in_view(v.axes, in_space(along, p, 0));
    return {q.x, q.y};
  }

  /// Where a leader from above right meets the rim of a hole.
  static Vec2 tip(const View& v, const HoleGroup& g, const HolePlace& p) {
    const std::vector<Vec2> rim = polygonised(p.rim, 0.02);
    const Vec2 centre = plane(v, g.along, p.at), way{0.41, 0.91};
    double far = 0;
    for (std::size_t i = 0; i < rim.size(); ++i) {
      const Vec2 a = plane(v, g.along, rim[i]) - centre, b = plane(v, g.along, rim[(i + 1) % rim.size()]) - centre;
      const double den = cross(b - a, way);
      if (den == 0) continue;
      const double s = cross(way, a) / den;
      const Vec2 m = a + s * (b - a);
      if (s >= 0 && s <= 1) far = std::max(far, dot(m, way));
    }
    return centre + far * way;
  }

  static void take(std::vector<Ordinate>& list, double at, double from, double value) {
    for (Ordinate& o : list)
      if (std::fabs(o.at - at) < same_mm) {
        o.from = std::min(o.from, from);
        return;
      }
    list.push_back({at, from, decimal(value, 2)});
  }

  /// Where the view's drawn lines, at that place, come nearest to its lower (level: left) edge, and to the other one.
  static std::pair<double, double> span_at(const View& v, double u, bool level) {
    double least = 1e300, most = -1e300;
    for (const ViewLine& line : v.lines)
      for (const Vec2 p : line.points) {
        const double along = level ? p.y : p.x, other = level ? p.x : p.y;
        if (std::fabs(along - u) < 0.02) least = std::min(least, other), most = std::max(most, other);
      }
    if (least > most) return level ? std::pair{v.low.x, v.high.x} : std::pair{v.low.y, v.high.y};
    return {least, most};
  }
  static double reach_at(const View& v, double u, bool level) { return span_at(v, u, level).first; }
  static double farthest_at(const View& v, double u, bool level) { return span_at(v, u, level).second; }

  /// Callouts, centre marks and running dimensions of the holes that a view looks along.
  void tell_holes(View& v, Along along, double u_sign) {
    for (const HoleGroup& g : groups_) {
      if (g.along != along) continue;
      Callout callout;
      callout.lines = g.lines;
      for (const HolePlace& p : g.places) {
        const Vec2 at = plane(v, along, p.at);
        const Vec2 half = p.half;  // both axes stay level and upright
        v.crosses.push_back({at, half});
        callout.tips.push_back(tip(v, g, p));
        take(v.ordinates_u, at.x, at.y - half.y, u_sign * at.x);
        take(v.ordinates_v, at.y, at.x - half.x, at.y);
      }
      v.callouts.push_back(std::move(callout));
    }
  }

  void add_origin_and_edges(View& v, bool u, bool w, double u_sign) {
    if (u && !v.ordinates_u.empty()) {
      take(v.ordinates_u, v.low.x, reach_at(v, v.low.x, false), u_sign * v.low.x);
      if (v.low.x < same_mm && v.high.x > -same_mm) take(v.ordinates_u, 0, v.low.y, 0);
    }
    if (w && !v.ordinates_v.empty()) {
      take(v.ordinates_v, v.low.y, reach_at(v, v.low.y, true), v.low.y);
      if (v.low.y < same_mm && v.high.y > -same_mm) take(v.ordinates_v, 0, v.low.x, 0);
    }
  }

  void tell_plan() {
    View& v = above_;
    tell_holes(v, Along::z, 1);
    const Vec2 size = outline_.high - outline_.low;
    const bool all_central =
        std::all_of(v.crosses.begin(), v.crosses.end(), [](const auto& c) { return length(c.first) < same_mm; });
    if (outline_.round) {
      const double r = size.x / 2;
      const Vec2 centre = 0.5 * (outline_.low + outline_.high);
      v.callouts.push_back({{centre + r * Vec2{0.41, 0.91}}, {"\u2300" + fixed_2(size.x)}});
      v.crosses.push_back({centre, {r, r}});
      if (all_central) v.ordinates_u.clear(), v.ordinates_v.clear();
    } else {
      v.overall_u = fixed_2(size.x);
      v.overall_v = fixed_2(size.y);
      for (const auto& [radius, at] : outline_.corners)
        if (radius > 0.05)
          v.callouts.push_back(
              {at, {(at.size() > 1 ? std::to_string(at.size()) + " \u00d7 R" : "R") + fixed_2(radius)}});
    }
    add_origin_and_edges(v, true, true, 1);
  }

  void tell_upright(View& v, Along along) {
    tell_holes(v, along, along == Along::x && v.axes.right.y < 0 ? -1 : 1);
    const double sign = along == Along::x && v.axes.right.y < 0 ? -1 : 1;
    add_origin_and_edges(v, true, false, sign);
    for (const HoleGroup& g : groups_) {
      if (g.along == along) continue;
      for (const HolePlace& p : g.places) {
        const Vec3 at = in_view(v.axes, spot(g, p));
        if (g.along == Along::z)
          v.axes_u.push_back(at.x);
        else
          v.axes_v.push_back(at.y);
      }
    }
    for (std::vector<double>* list : {&v.axes_u, &v.axes_v}) {
      std::sort(list->begin(), list->end());
      list->erase(
          std::unique(list->begin(), list->end(), [](double a, double b) { return std::fabs(a - b) < same_mm; }),
          list->end());
    }
  }

  /// Levels along Z stand at the front view's left.
  void tell_levels() {
    const std::vector<double> levels = levels_of(part_);
    if (levels.size() == 2 && front_.ordinates_v.empty()) {
      front_.overall_v = fixed_2(levels[1] - levels[0]);
    } else {
      for (const double z : levels) take(front_.ordinates_v, z, std::min(reach_at(front_, z, true), front_.high.x), z);
      if (front_.low.y < 0 && front_.high.y > 0) take(front_.ordinates_v, 0, front_.low.x, 0);
      // What follows from the rest stands in brackets.
      front_.overall_v = "(" + fixed_2(front_.high.y - front_.low.y) + ")";
    }
    const std::vector<std::string> seat = seat_lines(part_);
    if (!seat.empty()) {
      const Vec2 middle = 0.5 * (outline_.low + outline_.high);
      // The front edge of the seat is what the front view shows of it.
      const double x = middle.x + (outline_.high.x - outline_.low.x) / 5;
      const double z = height_if_known(part_.seat, {x, outline_.low.y}).value_or(front_.high.y);
      front_.callouts.push_back({{{x, std::min(z, front_.high.y)}}, seat});
    }
  }

  /// A stepped plane through one place of each of the most telling groups, from left to right.
  void plan_section() {
    struct Stop {
      Vec2 at;
      Vec2 half;
    };
    std::vector<Stop> stops;
    std::vector<const HoleGroup*> order;
    for (const HoleGroup& g : groups_)
      if (g.along == Along::z && g.told > 0) order.push_back(&g);
    std::stable_sort(order.begin(), order.end(),
                     [](const HoleGroup* a, const HoleGroup* b) { return a->told > b->told; });
    for (const HoleGroup* g : order) {
      if (stops.size() == 3) break;
      for (const HolePlace& p : g->places) {
        const bool apart = std::all_of(stops.begin(), stops.end(), [&](const Stop& s) {
          return std::fabs(s.at.x - p.at.x) > s.half.x + p.half.x + 1;
        });
        if (!apart) continue;
        stops.push_back({p.at, p.half});
        break;
      }
    }
    if (stops.empty()) stops.push_back({{(box_.low.x + box_.high.x) / 2, (box_.low.y + box_.high.y) / 2}, {}});
    std::sort(stops.begin(), stops.end(), [](const Stop& a, const Stop& b) { return a.at.x < b.at.x; });
    double from = box_.low.x - 1;
    for (std::size_t i = 0; i < stops.size(); ++i) {
      const bool last = i + 1 == stops.size();
      const double to =
          last ? box_.high.x + 1 : (stops[i].at.x + stops[i].half.x + stops[i + 1].at.x - stops[i + 1].half.x) / 2;
      if (!steps_.empty() && std::fabs(steps_.back().y - stops[i].at.y) < same_mm)
        steps_.back().to_x = to;
      else
        steps_.push_back({from, to, stops[i].at.y});
      from = to;
    }
    section_.label = "A\u2013A";
    section_.axes = from_front;
    section_.low = front_.low;
    section_.high = front_.high;
    for (const HoleGroup& g : groups_)
      for (const HolePlace& p : g.places)
        for (const CutStep& step : steps_)
          if (g.along == Along::z && std::fabs(p.at.y - step.y) < same_mm && p.at.x > step.from_x && p.at.x < step.to_x)
            section_.axes_u.push_back(p.at.x);
    std::sort(section_.axes_u.begin(), section_.axes_u.end());
    section_.axes_u.erase(std::unique(section_.axes_u.begin(), section_.axes_u.end()), section_.axes_u.end());
    above_.marked = true;
  }

  std::vector<std::string> notes() const {
    std::vector<std::string> list;
    list.push_back(
        "Drawn as installed: the front view from the machine's front, Z up. Running dimensions start at the part's "
        "datum.");
    list.push_back("Sizes that are not given follow from the model (STL).");
    if (const std::string chamfers = chamfers_of(part_); !chamfers.empty()) list.push_back(chamfers);
    if (!part_.mark_text.empty()) list.push_back("Mark on " + part_.mark_face + ": " + part_.mark_text + ".");
    std::string where;
    if (part_.hand != Hand::none)
      where = std::string(part_.hand == Hand::left ? "Left" : "Right") + " hand" +
              (part_.mirror_of.empty() ? "" : ", the mirror image of " + part_.mirror_of);
    for (const std::string& p : part_.placements)
      where += (&p == &part_.placements.front() ? (where.empty() ? "Goes to " : "; goes to ") : ", ") + p;
    if (!where.empty()) list.push_back(where + ".");
    return list;
  }

  // ---- layout ----

  static std::vector<Ordinate> scaled(const std::vector<Ordinate>& list, double s) {
    std::vector<Ordinate> out = list;
    for (Ordinate& o : out) o.at *= s, o.from *= s;
    return out;
  }

  static std::vector<Callout> scaled_callouts(const View& v, double s, Vec2 origin) {
    std::vector<Callout> list = v.callouts;
    for (Callout& c : list)
      for (Vec2& tip : c.tips) tip = origin + s * (tip - v.low);
    return list;
  }

  /// Where both front and side view have callouts, all run to the left, the side view's above the front view's.
  bool leftward(const View& v) const {
    return (&v == &front_ || &v == &side_) && !front_.callouts.empty() && !side_.callouts.empty();
  }

  /// Where callouts begin above a view: beyond its overall dimension and what its running dimensions take.
  double callout_top(const View& v, double s) const {
    double top = v.overall_u.empty() ? 0 : overall_row_mm + 3;
    if (!v.overall_v.empty()) top = std::max(top, 3.0);  // its arrows may stand outside
    if (leftward(v) && !v.ordinates_v.empty())
      top = std::max(top, ordinate_extent(scaled(v.ordinates_v, s)).high.x - s * v.high.y);
    if (&v == &side_ && leftward(v)) {
      double rows = 0;
      for (const Callout& c : front_.callouts) rows += text_row_mm * static_cast<double>(c.lines.size());
      top = std::max(top, callout_top(front_, s) + s * (front_.high.y - side_.high.y) + rows + 1);
    }
    return top;
  }

  void settle(View& v, double s) const {
    const Vec2 size = s * (v.high - v.low);
    v.left = v.right = v.above = v.below = 3;
    if (v.marked) v.left = v.right = mark_past_mm + 4;
    if (!v.axes_u.empty() || &v == &section_) v.above = v.below = axis_past_mm + 1;
    if (!v.axes_v.empty()) v.left = std::max(v.left, axis_past_mm + 1), v.right = std::max(v.right, axis_past_mm + 1);
    if (!v.ordinates_u.empty()) {
      v.below = ordinate_row_mm + ordinate_depth(v.ordinates_u) + 1;
      const PaperBox b = ordinate_extent(scaled(v.ordinates_u, s));
      v.left = std::max(v.left, s * v.low.x - b.low.x + 1);
      v.right = std::max(v.right, b.high.x - s * v.high.x + 1);
    }
    if (!v.ordinates_v.empty()) {
      v.left = std::max(v.left, (v.marked ? mark_past_mm + 6.0 : ordinate_row_mm) + ordinate_depth(v.ordinates_v) + 1);
      const PaperBox b = ordinate_extent(scaled(v.ordinates_v, s));
      v.below = std::max(v.below, s * v.low.y - b.low.x + 1);
      v.above = std::max(v.above, b.high.x - s * v.high.y + 1);
    }
    if (!v.overall_v.empty()) {
      v.right += overall_row_mm + 2;
      if (size.y < words_width_mm(v.overall_v, note_cap_mm) + 1)
        v.below = std::max(v.below, words_width_mm(v.overall_v, note_cap_mm) + 9);
    }
    v.body_right = v.right;
    v.body_left = v.left;
    if (!v.overall_u.empty()) {
      v.above = std::max(v.above, overall_row_mm + 5);
      if (size.x < words_width_mm(v.overall_u, note_cap_mm) + 1)
        v.right = std::max(v.right, words_width_mm(v.overall_u, note_cap_mm) + 9);
    }
    if (!v.callouts.empty()) {
      for (const PlacedCallout& c : placed_above(scaled_callouts(v, s, {}), size.y + callout_top(v, s), leftward(v))) {
        const PaperBox b = box_of(c);
        v.above = std::max(v.above, b.high.y - size.y + 1);
        v.right = std::max(v.right, b.high.x - size.x + 1);
        v.left = std::max(v.left, -std::min(c.end.x, b.low.x) + 1);
      }
    }
    if (&v == &section_) v.above += 6;
    v.below += label_row_mm;
  }

  /// From the front view's right edge to the side view's left one. Callouts of the front view may run over the side
  /// view where that has none.
  double side_gap() const {
    const bool over = leftward(front_) || (side_.callouts.empty() && side_.above < 4);
    return (over ? front_.body_right : front_.right) + view_gap_mm + (leftward(side_) ? side_.body_left : side_.left);
  }
  double front_row_width(double s) const {
    return s * (front_.high.x - front_.low.x) +
           std::max(front_.right, side_gap() + s * (side_.high.x - side_.low.x) + side_.right);
  }

  /// Rows from the top: the order is what the projection angle says. The section stands below them, or right of the
  /// view from above.
  std::vector<View*> rows() {
    std::vector<View*> list = {&front_, &above_};
    if (title_.third_angle) std::swap(list[0], list[1]);
    if (!section_beside_) list.push_back(&section_);
    return list;
  }

  double row_width(const View& v, double s) const {
    const double w = s * (v.high.x - v.low.x);
    if (&v == &front_) return front_row_width(s);
    return w + v.right + (&v == &above_ && section_beside_ ? view_gap_mm + section_.left + w + section_.right : 0);
  }

  void settle(double s) {
    for (View* v : {&front_, &above_, &side_, &section_}) settle(*v, s);
  }

  double height_of_row(const View& v, double s) const {
    const double h = s * (v.high.y - v.low.y);
    if (&v == &above_ && section_beside_)
      return std::max(h + v.above + v.below, s * (section_.high.y - section_.low.y) + section_.above + section_.below);
    if (&v != &front_) return h + v.above + v.below;
    return h + std::max(front_.above, side_.above) + std::max(front_.below, side_.below);
  }

  double area_low() const {
    return margin_mm + title_height_mm + 2 + text_row_mm * static_cast<double>(notes_.size()) + 3;
  }

  bool fits(double s) {
    settle(s);
    double height = 0, left = 0, right = 0;
    for (const View* v : rows()) {
      height += height_of_row(*v, s) + view_gap_mm;
      left = std::max(left, v->left);
      right = std::max(right, v->right);
    }
    // Beside the front view stands the side view; below or above it nothing does.
    double beside = 0;
    for (const View* v : rows()) {
      const double w = left + row_width(*v, s);
      beside = std::max(beside, w);
    }
    return height - view_gap_mm <= size_.height_mm - margin_mm - 3 - area_low() &&
           beside <= size_.width_mm - filing_margin_mm - margin_mm - 6;
  }

  void place() {
    const double s = scale_;
    double left = 0, height = 0, widest = 0;
    for (const View* v : rows()) {
      left = std::max(left, v->left);
      height += height_of_row(*v, s);
    }
    for (const View* v : rows()) {
      const double w = left + row_width(*v, s);
      widest = std::max(widest, w);
    }
    const double room = size_.width_mm - filing_margin_mm - margin_mm - 6;
    const double shift = std::max(0.0, std::min(12.0, (room - widest) / 2));
    const double top = size_.height_mm - margin_mm - 3;
    const double gap =
        std::max(view_gap_mm, std::min(16.0, (top - area_low() - height) / static_cast<double>(rows().size())));
    double y = top;
    for (View* v : rows()) {
      const double above = v == &front_ ? std::max(front_.above, side_.above) : v->above;
      const double h = s * (v->high.y - v->low.y);
      v->origin = {filing_margin_mm + 3 + shift + left, y - above - h};
      if (v == &above_) section_.origin.y = y - section_.above - s * (section_.high.y - section_.low.y);
      y -= height_of_row(*v, s) + gap;
    }
    side_.origin = {front_.origin.x + s * (front_.high.x - front_.low.x) + side_gap(), front_.origin.y};
    if (section_beside_)
      section_.origin.x =
          above_.origin.x + s * (above_.high.x - above_.low.x) + above_.right + view_gap_mm + section_.left;
  }

  // ---- drawing ----

  void draw(View& v) {
    const double s = scale_;
    const auto at = [&](Vec2 p) { return on_paper(v, s, p); };
    if (&v == &section_) {
      SectionView section = section_view(*drawn_.solid, steps_, hatch_apart_mm / s, lettering_);
      v.lines = std::move(section.beyond);
      v.cut = std::move(section.cut);
      v.hatch = std::move(section.hatch);
    }
    for (const auto& h : v.hatch) page_.line(Pen::hatch, at(h[0]), at(h[1]));
    for (const auto& c : v.cut) page_.line(Pen::visible, at(c[0]), at(c[1]));
    std::vector<Stroke> seen, hidden;
    for (const ViewLine& line : v.lines) {
      Stroke stroke{line.visible ? Pen::visible : Pen::hidden, {}, line.closed};
      for (const Vec2 p : line.points) {
        const Vec2 q = at(p);
        // Steps too small to be seen only make the file long.
        if (stroke.points.empty() || length(q - stroke.points.back()) > 0.03) stroke.points.push_back(q);
      }
      if (stroke.points.size() < 2) {
        if (length(at(line.points.front()) - at(line.points.back())) < 0.03) continue;
        stroke.points.push_back(at(line.points.back()));
      } else if (!stroke.closed) {
        stroke.points.back() = at(line.points.back());
      }
      (line.visible ? seen : hidden).push_back(std::move(stroke));
    }
    if (&v != &above_) seen = without_slivers(std::move(seen));
    for (const Stroke& stroke : hidden)
      if (!blots(stroke, seen, merge_mm)) page_.strokes.push_back(stroke);
    page_.strokes.insert(page_.strokes.end(), seen.begin(), seen.end());
    centre_lines(v);
    const Vec2 low = at(v.low), high = at(v.high);
    double below = low.y - axis_past_mm;
    if (!v.ordinates_u.empty()) {
      std::vector<Ordinate> list = v.ordinates_u;
      for (Ordinate& o : list) {
        o.from = at({0, o.from}).y - (is_axis(v, o.at, true) ? axis_past_mm : 0) - extension_gap_mm;
        o.at = at({o.at, 0}).x;
      }
      ordinates(page_, list, false, low.y - ordinate_row_mm);
      below = low.y - ordinate_row_mm - ordinate_depth(list);
    }
    if (!v.ordinates_v.empty()) {
      std::vector<Ordinate> list = v.ordinates_v;
      for (Ordinate& o : list) {
        o.from = at({o.from, 0}).x - (is_axis(v, o.at, false) ? axis_past_mm : 0) - extension_gap_mm;
        o.at = at({0, o.at}).y;
      }
      ordinates(page_, list, true, low.x - (v.marked ? mark_past_mm + 6 : ordinate_row_mm));
    }
    for (const PlacedCallout& c :
         placed_above(scaled_callouts(v, s, v.origin), high.y + callout_top(v, s), leftward(v)))
      draw_callout(page_, c);
    if (!v.overall_u.empty())
      linear_dimension(page_, at({v.low.x, farthest_at(v, v.low.x, false)}),
                       at({v.high.x, farthest_at(v, v.high.x, false)}), false, high.y + overall_row_mm, v.overall_u);
    if (!v.overall_v.empty())
      linear_dimension(page_, at({farthest_at(v, v.low.y, true), v.low.y}),
                       at({farthest_at(v, v.high.y, true), v.high.y}), true,
                       high.x + (v.marked ? mark_past_mm + 3 : 0) + overall_row_mm, v.overall_v);
    if (v.marked) mark_plane(v);
    if (&v == &section_)
      page_.write({(low.x + high.x) / 2, high.y + axis_past_mm + 2}, v.label, 3.5, Align::middle);
    else
      page_.write({(low.x + high.x) / 2, below - 5}, v.label, note_cap_mm, Align::middle);
  }

  bool is_axis(const View& v, double at, bool u) const {
    return std::any_of(v.crosses.begin(), v.crosses.end(),
                       [&](const auto& c) { return std::fabs((u ? c.first.x : c.first.y) - at) < same_mm; });
  }

  static double length_of(const Stroke& s) {
    double sum = 0;
    for (std::size_t i = 0; i + 1 < s.points.size(); ++i) sum += length(s.points[i + 1] - s.points[i]);
    return sum;
  }

  /// Rims on a slightly sloping face are seen almost edge on: a curve that lies along longer lines would fill the gap
  /// between them with ink.
  static std::vector<Stroke> without_slivers(std::vector<Stroke> strokes) {
    std::stable_sort(strokes.begin(), strokes.end(),
                     [](const Stroke& a, const Stroke& b) { return length_of(a) > length_of(b); });
    std::vector<Stroke> kept;
    for (Stroke& s : strokes)
      if (s.points.size() < 4 || !blots(s, kept, sliver_mm)) kept.push_back(std::move(s));
    return kept;
  }

  /// Whether the whole stroke lies within that distance of others.
  static bool blots(const Stroke& stroke, const std::vector<Stroke>& seen, double within_mm) {
    const auto near = [&](Vec2 p) {
      for (const Stroke& other : seen)
        for (std::size_t i = 0; i + 1 < other.points.size() + (other.closed ? 1 : 0); ++i) {
          const Vec2 a = other.points[i], b = other.points[(i + 1) % other.points.size()], d = b - a;
          if (p.x < std::min(a.x, b.x) - within_mm || p.x > std::max(a.x, b.x) + within_mm ||
              p.y < std::min(a.y, b.y) - within_mm || p.y > std::max(a.y, b.y) + within_mm)
            continue;
          const double t = std::clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0);
          if (length(a + t * d - p) < within_mm) return true;
        }
      return false;
    };
    for (std::size_t i = 0; i < stroke.points.size(); ++i) {
      if (!near(stroke.points[i])) return false;
      if (i > 0 && !near(0.5 * (stroke.points[i] + stroke.points[i - 1]))) return false;
    }
    return true;
  }

  void centre_lines(const View& v) {
    const double s = scale_;
    const auto at = [&](Vec2 p) { return on_paper(v, s, p); };
    for (const auto& [centre, half] : v.crosses) {
      const Vec2 c = at(centre), h = s * half + Vec2{axis_past_mm, axis_past_mm};
      // ISO 128: on a short axis a continuous line stands for dashes and dots.
      const Pen pen = std::max(h.x, h.y) < short_axis_mm ? Pen::thin : Pen::centre;
      // What is open at an edge has no end there; its axis has.
      const Vec2 low = at(v.low) - Vec2{axis_past_mm, axis_past_mm},
                 high = at(v.high) + Vec2{axis_past_mm, axis_past_mm};
      page_.line(pen, {std::max(c.x - h.x, low.x), c.y}, {std::min(c.x + h.x, high.x), c.y});
      page_.line(pen, {c.x, std::max(c.y - h.y, low.y)}, {c.x, std::min(c.y + h.y, high.y)});
    }
    for (const double u : v.axes_u)
      page_.line(Pen::centre, at({u, v.low.y}) - Vec2{0, axis_past_mm}, at({u, v.high.y}) + Vec2{0, axis_past_mm});
    for (const double w : v.axes_v)
      page_.line(Pen::centre, at({v.low.x, w}) - Vec2{axis_past_mm, 0}, at({v.high.x, w}) + Vec2{axis_past_mm, 0});
  }

  void mark_plane(const View& v) {
    const double s = scale_;
    const auto at = [&](Vec2 p) { return on_paper(v, s, p); };
    std::vector<Vec2> path;
    for (const CutStep& step : steps_) {
      const double y = at({0, step.y}).y;
      path.push_back({at({step.from_x, 0}).x, y});
      path.push_back({at({step.to_x, 0}).x, y});
    }
    path.front().x = at(v.low).x - mark_past_mm;
    path.back().x = at(v.high).x + mark_past_mm;
    page_.strokes.push_back({Pen::centre, path, false});
    constexpr double thick = 4, corner = 2;
    for (std::size_t i = 1; i + 1 < path.size(); ++i) {
      for (const Vec2 other : {path[i - 1], path[i + 1]}) {
        const Vec2 d = other - path[i];
        if (length(d) > 2 * corner) page_.line(Pen::cut_end, path[i], path[i] + (corner / length(d)) * d);
      }
    }
    for (const bool first : {true, false}) {
      const Vec2 end = first ? path.front() : path.back();
      const double inward = first ? 1 : -1;
      page_.line(Pen::cut_end, end, end + Vec2{inward * thick, 0});
      // The viewer stands in front, so the arrows point to the rear.
      const double x = end.x + inward * 1;
      constexpr double cap = 3.5, wide = 2.8;
      double tail = -7;
      for (const double side : {-inward * 3.4, inward * 3.4}) {
        bool found = false;
        for (double down = 2.5; down < 30 && !found; down += 0.5) {
          const PaperBox box{{x + side - wide / 2, end.y - down - cap}, {x + side + wide / 2, end.y - down}};
          if (is_clear(page_, {box.low - Vec2{0.4, 1.1}, box.high + Vec2{0.4, 0.3}})) {
            tail = std::min(-7.0, -down - cap), found = true;
            page_.write({x + side, end.y - down - cap}, "A", cap, Align::middle);
          }
        }
        if (found) break;
      }
      page_.line(Pen::thin, {x, end.y + tail}, {x, end.y - 0.25});
      page_.arrow({x, end.y - 0.25}, {0, 1}, 3.5);
    }
  }

  void write_notes() {
    const double x = filing_margin_mm + 4;
    double y = margin_mm + title_height_mm + 3.5 + text_row_mm * static_cast<double>(notes_.size() - 1);
    for (const std::string& note : notes_) {
      page_.write({x, y}, shortened(note, note_cap_mm, size_.width_mm - x - margin_mm - 4));
      y -= text_row_mm;
    }
  }

  /// Nominal and measured, as many rows as there is room for below the side view.
  void table() {
    if (!drawn_.measured || drawn_.measured->empty()) return;
    const double right = size_.width_mm - margin_mm - 4;
    constexpr double name = 44, number = 17, head = 2;
    const double width = name + 2 * number, x = right - width;
    const double low = area_low() + 2;
    // The highest place that is still free of everything.
    double high = size_.height_mm - margin_mm - 4;
    for (;; high -= 1) {
      if (high - low < text_row_mm * (head + 3)) return;
      if (is_clear(page_, {{x - 3, low}, {right + 1, high}})) break;
    }
    const auto rows_fit = static_cast<std::size_t>((high - low) / text_row_mm - head);
    std::vector<const MeasuredDimension*> rows;
    for (const MeasuredDimension& d : *drawn_.measured)
      if (d.measured_mm) rows.push_back(&d);
    if (rows.empty()) return;
    const bool all = rows.size() <= rows_fit;
    if (!all) {
      // Sizes before places: those a caliper can follow.
      std::stable_sort(rows.begin(), rows.end(), [](const MeasuredDimension* a, const MeasuredDimension* b) {
        const auto is_place = [](const MeasuredDimension* d) {
          return d->quantity == "x" || d->quantity == "y" || d->quantity == "z";
        };
        return is_place(a) < is_place(b);
      });
      rows.resize(rows_fit - 1);
    }
    double y = high - text_row_mm;
    const auto row = [&](const std::string& a, const std::string& b, const std::string& c) {
      page_.write({x + 1, y + 0.8}, shortened(a, note_cap_mm, name - 2));
      page_.write({x + name + number - 1, y + 0.8}, b, note_cap_mm, Align::right);
      page_.write({x + width - 1, y + 0.8}, c, note_cap_mm, Align::right);
      page_.line(Pen::thin, {x, y - 0.4}, {x + width, y - 0.4});
      y -= text_row_mm;
    };
    const bool compensated = std::any_of(rows.begin(), rows.end(), [](const MeasuredDimension* d) {
      return std::fabs(d->nominal_mm - d->modelled_mm) > 1e-6;
    });
    page_.write({x, y + 1.2}, compensated ? "In the file, compensated for the printer" : "Measured in the file, mm");
    y -= text_row_mm;
    row("feature", "nominal", "measured");
    for (const MeasuredDimension* d : rows)
      row(d->feature + " " + d->quantity, decimal(d->nominal_mm, 3), decimal(*d->measured_mm, 3));
    if (!all) page_.write({x + 1, y + 0.8}, "the rest stands in report.json");
  }

  DrawnPart drawn_;
  const Part& part_;
  TitleBlock title_;
  SheetSize size_;
  std::vector<HoleGroup> groups_;
  OutlineSize outline_;
  Box box_;
  Lettering lettering_;
  View front_, above_, side_, section_;
  std::vector<CutStep> steps_;
  std::vector<std::string> notes_;
  double scale_ = 1;
  bool section_beside_ = false;
  Page page_;
};

}  // namespace

Page part_drawing(const DrawnPart& drawn, const TitleBlock& title, const SheetSize& size) {
  return Composer(drawn, title, size).page();
}

}  // namespace bedwright
