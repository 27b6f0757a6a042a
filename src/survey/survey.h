// From points or readings to the frame's shape, with an honest uncertainty. Machine frame unless the caller has no
// other than the data's own; mm. How it decides is in docs/commands/survey.md.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "survey/cloud.h"
#include "survey/shape_model.h"

namespace bedwright {

/// Another shape than the sphere is believed only below this probability of seeing as much by chance.
inline constexpr double believed_below = 0.001;
/// Nothing smaller is called a shape, mm: parts that differ by less are one part.
inline constexpr double least_effect_mm = 0.001;
/// A shape that differs by no more is the same to a plate, mm: what a seat is held to.
inline constexpr double mate_within_mm = 0.02;
/// Share of the stated intervals that hold the truth.
inline constexpr double coverage = 0.95;
/// From so many points on, neighbours are suspected of sharing their error, and it is measured how far they do.
inline constexpr std::size_t many_points = 5000;

/// One question that was asked of the data: does `shape` explain more than `against`?
struct ShapeTrial {
  FitShape shape = FitShape::flat, against = FitShape::sphere;
  double p = 1;          ///< probability of so great a gain by chance (F or chi-squared test)
  double effect_mm = 0;  ///< the greatest difference it makes over the points
  bool believed = false;
};

struct Survey {
  FitShape shape = FitShape::sphere;
  std::string why;    ///< one or two sentences
  ShapeModel model;   ///< of `shape`
  ShapeModel sphere;  ///< always the sphere
  std::vector<ShapeTrial> trials;

  double radius_mm = 0, radius_u_mm = 0;  ///< of the sphere; not finite for a plane
  double curvature = 0, curvature_u = 0;  ///< 1/mm, positive: crown up
  bool crown_up = true;
  Vec2 apex{};
  std::optional<Vec2> apex_u;                  ///< nothing where the readings cannot see the apex
  std::optional<double> twist_mm, twist_u_mm;  ///< nothing where the data cannot see a twist
  double twist_factor = 2;                     ///< as `factor`, for the twist
  Vec2 twist_half{};                           ///< half the box whose corners the twist is taken at
  std::optional<Vec2> radii_mm, radii_u_mm;    ///< two_radius: along X, along Y; cylinder: x = its radius
  std::optional<double> axis_u_rad;            ///< cylinder: of its straight direction
  bool kept_as_points = false;                 ///< no dome block of a kit holds this shape by numbers
  double factor = 2;                           ///< half width of the interval in standard uncertainties
  double freedom = 0;   ///< degrees of freedom behind it; 0: the uncertainty was stated, not estimated
  double noise_mm = 0;  ///< standard deviation of one point about the fullest surface
  double rms_mm = 0, max_residual_mm = 0;  ///< about `model`, without outliers
  double points_per_share = 1;             ///< how many neighbouring points count as one (1: all independent)
  std::size_t points = 0, outliers = 0;
  Vec3 low{}, high{};                ///< box of what was used
  std::vector<Vec3> used, left_out;  ///< at most `shown_points` and a third of that: for pictures and files
};

inline constexpr std::size_t shown_points = 1600;

struct SurveyOptions {
  std::optional<Vec2> pattern_half;  ///< half the hole pattern's box: where the twist is taken
  AtOnce at_once = one_by_one;       ///< for millions of points
};

/// Throws BadInput naming `source`: too few points, on one line, standing on edge, all in one place, on one ring.
Survey survey_points(const std::vector<Vec3>& points, const SurveyOptions& options, const std::string& source);
Survey survey_cloud(const Cloud& cloud, const SurveyOptions& options, const std::string& source);

/// z above the survey's chosen surface.
double residual(const Survey& survey, Vec3 p);

}  // namespace bedwright
