#include "print/pack.h"

#include <algorithm>
#include <map>

namespace bedwright {
namespace {

constexpr double slack_mm = 1e-9;

struct Box {
  double x = 0, y = 0, w = 0, h = 0;
  bool holds(const Box& o) const {
    return o.x >= x - slack_mm && o.y >= y - slack_mm && o.x + o.w <= x + w + slack_mm && o.y + o.h <= y + h + slack_mm;
  }
  bool meets(const Box& o) const {
    return o.x < x + w - slack_mm && x < o.x + o.w - slack_mm && o.y < y + h - slack_mm && y < o.y + o.h - slack_mm;
  }
};

/// One copy, grown by the gap that it keeps.
struct Piece {
  std::size_t thing = 0;
  double w = 0, h = 0;
};

struct Placed {
  Piece piece;
  Box box;
  bool quarter = false;
};

/// What is free of one bed, as all largest rectangles; they overlap.
struct Room {
  std::vector<Box> free;
  std::vector<Placed> placed;

  bool put(const Piece& piece) {
    double best_short = 1e300, best_long = 1e300;
    Placed best;
    for (const Box& f : free)
      for (const bool quarter : {false, true}) {
        const double w = quarter ? piece.h : piece.w, h = quarter ? piece.w : piece.h;
        if (w > f.w + slack_mm || h > f.h + slack_mm) continue;
        const double narrow = std::min(f.w - w, f.h - h), wide = std::max(f.w - w, f.h - h);
        if (narrow > best_short - slack_mm && !(narrow < best_short + slack_mm && wide < best_long - slack_mm))
          continue;
        best_short = narrow;
        best_long = wide;
        best = {piece, {f.x, f.y, w, h}, quarter};
      }
    if (best_short > 1e299) return false;
    take(best.box);
    placed.push_back(best);
    return true;
  }

  void take(const Box& b) {
    std::vector<Box> next;
    for (const Box& f : free) {
      if (!f.meets(b)) {
        next.push_back(f);
        continue;
      }
      if (b.x > f.x + slack_mm) next.push_back({f.x, f.y, b.x - f.x, f.h});
      if (b.x + b.w < f.x + f.w - slack_mm) next.push_back({b.x + b.w, f.y, f.x + f.w - b.x - b.w, f.h});
      if (b.y > f.y + slack_mm) next.push_back({f.x, f.y, f.w, b.y - f.y});
      if (b.y + b.h < f.y + f.h - slack_mm) next.push_back({f.x, b.y + b.h, f.w, f.y + f.h - b.y - b.h});
    }
    free.clear();
    for (std::size_t i = 0; i < next.size(); ++i) {
      bool within = false;
      for (std::size_t j = 0; j < next.size() && !within; ++j)
        within = i != j && next[j].holds(next[i]) && (j < i || !next[i].holds(next[j]));
      if (!within) free.push_back(next[i]);
    }
  }
};

std::vector<Room> fill(const std::vector<Piece>& pieces, const Box& bed) {
  std::vector<Room> rooms;
  for (const Piece& piece : pieces) {
    const bool done = std::any_of(rooms.begin(), rooms.end(), [&](Room& room) { return room.put(piece); });
    if (done) continue;
    rooms.push_back({{bed}, {}});
    rooms.back().put(piece);
  }
  return rooms;
}

bool fits(double w, double h, const Box& bed) {
  return std::min(w, h) <= std::min(bed.w, bed.h) + slack_mm && std::max(w, h) <= std::max(bed.w, bed.h) + slack_mm;
}

double area_of(const Room& room) {
  double area = 0;
  for (const Placed& p : room.placed) area += p.box.w * p.box.h;
  return area;
}

}  // namespace

Packed packed(const std::vector<Printed>& things, Vec2 bed_mm) {
  Packed result;
  // Each piece carries half a gap on every side; so does the bed.
  const Box bed{0, 0, bed_mm.x - 2 * bed_edge_mm + between_parts_mm, bed_mm.y - 2 * bed_edge_mm + between_parts_mm};
  std::vector<Piece> pieces;
  std::vector<Bed> alone;
  for (std::size_t t = 0; t < things.size(); ++t) {
    const double w = things[t].size_mm.x + between_parts_mm, h = things[t].size_mm.y + between_parts_mm;
    if (!fits(w, h, bed)) {
      const Vec2 size{things[t].size_mm.x, things[t].size_mm.y};
      if (fits(size.x, size.y, {0, 0, bed_mm.x, bed_mm.y}))
        for (int i = 0; i < things[t].quantity; ++i)
          alone.push_back({{{things[t].part, 0, 0.5 * bed_mm, size.x > bed_mm.x || size.y > bed_mm.y}}});
      else
        result.too_large.push_back(things[t].part);
      continue;
    }
    for (int i = 0; i < things[t].quantity; ++i) pieces.push_back({t, w, h});
  }
  using Key = double (*)(const Piece&);
  const Key orders[] = {[](const Piece& p) { return p.w * p.h; }, [](const Piece& p) { return std::max(p.w, p.h); },
                        [](const Piece& p) { return std::min(p.w, p.h); }, [](const Piece& p) { return p.w + p.h; }};
  std::vector<Room> best;
  for (const Key key : orders) {
    std::vector<Piece> sorted = pieces;
    std::stable_sort(sorted.begin(), sorted.end(), [&](const Piece& a, const Piece& b) { return key(a) > key(b); });
    std::vector<Room> rooms = fill(sorted, bed);
    const bool better = best.empty() || rooms.size() < best.size() ||
                        (rooms.size() == best.size() && area_of(rooms.back()) < area_of(best.back()) - slack_mm);
    if (better) best = std::move(rooms);
  }
  std::map<std::size_t, int> copies;
  const double shift = bed_edge_mm - between_parts_mm / 2;
  for (const Room& room : best) {
    double tallest = -1, tall_y = 0;
    for (const Placed& p : room.placed)
      if (things[p.piece.thing].size_mm.z > tallest) {
        tallest = things[p.piece.thing].size_mm.z;
        tall_y = p.box.y + p.box.h / 2;
      }
    const bool turn = tall_y < bed.h / 2;
    Bed out;
    for (const Placed& p : room.placed) {
      Vec2 at{p.box.x + p.box.w / 2, p.box.y + p.box.h / 2};
      // Mirrored front to rear: boxes do not mind, and each part keeps its own hand.
      if (turn) at.y = bed.h - at.y;
      out.items.push_back({things[p.piece.thing].part, 0, at + Vec2{shift, shift}, p.quarter});
    }
    std::stable_sort(out.items.begin(), out.items.end(),
                     [](const OnBed& a, const OnBed& b) { return a.part < b.part; });
    result.beds.push_back(std::move(out));
  }
  result.beds.insert(result.beds.end(), alone.begin(), alone.end());
  std::map<std::string, int> number;
  for (Bed& b : result.beds)
    for (OnBed& item : b.items) item.copy = ++number[item.part];
  return result;
}

}  // namespace bedwright
