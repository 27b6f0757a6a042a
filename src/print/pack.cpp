#include "print/pack.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>

#include "print/outline_cells.h"

namespace bedwright {
namespace {

constexpr double pitch_mm = 1;
constexpr int most_cells = 512;  // along a bed
constexpr double hair_mm = 1e-6;
// Exchanges are tried only where fewer beds seem possible, and no longer than this many placements.
constexpr int most_trial_placements = 6000;

struct Shape {
  Cells cells, grown;
  int margin = 0;
  bool allowed = true;
};

struct Kind {
  std::array<Shape, 4> turns;
  int turn_count = 1;  ///< distinct ones: 1, 2 or 4
  double height = 0, area = 0, longest = 0;
};

struct Placed {
  std::size_t kind = 0;
  int turn = 0, x = 0, y = 0;  ///< corner, cells, in the bed turned by half a turn: from the rear right corner
};

/// How a trial chooses.
struct Order {
  std::vector<std::size_t> pieces;  ///< kinds
  int choice = 0;  ///< among an item's turns: 0 least reach to the front, 1 least gap, 2 first that fits
};

class BedFill {
 public:
  BedFill(int width, int height, const std::vector<Kind>& kinds)
      : kinds_(&kinds), taken_(width + 64, height), width_(width), height_(height), from_(4 * kinds.size(), 0) {}

  /// The first free place of each turn, rear first, then left; the best of them by `choice`.
  bool put(std::size_t kind, int choice) {
    Placed best;
    long best_score = -1;
    for (int turn = 0; turn < (*kinds_)[kind].turn_count; ++turn) {
      const Shape& shape = (*kinds_)[kind].turns[static_cast<std::size_t>(turn)];
      int x = 0, y = 0;
      if (!shape.allowed || !find(kind, turn, x, y)) continue;
      const long front = y + shape.cells.height();
      const long rear_left = (static_cast<long>(y) * 4096 + x) * 4 + turn;
      const long score = choice == 0 ? front * 4096 + x : choice == 1 ? rear_left : turn;
      if (best_score >= 0 && score >= best_score) continue;
      best_score = score;
      best = {kind, turn, x, y};
    }
    if (best_score < 0) return false;
    const Shape& shape = (*kinds_)[kind].turns[static_cast<std::size_t>(best.turn)];
    taken_.add(shape.grown, best.x - shape.margin, best.y - shape.margin);
    placed.push_back(best);
    return true;
  }

  std::vector<Placed> placed;

 private:
  bool find(std::size_t kind, int turn, int& x_out, int& y_out) {
    const Cells& cells = (*kinds_)[kind].turns[static_cast<std::size_t>(turn)].cells;
    // The bed only fills up: what was no place before is none now.
    int& from = from_[4 * kind + static_cast<std::size_t>(turn)];
    const int across = width_ - cells.width() + 1, deep = height_ - cells.height() + 1;
    if (across <= 0 || deep <= 0) return false;
    while (from < across * deep) {
      const int x = from % across, y = from / across;
      const int step = taken_.blocked(cells, x, y);
      if (step == 0) {
        x_out = x;
        y_out = y;
        return true;
      }
      from += std::min(step, across - x);
    }
    return false;
  }

  const std::vector<Kind>* kinds_;
  Cells taken_;
  int width_, height_;
  std::vector<int> from_;
};

class Packer {
 public:
  Packer(const std::vector<Printed>& things, const BedRules& rules) : things_(things), rules_(rules) {
    const Vec2 room = rules.bed_mm - Vec2{2 * rules.edge_mm, 2 * rules.edge_mm};
    pitch_ = std::max(pitch_mm, std::ceil(std::max(room.x, room.y) / most_cells));
    width_ = static_cast<int>(std::floor(room.x / pitch_ + hair_mm));
    height_ = static_cast<int>(std::floor(room.y / pitch_ + hair_mm));
    for (const Printed& thing : things) kinds_.push_back(kind_of(thing));
  }

  bool fits(std::size_t kind) const {
    const Kind& k = kinds_[kind];
    return std::any_of(k.turns.begin(), k.turns.begin() + k.turn_count, [](const Shape& s) { return s.allowed; });
  }

  std::vector<Bed> pack(const std::vector<std::size_t>& pieces) const {
    if (pieces.empty()) return {};
    std::vector<BedFill> best = best_of(pieces);
    std::vector<Bed> beds;
    for (const BedFill& fill : best) beds.push_back(bed_of(fill.placed));
    return beds;
  }

