#include "survey/orient_map.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "survey/map_split.h"
#include "survey/plate_on_mounts.h"

namespace bedwright {
namespace {

constexpr double same_place_mm = 0.01;
// All common practice, no source; the random test over every case holds them to "never wrong".
constexpr double largest_misfit = 0.35;  ///< of the foretold change, root mean square
constexpr double least_clearance = 0.1;  ///< of the foretold change, squared
constexpr double least_likelihood = 30;  ///< difference of chi squared to the second best case
constexpr double least_noise_mm = 0.001;
/// A map may be zeroed at one of its own points without anybody's knowing: the noise of that one point (4 standard
/// deviations) must not pass for the quarter of the shim by which the middle rises.
constexpr double largest_noise = 0.75 / 4 / 4;  ///< of the shim's thickness
constexpr double fits_on_bed = 1.02;

struct Pair {
  std::vector<Vec2> offsets;  ///< from the box's middle, map frame
  std::vector<double> change;
  double noise = least_noise_mm;
  int mount = 0;
  double mm = 0;
};

Pair pair_of(const KnownShim& shim) {
  Pair pair;
  const Vec2 middle = box_middle(shim.before.at);
  const HeightMap before = in_machine_frame(shim.before, {}), after = in_machine_frame(shim.after, {});
  bool same = before.z.size() == after.z.size();
  for (std::size_t i = 0; same && i < before.z.size(); ++i)
    same = length(shim.before.at[i] - shim.after.at[i]) < same_place_mm;
  if (!same)
    throw BadInput(shim.after.source, {{"", "", "its points are not those of " + shim.before.source,
                                        "take both maps at the same points"}});
  for (std::size_t i = 0; i < before.z.size(); ++i) {
    pair.offsets.push_back(shim.before.at[i] - middle);
    pair.change.push_back(after.z[i] - before.z[i]);
  }
  // What a plane and a twist leave of the change is noise, whatever its cause.
  std::vector<std::vector<double>> columns(4);
  for (Vec2 p : pair.offsets) {
    columns[0].push_back(1);
    columns[1].push_back(p.x);
    columns[2].push_back(p.y);
    columns[3].push_back(p.x * p.y);
  }
  if (pair.offsets.size() > 4) pair.noise = std::max(pair.noise, fit_terms(columns, pair.change).residual_sd);
  for (const HeightMap* map : {&before, &after})
    if (map->noise_mm) pair.noise = std::max(pair.noise, *map->noise_mm * std::sqrt(2.0 / map->repeats));
  pair.mount = shim.index;
  pair.mm = shim.mm;
  return pair;
}

/// The one point that reads nothing in every repeat of both maps, if there is just one: the map was zeroed there.
bool zeroed_on_the_bed(const KnownShim& shim) {
  const auto nothing = [](const BedMap& map, std::size_t i) {
    return std::all_of(map.repeats.begin(), map.repeats.end(),
                       [i](const std::vector<double>& z) { return std::fabs(z[i]) < 1e-9; });
  };
  int before = 0, both = 0;
  for (std::size_t i = 0; i < shim.before.at.size() && i < shim.after.at.size(); ++i) {
    before += nothing(shim.before, i);
    both += nothing(shim.before, i) && nothing(shim.after, i);
  }
  return before == 1 && both == 1;
}

struct Case {
  MapConvention convention;
  double squares = 0;   ///< left unexplained, each pair over its shim's square
  double foretold = 0;  ///< square of the foretold change
  double chi_squared = 0;
};

/// The rigid part is foretold in size; of the twist any share from none (rigid) to all (limp) may be there.
void weigh(Case& c, const Pair& pair, const std::vector<Vec2>& mounts) {
  std::vector<Vec2> at;
  for (Vec2 offset : pair.offsets) at.push_back(c.convention.centre_mm + machine_offset(c.convention, offset));
  BedOnMounts model;
  const auto index = static_cast<std::size_t>(pair.mount);
  const std::vector<double> rigid = influence_of(model, mounts, at)[index];
  model.kind = BedOnMounts::Kind::limp;
  const std::vector<double> limp = influence_of(model, mounts, at)[index];
  const double sign = c.convention.positive_high ? pair.mm : -pair.mm;
  double along = 0, twist = 0;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const double t = sign * (limp[i] - rigid[i]);
    along += t * (pair.change[i] - sign * rigid[i]);
    twist += t * t;
  }
  const double share = twist > 0 ? std::clamp(along / twist, 0.0, 1.0) : 0;
  double squares = 0, foretold = 0;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const double left = pair.change[i] - sign * (rigid[i] + share * (limp[i] - rigid[i]));
    squares += left * left;
    foretold += pair.mm * pair.mm * rigid[i] * rigid[i];
  }
  const double unit = pair.mm * pair.mm * static_cast<double>(at.size());
  c.squares += squares / unit;
  c.foretold += foretold / unit;
  c.chi_squared += squares / (pair.noise * pair.noise);
}

/// Its sides are told apart by measuring them.
bool oblong(Vec2 box) {
  return std::fabs(box.x - box.y) > 2 * probed_share * std::max(box.x, box.y);
}

/// Whether x and y of the map may have been exchanged, must be, or cannot tell.
enum class Sides { as_they_are, exchanged, unknown };

