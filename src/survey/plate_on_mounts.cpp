#include "survey/plate_on_mounts.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "survey/map_split.h"

namespace bedwright {
namespace {

constexpr double touches_mm = 1e-9;

/// 1, x, y, xy, x^2, y^2 in units of the mounts' reach.
std::vector<double> shape_at(Vec2 p, double reach, std::size_t terms) {
  const double x = p.x / reach, y = p.y / reach;
  const double all[] = {1, x, y, x * y, x * x, y * y};
  return {all, all + terms};
}

BadInput bad_mounts(const std::string& message) {
  return BadInput("the bed's mounts",
                  {{"/frame/bed_mounts", "", message, "or let shims go to the carriages: \"shim_at\" in bed_map"}});
}

}  // namespace

const char* to_text(BedOnMounts::Kind kind) {
  switch (kind) {
    case BedOnMounts::Kind::rigid:
      return "rigid";
    case BedOnMounts::Kind::stated:
      return "stated";
    default:
      return "limp";
  }
}

std::vector<std::vector<double>> influence_of(const BedOnMounts& model, const std::vector<Vec2>& mounts,
                                              const std::vector<Vec2>& points) {
  if (mounts.size() < 3) throw bad_mounts("a bed that shims can level needs three mounts or more");
  double reach = 1;
  for (Vec2 m : mounts) reach = std::max(reach, length(m));
  std::size_t terms = model.kind == BedOnMounts::Kind::rigid ? 3 : model.kind == BedOnMounts::Kind::limp ? 4 : 6;
  if (model.kind == BedOnMounts::Kind::limp && mounts.size() < 4) terms = 3;

  std::vector<std::vector<double>> columns;
  const auto fill = [&] {
    columns.assign(terms, {});
    for (Vec2 m : mounts) {
      const auto f = shape_at(m, reach, terms);
      for (std::size_t k = 0; k < terms; ++k) columns[k].push_back(f[k]);
    }
  };
  fill();
  if (terms == 4 && !fit_terms(columns, std::vector<double>(mounts.size(), 0)).full_rank) {
    terms = 3;
    fill();
  }
  std::size_t rows = mounts.size();
  if (terms == 6) {
    // w_xx^2 + w_yy^2 + 2 nu w_xx w_yy = (1 + nu)/2 (w_xx + w_yy)^2 + (1 - nu)/2 (w_xx - w_yy)^2, as rows of squares.
    const double bending = model.modulus_gpa * 1000 * model.thickness_mm * model.thickness_mm * model.thickness_mm /
                           (12 * (1 - model.poisson * model.poisson));
    const double weight =
        bending * model.bed_mm.x * model.bed_mm.y / (reach * reach * reach * reach) / model.sheet_n_per_mm;
    const double sum = std::sqrt(2 * (1 + model.poisson) * weight), other = std::sqrt(2 * (1 - model.poisson) * weight);
    const double extra[3][6] = {{0, 0, 0, 0, sum, sum}, {0, 0, 0, 0, other, -other}, {0, 0, 0, other, 0, 0}};
    for (const auto& row : extra)
      for (std::size_t k = 0; k < 6; ++k) columns[k].push_back(row[k]);
    rows += 3;
  }
  std::vector<std::vector<double>> influence;
  for (std::size_t i = 0; i < mounts.size(); ++i) {
    std::vector<double> unit(rows, 0);
    unit[i] = 1;
    const TermFit fit = fit_terms(columns, unit);
    if (!fit.full_rank) throw bad_mounts("the mounts stand in one line: no shim can level the bed across it");
    influence.emplace_back();
    for (Vec2 p : points) {
      const auto f = shape_at(p, reach, terms);
      double w = 0;
      for (std::size_t k = 0; k < terms; ++k) w += fit.coefficients[k] * f[k];
      influence.back().push_back(w);
    }
  }
  return influence;
}

SeatingGap seating_gap(const std::vector<Vec2>& mounts, const std::vector<double>& shims) {
  const std::size_t n = mounts.size();
  SeatingGap worst;
  bool seated = false;
  // A plane through three mounts, above or on all others, with the middle of the mounts inside the triangle.
  Vec2 middle;
  for (Vec2 m : mounts) middle = middle + (1.0 / static_cast<double>(n)) * m;
  for (std::size_t a = 0; a < n && !seated; ++a)
    for (std::size_t b = a + 1; b < n && !seated; ++b)
      for (std::size_t c = b + 1; c < n && !seated; ++c) {
        const Vec2 ab = mounts[b] - mounts[a], ac = mounts[c] - mounts[a], am = middle - mounts[a];
        const double area = cross(ab, ac);
        if (std::fabs(area) < 1e-6) continue;
        const double s = cross(am, ac) / area, t = cross(ab, am) / area;
        if (s < -1e-9 || t < -1e-9 || s + t > 1 + 1e-9) continue;
        SeatingGap found;
        bool above = true;
        for (std::size_t k = 0; k < n && above; ++k) {
          const Vec2 ak = mounts[k] - mounts[a];
          const double height =
              shims[a] + (shims[b] - shims[a]) * cross(ak, ac) / area + (shims[c] - shims[a]) * cross(ab, ak) / area;
          const double gap = height - shims[k];
          above = gap > -touches_mm;
          if (gap > found.mm) found = {gap, static_cast<int>(k)};
        }
        if (!above) continue;
        worst = found.mm > touches_mm ? found : SeatingGap{};
        seated = true;
      }
  return worst;
}

}  // namespace bedwright