 private:
  Kind kind_of(const Printed& thing) const {
    Kind kind;
    Cells cells =
        thing.mesh ? outline_cells(*thing.mesh, pitch_) : box_cells({thing.size_mm.x, thing.size_mm.y}, pitch_);
    kind.height = thing.size_mm.z;
    kind.area = cells.count();
    kind.longest = std::max(cells.width(), cells.height());
    const auto same = [](const Cells& a, const Cells& b) {
      if (a.width() != b.width() || a.height() != b.height()) return false;
      for (int y = 0; y < a.height(); ++y)
        if (!std::equal(a.row(y), a.row(y) + a.words(), b.row(y))) return false;
      return true;
    };
    kind.turn_count = 4;
    for (std::size_t turn = 0; turn < 4; ++turn) {
      if (turn > 0) cells = cells.turned();
      if ((turn == 1 || turn == 2) && same(cells, kind.turns[0].cells)) {
        kind.turn_count = static_cast<int>(turn);
        break;
      }
      Shape& shape = kind.turns[turn];
      shape.cells = cells;
      shape.grown = cells.grown(rules_.gap_mm / pitch_, shape.margin);
      shape.allowed = cells.width() <= width_ && cells.height() <= height_;
    }
    if (thing.keep_turn && kind.turn_count == 4 && kind.turns[2].allowed)
      for (const std::size_t turn : {0u, 1u, 3u}) kind.turns[turn].allowed = false;
    if (thing.keep_turn && kind.turn_count == 2 && kind.turns[0].allowed) kind.turns[1].allowed = false;
    return kind;
  }

  std::vector<BedFill> fill(const Order& order) const {
    std::vector<BedFill> beds;
    for (const std::size_t kind : order.pieces) {
      if (std::any_of(beds.begin(), beds.end(), [&](BedFill& b) { return b.put(kind, order.choice); })) continue;
      beds.emplace_back(width_, height_, kinds_);
      beds.back().put(kind, order.choice);
    }
    return beds;
  }

  double area_of(const BedFill& bed) const {
    double sum = 0;
    for (const Placed& p : bed.placed) sum += kinds_[p.kind].area;
    return sum;
  }

  /// Fewest beds, then the emptiest last one, then tall parts to the rear.
  bool better(const std::vector<BedFill>& a, const std::vector<BedFill>& b) const {
    if (a.size() != b.size()) return a.size() < b.size();
    const double last_a = area_of(a.back()), last_b = area_of(b.back());
    if (a.size() > 1 && last_a != last_b) return last_a < last_b;
    return to_the_front(a) < to_the_front(b) - 1e-9;
  }
  double to_the_front(const std::vector<BedFill>& beds) const {
    double sum = 0;
    for (const BedFill& bed : beds)
      for (const Placed& p : bed.placed)
        sum +=
            kinds_[p.kind].height * (p.y + kinds_[p.kind].turns[static_cast<std::size_t>(p.turn)].cells.height() / 2.0);
    return sum;
  }

  std::vector<BedFill> best_of(const std::vector<std::size_t>& pieces) const {
    using Key = double (*)(const Kind&);
    const Key keys[] = {[](const Kind& k) { return k.height; }, [](const Kind& k) { return k.area; },
                        [](const Kind& k) { return k.longest; },
                        [](const Kind& k) {
                          return double(std::max(k.turns[0].cells.height(), k.turns[0].cells.width())) +
                                 std::min(k.turns[0].cells.height(), k.turns[0].cells.width());
                        }};
    std::vector<BedFill> best;
    Order chosen;
    const auto consider = [&](Order order) {
      std::vector<BedFill> beds = fill(order);
      if (!best.empty() && !better(beds, best)) return false;
      best = std::move(beds);
      chosen = std::move(order);
      return true;
    };
    for (const Key key : keys)
      for (const int choice : {0, 1}) {
        Order order{pieces, choice};
        std::stable_sort(order.pieces.begin(), order.pieces.end(), [&](std::size_t a, std::size_t b) {
          const double ka = key(kinds_[a]), kb = key(kinds_[b]);
          return ka != kb ? ka > kb : kinds_[a].area > kinds_[b].area;
        });
        consider(std::move(order));
      }
    exchange(best, chosen, consider);
    return best;
  }

