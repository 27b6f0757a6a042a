#include "gauge/compare.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "gauge/match.h"
#include "gauge/mistakes.h"

namespace bedwright {
namespace {

constexpr double scale_slack = 0.1;         // of the length: a file in inches may also lack a boss
constexpr double least_scaled_share = 0.6;  // of the surface that must agree before a scale is believed
constexpr double area_slack = 0.03;         // between two parts worth comparing
constexpr double clearly_better = 0.1;      // share by which another pose must win over the upright one
constexpr double resembles = 0.2;           // least share for naming single features

struct Scale {
  const char* code;
  const char* words;
  double factor;  ///< file coordinates times this are millimetres
};
constexpr Scale scales[] = {
    {"scale-inch", "the file is 25.4 times too small: its numbers are inches; scale it by 25.4", 25.4},
    {"scale-inch", "the file is 25.4 times too large: it was taken for inches; scale it by 1/25.4", 1 / 25.4},
    {"scale-centimetre", "the file is 10 times too small: its numbers are centimetres; scale it by 10", 10},
    {"scale-centimetre", "the file is 10 times too large: it was taken for centimetres; scale it by 0.1", 0.1},
    {"scale-metre", "the file is 1000 times too small: its numbers are metres; scale it by 1000", 1000},
    {"scale-metre", "the file is 1000 times too large: it was taken for metres; scale it by 0.001", 0.001},
};

const Scale* likely_scale(double file_area, double target_area) {
  if (!(file_area > 0)) return nullptr;
  const double factor = std::sqrt(target_area / file_area);
  for (const Scale& s : scales)
    if (std::fabs(factor / s.factor - 1) < scale_slack) return &s;
  return nullptr;
}

int severity(const Motion& m) {
  const std::vector<Mistake> pose = pose_mistakes(m.file_to_target);
  return pose.empty() ? 0 : pose[0].code == "upside-down" ? 1 : 2;
}

/// The least serious of the motions that are as good as the best.
const Motion* agreeing(const std::vector<Motion>& all, bool mirrored) {
  const Motion* best = nullptr;
  for (const Motion& m : all)
    if (m.mirrored == mirrored && (!best || m.deviation_mm < best->deviation_mm)) best = &m;
  if (!best || best->deviation_mm > near_mm) return nullptr;
  const double limit = std::max(same_facets_mm, 2 * best->deviation_mm);
  for (const Motion& m : all)
    if (m.mirrored == mirrored && m.deviation_mm <= limit && severity(m) < severity(*best)) best = &m;
  return best;
}

/// For a file that is not quite the part: upright unless another way is clearly better.
const Motion& most_likely(const std::vector<Motion>& all) {
  const auto rank = [](const Motion& m) {
    return m.share - (severity(m) == 0 ? 0 : clearly_better) - (m.mirrored ? clearly_better : 0);
  };
  return *std::max_element(all.begin(), all.end(), [&](const Motion& a, const Motion& b) { return rank(a) < rank(b); });
}

/// The very facets in the very order, as a file has them that was written from the solid: no search can say more.
bool same_facets(const Mesh& file, const Mesh& target) {
  if (file.triangles.size() != target.triangles.size()) return false;
  constexpr double same_mm = same_facets_mm / 4;
  for (std::size_t f = 0; f < file.triangles.size(); ++f)
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 a = file.vertices[file.triangles[f][k]], b = target.vertices[target.triangles[f][k]];
      if (!(std::fabs(a.x - b.x) < same_mm && std::fabs(a.y - b.y) < same_mm && std::fabs(a.z - b.z) < same_mm))
        return false;
    }
  return true;
}

Mesh print_mesh(const Candidate& c) {
  return transformed(*c.solid, inverse(c.print_to_part));
}

/// The other part that the file really is, or nullptr.
const Candidate* really(const MeasuredBody& file, const std::vector<Candidate>& others, double better_than) {
  for (const Candidate& other : others) {
    const Mesh mesh = print_mesh(other);
    const std::vector<MeasuredFeature> none;
    const MeasuredBody rough(mesh, none);
    if (std::fabs(std::sqrt(rough.area_mm2() / file.area_mm2()) - 1) > area_slack) continue;
    if (judged(file, rough, {}).deviation_mm <= std::min(same_facets_mm, better_than)) return &other;
    const Measurement m = measure(mesh);
    const MeasuredBody target(m.mesh, m.features);
    const std::vector<Motion> found = motions(file, target);
    const Motion* motion = agreeing(found, false);
    if (motion && motion->deviation_mm < better_than) return &other;
  }
  return nullptr;
}

std::string difference(const Placed& file, const Placed& solid, double share) {
  const FacetTree tree(solid.mesh);
  double most = 0;
  Vec3 where{};
  for (const Vec3& v : file.mesh.vertices) {
    const double d = tree.distance(v, deviation_cap_mm);
    if (d > most) {
      most = d;
      where = v;
    }
  }
  return "only " + decimal(100 * share, 0) + " % of the surface agrees; it is off by up to " + decimal(most, 2) +
         " mm, at x " + decimal(where.x, 1) + ", y " + decimal(where.y, 1) + ", z " + decimal(where.z, 1) +
         " mm of the part";
}

void add(Comparison& c, const std::vector<Mistake>& mistakes) {
  for (const Mistake& m : mistakes) {
    c.mistakes.push_back(m.code);
    c.words.push_back(m.words);
  }
}

}  // namespace

