#include "survey/survey.h"

#include <algorithm>
#include <cmath>

#include "survey/choose.h"
#include "survey/robust_start.h"

namespace bedwright {

namespace {

/// The greatest distance of a kept point from the model. Nearly always it is one of the outermost points: of all others
/// it is known that they stand off less, as far as the surface they were judged by and the model are apart.
double farthest(const Cloud& cloud, const Gathered& g, const ShapeModel& model, const AtOnce& at_once) {
  double outer = 0, apart = 0;
  for (const Vec3& p : g.outermost) outer = std::max(outer, std::fabs(distance_from(model, p)));
  for (const WeightedPoint& p : g.samples)
    apart = std::max(apart, std::fabs(distance_from(model, p.at) - above(g.looked_from, p.at)));
  if (outer >= g.sure_mm + between_cells * apart) return outer;
  std::vector<double> most(cloud.pieces, 0);
  each_at_once(at_once, cloud.pieces, [&](std::size_t piece) {
    double greatest = 0;
    cloud.give(piece, [&](const Vec3* points, std::size_t count) {
      for (const Vec3* p = points; p != points + count; ++p) {
        const double r = std::fabs(distance_from(model, *p));
        if (r > greatest && std::fabs(above(g.estimate, *p)) <= g.cut_mm) greatest = r;
      }
    });
    most[piece] = greatest;
  });
  return *std::max_element(most.begin(), most.end());
}

}  // namespace

Survey survey_points(const std::vector<Vec3>& points, const SurveyOptions& options, const std::string& source) {
  return survey_cloud(cloud_of(points), options, source);
}

Survey survey_cloud(const Cloud& cloud, const SurveyOptions& options, const std::string& source) {
  Gathered g = gather(cloud, source, options.at_once);
  Survey s;
  s.points = g.points;
  s.outliers = g.points - g.kept;
  choose_shape(g, options, s);
  if (g.points <= most_single_points) {
    for (const WeightedPoint& w : g.samples)
      s.max_residual_mm = std::max(s.max_residual_mm, std::fabs(distance_from(s.model, w.at)));
  } else {
    s.max_residual_mm = farthest(cloud, g, s.model, options.at_once);
  }
  s.used = std::move(g.used);
  if (g.points > most_single_points) {
    // Of millions of points the means over cells, which are better than any of them.
    s.used.clear();
    for (const WeightedPoint& w : g.samples) s.used.push_back(w.at);
    s.used = sampled(s.used, shown_points);
  }
  s.left_out = std::move(g.left_out);
  return s;
}

double residual(const Survey& survey, Vec3 p) {
  return distance_from(survey.model, p);
}

}  // namespace bedwright