  /// Where the cells would go onto fewer beds, pieces change places in the order, again and again.
  template <typename Consider>
  void exchange(const std::vector<BedFill>& best, const Order& chosen, const Consider& consider) const {
    double cells = 0;
    for (const std::size_t kind : chosen.pieces) cells += kinds_[kind].area;
    const auto least = static_cast<std::size_t>(std::ceil(cells / (double(width_) * height_) - hair_mm));
    std::uint32_t state = 1;
    const auto random = [&](std::size_t below) {
      state = state * 1664525u + 1013904223u;  // Numerical Recipes: the same on every machine
      return static_cast<std::size_t>(state >> 8) % below;
    };
    const std::size_t n = chosen.pieces.size();
    const int trials = n < 2 ? 0 : most_trial_placements / static_cast<int>(n);
    for (int i = 0; i < trials && best.size() > std::max<std::size_t>(least, 1); ++i) {
      Order order = chosen;
      for (std::size_t k = 1 + random(3); k > 0; --k) std::swap(order.pieces[random(n)], order.pieces[random(n)]);
      order.choice = static_cast<int>(random(2));
      consider(std::move(order));
    }
  }

  Bed bed_of(const std::vector<Placed>& placed) const {
    Bed bed;
    for (const Placed& p : placed) {
      const Kind& kind = kinds_[p.kind];
      const Cells& cells = kind.turns[static_cast<std::size_t>(p.turn)].cells;
      const Vec2 middle{p.x + cells.width() / 2.0, p.y + cells.height() / 2.0};
      const Vec2 edge{rules_.edge_mm, rules_.edge_mm}, at = rules_.bed_mm - edge - pitch_ * middle;
      // Turned back with the bed; what looks alike both ways is left as it lies.
      bed.items.push_back({things_[p.kind].part, 0, at, kind.turn_count == 4 ? (p.turn + 2) % 4 : p.turn});
    }
    std::stable_sort(bed.items.begin(), bed.items.end(),
                     [](const OnBed& a, const OnBed& b) { return a.part < b.part; });
    return bed;
  }

  const std::vector<Printed>& things_;
  const BedRules& rules_;
  double pitch_ = pitch_mm;
  int width_ = 0, height_ = 0;
  std::vector<Kind> kinds_;
};

/// On a bed of its own, in the middle, or not at all.
bool alone(const Printed& thing, Vec2 bed_mm, OnBed& item) {
  const double w = thing.size_mm.x, d = thing.size_mm.y;
  const bool as_it_is = w <= bed_mm.x && d <= bed_mm.y;
  if (!as_it_is && (d > bed_mm.x || w > bed_mm.y)) return false;
  item = {thing.part, 0, 0.5 * bed_mm, as_it_is ? 0 : 1};
  return true;
}

}  // namespace

Packed packed(const std::vector<Printed>& things, const BedRules& rules) {
  const Packer packer(things, rules);
  Packed result;
  // What goes together: by rank, and by set or kind where the plan says so.
  std::map<std::array<int, 2>, std::vector<std::size_t>> together;
  std::vector<Bed> lone;
  for (std::size_t t = 0; t < things.size(); ++t) {
    OnBed item;
    if (!packer.fits(t)) {
      if (!alone(things[t], rules.bed_mm, item)) {
        result.too_large.push_back(things[t].part);
        continue;
      }
      for (int i = 0; i < rules.sets * things[t].quantity; ++i) lone.push_back({{item}, things[t].rank});
      continue;
    }
    for (int set = 0; set < rules.sets; ++set) {
      const int group = rules.plan == BedPlan::sets ? set : rules.plan == BedPlan::kinds ? static_cast<int>(t) : 0;
      std::vector<std::size_t>& pieces = together[{things[t].rank, group}];
      pieces.insert(pieces.end(), static_cast<std::size_t>(things[t].quantity), t);
    }
  }
  for (const auto& [key, pieces] : together)
    for (Bed& bed : packer.pack(pieces)) {
      bed.rank = key[0];
      result.beds.push_back(std::move(bed));
    }
  result.beds.insert(result.beds.end(), lone.begin(), lone.end());
  std::stable_sort(result.beds.begin(), result.beds.end(), [](const Bed& a, const Bed& b) { return a.rank < b.rank; });
  std::map<std::string, int> number;
  for (Bed& b : result.beds)
    for (OnBed& item : b.items) item.copy = ++number[item.part];
  return result;
}

}  // namespace bedwright