Comparison compare(const Measurement& measured, const Candidate& expected, const std::vector<Candidate>& others) {
  Comparison c;
  add(c, surface_mistakes(measured.health, measured.mesh.triangles.size()));
  const Mesh target_mesh = print_mesh(expected);
  const std::vector<MeasuredFeature> none;
  Placed own = placed(measured.mesh, measured.features, 1, {});

  Motion motion;
  if (!same_facets(measured.mesh, target_mesh))
    motion = judged(MeasuredBody(own.mesh, own.features), MeasuredBody(target_mesh, none), {});
  if (motion.deviation_mm > same_facets_mm) {
    const Measurement solid = measure(target_mesh);
    const MeasuredBody target(solid.mesh, solid.features);
    const Scale* scale = likely_scale(measured.area_mm2, target.area_mm2());
    std::vector<Motion> found;
    if (scale) {
      const Placed scaled = placed(measured.mesh, measured.features, scale->factor, {});
      found = motions(MeasuredBody(scaled.mesh, scaled.features), target);
      if (most_likely(found).share < least_scaled_share) {
        scale = nullptr;
      } else {
        add(c, {{scale->code, scale->words}});
        own = scaled;
      }
    }
    const MeasuredBody file(own.mesh, own.features);
    if (!scale) found = motions(file, target);

    const Motion* same = agreeing(found, false);
    const Motion* mirror = same ? nullptr : agreeing(found, true);
    motion = same ? *same : mirror ? *mirror : most_likely(found);
    const bool exact = same && same->deviation_mm <= same_facets_mm;
    const Candidate* other =
        exact ? nullptr : really(file, others, same ? std::max(same_facets_mm, same->deviation_mm / 4) : near_mm);
    if (other) {
      const bool twin = other->part->mirror_of == expected.part->id || expected.part->mirror_of == other->part->id;
      add(c, {{"wrong-part", "this is the file of " + other->part->id + ", not of " + expected.part->id +
                                 (twin ? " (the other hand)" : "")}});
    }
    if (mirror)
      add(c, {{"mirrored", "this is the mirror image of " + expected.part->id + ": it will not fit this place"}});
    if (same && !other) add(c, pose_mistakes(motion.file_to_target));
    if (!exact && !other && !mirror) {
      const Placed in_part = placed(own.mesh, own.features, 1, compose(expected.print_to_part, motion.file_to_target));
      const Placed wanted = placed(solid.mesh, solid.features, 1, expected.print_to_part);
      std::vector<Mistake> differences;
      if (same || motion.share > resembles) differences = feature_mistakes(*expected.part, in_part, wanted);
      if (differences.empty() && !same && measured.health.watertight)
        differences = {
            {"wrong-part", "this is not " + expected.part->id + ": " + difference(in_part, wanted, motion.share)}};
      add(c, differences);
    }
  }
  c.ok = std::all_of(c.mistakes.begin(), c.mistakes.end(), [](const std::string& code) { return code == "turned"; });
  c.dimensions = measured_dimensions(
      *expected.part, placed(own.mesh, own.features, 1, compose(expected.print_to_part, motion.file_to_target)));
  return c;
}

}  // namespace bedwright