Sides sides_of(Vec2 map, Vec2 bed) {
  const bool fits = map.x <= fits_on_bed * bed.x && map.y <= fits_on_bed * bed.y;
  const bool fits_turned = map.y <= fits_on_bed * bed.x && map.x <= fits_on_bed * bed.y;
  if (fits == fits_turned) return Sides::unknown;
  return fits ? Sides::as_they_are : Sides::exchanged;
}

Sides sides_seen(Vec2 map, Vec2 probed, const std::string& source) {
  const auto alike = [&](double a, double b) { return std::fabs(a - b) <= probed_share * b; };
  const bool same = alike(map.x, probed.x) && alike(map.y, probed.y);
  const bool exchanged = alike(map.y, probed.x) && alike(map.x, probed.y);
  if (!same && !exchanged)
    throw BadInput(source, {{"", "",
                             "the points cover " + decimal(map.x, 1) + " x " + decimal(map.y, 1) +
                                 " mm, not the probed area of " + decimal(probed.x, 1) + " x " +
                                 decimal(probed.y, 1) + " mm",
                             "measure from the first to the last probed place, across the machine and along it"}});
  return same && exchanged ? Sides::unknown : same ? Sides::as_they_are : Sides::exchanged;
}

}  // namespace

std::string spoken(const MapConvention& c) {
  return std::string("a positive number means ") + (c.positive_high ? "high" : "low") + ", the map is turned by " +
         std::to_string(90 * c.quarter_turns) + " degrees and " + (c.mirrored ? "mirrored" : "not mirrored");
}

Orientation find_orientation(const std::vector<KnownShim>& shims, const std::vector<Vec2>& mounts, Vec2 bed_mm,
                             Vec2 centre_mm, std::optional<Vec2> probed_mm) {
  std::vector<Pair> pairs;
  for (const KnownShim& shim : shims) pairs.push_back(pair_of(shim));
  const Vec2 box = box_size(shims.at(0).before.at);
  const Sides sides = probed_mm ? sides_seen(box, *probed_mm, shims[0].before.source) : sides_of(box, bed_mm);
  std::vector<Case> cases;
  for (bool high : {true, false})
    for (bool mirrored : {false, true})
      for (int quarter = 0; quarter < 4; ++quarter) {
        if (sides == Sides::as_they_are && quarter % 2 == 1) continue;
        if (sides == Sides::exchanged && quarter % 2 == 0) continue;
        Case c;
        c.convention = {high, quarter, mirrored, centre_mm};
        for (const Pair& pair : pairs) weigh(c, pair, mounts);
        cases.push_back(c);
      }
  std::stable_sort(cases.begin(), cases.end(), [](const Case& a, const Case& b) { return a.squares < b.squares; });
  const Case &best = cases[0], &second = cases[1];

  Orientation result;
  result.misfit = std::sqrt(best.squares / best.foretold);
  result.clearance = (second.squares - best.squares) / best.foretold;
  const std::string mount = shims[0].mount;
  if (std::any_of(shims.begin(), shims.end(), zeroed_on_the_bed)) {
    result.why =
        "the maps are zeroed at a point of the bed: then a corner that rises and the opposite one that sinks look "
        "the same. Take both maps with a zero that does not move with the bed (an end stop), without homing on "
        "the bed in between";
    return result;
  }
  if (result.misfit > largest_misfit) {
    result.why =
        "the change between the maps is not what a shim of " + decimal(shims[0].mm, 3) + " mm under " + mount +
        " makes, whichever way the map is read (" + decimal(100 * result.misfit, 0) +
        " % of it does not fit). Likely: the map is zeroed on the bed itself, so that nobody can tell a corner "
        "that rose from the opposite one that sank; another screw was touched; or the shim is not under that "
        "mount. Home off the bed, change nothing but the shim, and take both maps again";
    return result;
  }
  for (const Pair& pair : pairs)
    if (pair.noise > largest_noise * pair.mm) {
      result.why = "noise of " + decimal(pair.noise, 3) + " mm between the two maps is too much for a shim of " +
                   decimal(pair.mm, 3) + " mm: use one of " + decimal(pair.noise / largest_noise, 1) +
                   " mm or more, or take more repeats";
      return result;
    }
  const bool apart = result.clearance > least_clearance && second.chi_squared - best.chi_squared > least_likelihood;
  if (!apart) {
    const bool exchange = (best.convention.quarter_turns + second.convention.quarter_turns) % 2 == 1 &&
                          best.convention.positive_high == second.convention.positive_high;
    if (exchange && shims.size() < 2)
      result.why =
          "the map would fit on the bed turned by a quarter too (a square grid or a square bed), so one shim leaves "
          "open whether x and y are exchanged. " +
          std::string(oblong(box) ? "If you know how wide and how deep the machine probes, give --probed. Else take a "
                                  : "Take a ") +
          "third map with the shim under a corner next to " + mount +
          ", the first one taken out, and give both: --known-shim twice, --after twice";
    else if (exchange)
      result.why =
          "both shims leave open whether x and y are exchanged: they must stand at two corners next to each "
          "other, not opposite";
    else
      result.why = "two ways to read the map fit nearly alike: " + spoken(best.convention) + "; or " +
                   spoken(second.convention) + ". Use a thicker shim, or take more repeats";
    return result;
  }
  result.found = best.convention;
  result.why = "found from the shim under " + mount +
               (shims.size() > 1 ? " and the one under " + shims[1].mount : std::string()) +
               ", taking both maps to have one zero that does not move with the bed";
  return result;
}

}  // namespace bedwright
