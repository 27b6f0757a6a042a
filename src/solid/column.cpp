#include "solid/column.h"

#include <algorithm>

#include "base/error.h"

namespace bedwright {
namespace {

// Order keys beyond any flat level: the seat lies above all flat levels of its face, open ends beyond everything.
constexpr double seat_key = 1e6, open_key = 1e9;

struct End {
  double key;
  Level level;
};

End end_of(const Bound& bound, bool lower, int feature, Lattice lattice) {
  Level level;
  level.feature = feature;
  switch (bound.kind) {
    case Bound::Kind::flat: level.z = snap(bound.z_mm, lattice); return {level.z, level};
    case Bound::Kind::seat: level.kind = Level::Kind::seat; return {seat_key, level};
    default: return {lower ? -open_key : open_key, level};
  }
}

struct Range {
  End low, high;
};

std::vector<Range> united(const std::vector<Range>& ranges, Range add) {
  std::vector<Range> r;
  for (const Range& x : ranges) {
    if (x.high.key < add.low.key || x.low.key > add.high.key) {
      r.push_back(x);
    } else {
      if (x.low.key < add.low.key) add.low = x.low;
      if (x.high.key > add.high.key) add.high = x.high;
    }
  }
  r.push_back(add);
  std::sort(r.begin(), r.end(), [](const Range& a, const Range& b) { return a.low.key < b.low.key; });
  return r;
}

std::vector<Range> without(const std::vector<Range>& ranges, const Range& cut) {
  std::vector<Range> r;
  for (const Range& x : ranges) {
    if (cut.high.key <= x.low.key || cut.low.key >= x.high.key) {
      r.push_back(x);
      continue;
    }
    if (cut.low.key > x.low.key) r.push_back({x.low, cut.low});
    if (cut.high.key < x.high.key) r.push_back({cut.high, x.high});
  }
  return r;
}

}  // namespace

Column column_of(const std::vector<Feature>& features, const std::vector<int>& covering, bool bevelled,
                 Lattice lattice) {
  std::vector<Range> ranges;
  int outline = -1, chamfer = -1;
  for (int f : covering) {
    const Feature& feature = features[f];
    if (feature.kind == FeatureKind::chamfer && feature.chamfer_mm > 0) {
      chamfer = f;
      continue;
    }
    const Range range{end_of(feature.from, true, f, lattice), end_of(feature.to, false, f, lattice)};
    if (range.low.key >= range.high.key)
      throw CannotBuild("feature-empty", feature.id + " begins at or above where it ends", "check its depth and heights",
                        {feature.id});
    if (feature.effect == Effect::add) {
      if (range.low.key <= -open_key || range.high.key >= open_key)
        throw CannotBuild("feature-open", feature.id + " adds material without an end", "give it both ends",
                          {feature.id});
      ranges = united(ranges, range);
      if (feature.chamfer_mm > 0 && outline < 0) outline = f;
    } else if (feature.effect == Effect::cut) {
      ranges = without(ranges, range);
    }
  }
  Column column;
  for (const Range& r : ranges) {
    Stretch s{r.low.level, r.high.level};
    if (bevelled && outline >= 0 && s.low.kind == Level::Kind::flat &&
        s.low.z == snap(features[outline].from.z_mm, lattice)) {
      s.low.kind = Level::Kind::bevel;
      s.low.bevel = snap(features[outline].chamfer_mm, lattice);
    }
    if (bevelled && outline >= 0 && features[outline].upper_chamfer && s.high.kind == Level::Kind::flat &&
        s.high.z == snap(features[outline].to.z_mm, lattice)) {
      s.high.kind = Level::Kind::bevel;
      s.high.bevel = -snap(features[outline].chamfer_mm, lattice);
    }
    column.push_back(s);
  }
  if (chamfer >= 0 && !column.empty()) {
    Level& top = column.back().high;
    top.off_seat = top.kind == Level::Kind::seat;
    top.kind = Level::Kind::eased;
    top.feature = chamfer;
  }
  return column;
}

}  // namespace bedwright
