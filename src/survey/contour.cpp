#include "survey/contour.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr double line_cost = 1, arc_cost = 1.5;
constexpr int hopeless_steps = 12;    // points on after which a piece that failed is given up
constexpr double widest_bulge = 0.9;  // sagitta over half chord: arcs up to nearly a half circle a piece
constexpr double least_arc_sag = 2;   // of the tolerance: flatter is a line
constexpr int bulge_steps = 40, fillet_steps = 60, refine_rounds = 3;
constexpr double golden = 0.6180339887498949;
constexpr std::size_t least_circle_points = 8;
constexpr int circle_steps = 20;
constexpr double tangent_sine = 1e-9;

BadInput bad(const std::string& message, const std::string& hint) {
  return BadInput("contour", {{"", "", message, hint}});
}

Vec2 left_of(Vec2 d) {
  return {-d.y, d.x};
}

/// Arc from a to b with bulge = 2 * sagitta / chord, positive to the left of a -> b; a line for 0.
Curve bulged(Vec2 a, Vec2 b, double bulge) {
  Curve c;
  c.start = a;
  c.end = b;
  if (bulge == 0) return c;
  const Vec2 d = b - a;
  const double chord = length(d);
  // Radius = chord (1 + b^2) / (4 b); the centre lies off the middle by chord (1 - b^2) / (4 b), away from the bulge.
  c.arc = true;
  c.radius = std::fabs(chord * (1 + bulge * bulge) / (4 * bulge));
  c.centre = 0.5 * (a + b) - ((1 - bulge * bulge) / (4 * bulge)) * left_of(d);
  c.ccw = bulge < 0;
  return c;
}

double distance_to(const Curve& c, Vec2 p) {
  if (c.arc) {
    const Vec2 a = c.start - c.centre, b = c.end - c.centre, q = p - c.centre;
    const bool short_way = c.ccw ? cross(a, b) >= 0 : cross(a, b) <= 0;
    const double s = c.ccw ? 1 : -1;
    const bool after = s * cross(a, q) >= 0, before = s * cross(q, b) >= 0;
    if (short_way ? after && before : after || before) return std::fabs(length(q) - c.radius);
    return std::min(length(p - c.start), length(p - c.end));
  }
  const Vec2 d = c.end - c.start;
  const double l2 = dot(d, d), t = l2 > 0 ? std::clamp(dot(p - c.start, d) / l2, 0.0, 1.0) : 0;
  return length(p - (c.start + t * d));
}

struct Piece {
  std::size_t from = 0, to = 0;  ///< points, both ends included; past the end: round again
  double bulge = 0;
};

class Follower {
 public:
  Follower(std::vector<Vec2> points, bool closed, double tolerance)
      : points_(std::move(points)), closed_(closed), tolerance_(tolerance) {}

  /// The fewest pieces from point `first` on: round to it again if closed, to the last point otherwise.
  std::vector<Piece> pieces(std::size_t first) const {
    const std::size_t n = points_.size(), last = closed_ ? n : n - 1;
    std::vector<double> cost(last + 1, 1e300);
    std::vector<Piece> by(last + 1);
    cost[0] = 0;
    for (std::size_t i = 0; i < last; ++i) {
      int failed = 0;
      for (std::size_t j = i + 1; j <= last && failed < hopeless_steps; ++j) {
        if (closed_ && i == 0 && j == last) break;  // one piece cannot close itself
        const std::optional<double> bulge = fitting(first + i, first + j);
        failed = bulge ? 0 : failed + 1;
        if (!bulge) continue;
        const double c = cost[i] + (*bulge == 0 ? line_cost : arc_cost);
        if (c >= cost[j]) continue;
        cost[j] = c;
        by[j] = {first + i, first + j, *bulge};
      }
    }
    std::vector<Piece> chain;
    for (std::size_t j = last; j > 0; j = by[j].from - first) chain.push_back(by[j]);
    std::reverse(chain.begin(), chain.end());
    return chain;
  }

  Vec2 at(std::size_t i) const { return points_[i % points_.size()]; }

 private:
  double worst(std::size_t from, std::size_t to, double bulge) const {
    const Curve c = bulged(at(from), at(to), bulge);
    double most = 0;
    for (std::size_t k = from + 1; k < to; ++k) most = std::max(most, distance_to(c, at(k)));
    return most;
  }

  /// 0 for a line, the bulge of an arc, nothing if neither follows the points.
  std::optional<double> fitting(std::size_t from, std::size_t to) const {
    if (at(from) == at(to)) return std::nullopt;
    if (worst(from, to, 0) <= tolerance_) return 0.0;
    if (to - from < 3) return std::nullopt;
    // The bulge that each point alone would have lies between these: the least largest distance is among them.
    const Vec2 a = at(from), b = at(to), d = b - a;
    double low = 1e300, high = -1e300;
    for (std::size_t k = from + 1; k < to; ++k) {
      const Vec2 p = at(k) - a, q = at(k) - b;
      const double along = dot(p, d), beyond = -dot(q, d);
      if (along < 0 || beyond < 0) return std::nullopt;
      // Inscribed angle g at the point: the arc's bulge is tan((pi - g) / 2) = sin g / (1 - cos g), with the side's
      // sign.
      const double c = dot(p, q), s = cross(p, q), l = std::sqrt(dot(p, p) * dot(q, q));
      if (l - c < 1e-300) return std::nullopt;
      const double bulge = s / (l - c);
      low = std::min(low, bulge);
      high = std::max(high, bulge);
    }
    if (low * high <= 0 || std::max(std::fabs(low), std::fabs(high)) > 2 * widest_bulge) return std::nullopt;
    double x = high - golden * (high - low), y = low + golden * (high - low);
    double fx = worst(from, to, x), fy = worst(from, to, y);
    for (int k = 0; k < bulge_steps && std::min(fx, fy) > 0.25 * tolerance_ && high - low > 1e-9; ++k) {
      if (fx < fy) {
        high = y;
        y = x;
        fy = fx;
        x = high - golden * (high - low);
        fx = worst(from, to, x);
      } else {
        low = x;
        x = y;
        fx = fy;
        y = low + golden * (high - low);
        fy = worst(from, to, y);
      }
    }
    const double best = fx < fy ? x : y;
    if (std::min(fx, fy) > tolerance_ || std::fabs(best) > widest_bulge) return std::nullopt;
    if (std::fabs(best) * length(d) / 2 < least_arc_sag * tolerance_) return std::nullopt;
    return best;
  }

  std::vector<Vec2> points_;
  bool closed_;
  double tolerance_;
};

struct Straight {
  Vec2 point, along;  ///< unit
};

/// Least squares of the distances; the direction of the way the points run.
std::optional<Straight> straight_through(const std::vector<Vec2>& p) {
  if (p.size() < 2) return std::nullopt;
  Vec2 mean{};
  for (Vec2 q : p) mean = mean + q;
  mean = (1.0 / static_cast<double>(p.size())) * mean;
  double xx = 0, xy = 0, yy = 0;
  for (Vec2 q : p) {
    const Vec2 d = q - mean;
    xx += d.x * d.x;
    xy += d.x * d.y;
    yy += d.y * d.y;
  }
  // Larger eigenvector of [xx xy; xy yy], from whichever row is the longer.
  const double half = (xx - yy) / 2, root = std::sqrt(half * half + xy * xy);
  Vec2 along = half >= 0 ? Vec2{half + root, xy} : Vec2{xy, root - half};
  const double l = length(along);
  if (!(l > 0)) return std::nullopt;
  along = (1 / l) * along;
  if (dot(along, p.back() - p.front()) < 0) along = -along;
  return Straight{mean, along};
}

std::optional<Vec2> meeting(const Straight& a, const Straight& b) {
  const double c = cross(a.along, b.along);
  if (std::fabs(c) < 0.02) return std::nullopt;  // nearly parallel: no corner to speak of
  return a.point + (cross(b.point - a.point, b.along) / c) * a.along;
}

/// Arc tangent to both lines with the radius that the points ask for.
std::optional<Curve> fillet(const Straight& a, const Straight& b, const std::vector<Vec2>& points, double guess) {
  const std::optional<Vec2> corner = meeting(a, b);
  if (!corner || points.empty()) return std::nullopt;
  const double turn = cross(a.along, b.along);
  const double side = turn > 0 ? 1 : -1;
  // Centre = corner + r * w, off each line by r: w = (b.along - a.along) / |turn|.
  const Vec2 w = (1 / std::fabs(turn)) * (b.along - a.along);
  const auto squares = [&](double r) {
    const Vec2 centre = *corner + r * w;
    double sum = 0;
    for (Vec2 p : points) {
      const double off = length(p - centre) - r;
      sum += off * off;
    }
    return sum;
  };
  double low = guess / 3, high = guess * 3;
  double x = high - golden * (high - low), y = low + golden * (high - low), fx = squares(x), fy = squares(y);
  for (int k = 0; k < fillet_steps; ++k) {
    if (fx < fy) {
      high = y;
      y = x;
      fy = fx;
      x = high - golden * (high - low);
      fx = squares(x);
    } else {
      low = x;
      x = y;
      fx = fy;
      y = low + golden * (high - low);
      fy = squares(y);
    }
  }
  Curve c;
  c.arc = true;
  c.radius = (low + high) / 2;
  c.centre = *corner + c.radius * w;
  c.ccw = side > 0;
  c.start = c.centre - (side * c.radius) * left_of(a.along);
  c.end = c.centre - (side * c.radius) * left_of(b.along);
  return c;
}

double deviation(const std::vector<Curve>& curves, const std::vector<Vec2>& points) {
  double most = 0;
  for (Vec2 p : points) most = std::max(most, distance(curves, p));
  return most;
}

struct Round {
  Vec2 centre;
  double radius = 0;
};

/// Circle of least squared distances: the algebraic one (linear), then Gauss and Newton's steps.
std::optional<Round> circle_through(const std::vector<Vec2>& points) {
  Vec2 mean{};
  for (Vec2 p : points) mean = mean + p;
  const double n = static_cast<double>(points.size());
  mean = (1 / n) * mean;
  double xx = 0, xy = 0, yy = 0, xr = 0, yr = 0, rr = 0;
  for (Vec2 p : points) {
    const Vec2 d = p - mean;
    const double r2 = dot(d, d);
    xx += d.x * d.x;
    xy += d.x * d.y;
    yy += d.y * d.y;
    xr += d.x * r2;
    yr += d.y * r2;
    rr += r2;
  }
  const double det = xx * yy - xy * xy;
  if (!(det > 1e-12 * (xx + yy) * (xx + yy))) return std::nullopt;
  Vec2 c{(xr * yy - yr * xy) / (2 * det), (yr * xx - xr * xy) / (2 * det)};
  double radius = std::sqrt(dot(c, c) + rr / n);
  for (int step = 0; step < circle_steps; ++step) {
    // Residual |d| - r, its gradient (-d / |d|, -1); the radius is eliminated by the means.
    double su = 0, sv = 0, sd = 0, uu = 0, uv = 0, vv = 0, ud = 0, vd = 0;
    for (Vec2 p : points) {
      const Vec2 d = p - mean - c;
      const double l = length(d);
      if (!(l > 0)) return std::nullopt;
      const double u = d.x / l, v = d.y / l;
      su += u;
      sv += v;
      sd += l;
      uu += u * u;
      uv += u * v;
      vv += v * v;
      ud += u * l;
      vd += v * l;
    }
    const double a = uu - su * su / n, b = uv - su * sv / n, e = vv - sv * sv / n;
    const double f = ud - su * sd / n, g = vd - sv * sd / n, w = a * e - b * b;
    if (!(w > 0)) return std::nullopt;
    const Vec2 by{(f * e - g * b) / w, (g * a - f * b) / w};
    c = c + by;
    radius = (sd - by.x * su - by.y * sv) / n;
  }
  return Round{mean + c, radius};
}

/// Both halves of a circle, if that is what all the points lie on.
std::vector<Curve> as_circle(const std::vector<Vec2>& points, double tolerance) {
  if (points.size() < least_circle_points) return {};
  const std::optional<Round> c = circle_through(points);
  if (!c) return {};
  bool seen[8] = {};
  for (Vec2 p : points) {
    const Vec2 d = p - c->centre;
    if (std::fabs(length(d) - c->radius) > tolerance) return {};
    seen[(d.x > 0 ? 0 : 4) + (d.y > 0 ? 0 : 2) + (std::fabs(d.x) > std::fabs(d.y) ? 0 : 1)] = true;
  }
  // Points all round: of a strip along an arc they lie on a circle too.
  for (const auto& pair : {std::pair(0, 1), {1, 5}, {5, 4}, {4, 6}, {6, 7}, {7, 3}, {3, 2}, {2, 0}})
    if (!seen[pair.first] && !seen[pair.second]) return {};
  const Vec2 right = c->centre + Vec2{c->radius, 0}, left = c->centre - Vec2{c->radius, 0};
  return {{right, left, true, c->centre, c->radius, true}, {left, right, true, c->centre, c->radius, true}};
}

std::vector<Curve> drawn(const Follower& f, const std::vector<Piece>& pieces) {
  std::vector<Curve> curves;
  for (const Piece& p : pieces) curves.push_back(bulged(f.at(p.from), f.at(p.to), p.bulge));
  return curves;
}

/// Which points lie nearest to which curve; a point at a joint counts for neither.
std::vector<std::vector<Vec2>> shared_out(const std::vector<Curve>& curves, const std::vector<Vec2>& points,
                                          double near_joint) {
  std::vector<std::vector<Vec2>> shares(curves.size());
  for (Vec2 p : points) {
    std::size_t best = 0;
    double least = 1e300;
    for (std::size_t i = 0; i < curves.size(); ++i) {
      const double d = distance_to(curves[i], p);
      if (d >= least) continue;
      least = d;
      best = i;
    }
    const Curve& c = curves[best];
    if (std::min(length(p - c.start), length(p - c.end)) > near_joint) shares[best].push_back(p);
  }
  return shares;
}

/// Lines by least squares, their corners, and fillets between them; what does not come out of that keeps its joints.
std::vector<Curve> refined(const std::vector<Curve>& old, bool closed, const std::vector<Vec2>& points,
                           double tolerance) {
  const std::size_t n = old.size();
  const auto shares = shared_out(old, points, 2 * tolerance);
  std::vector<std::optional<Straight>> lines(n);
  for (std::size_t i = 0; i < n; ++i)
    if (!old[i].arc && shares[i].size() >= 3) {
      lines[i] = straight_through(shares[i]);
      if (lines[i] && dot(lines[i]->along, old[i].end - old[i].start) < 0) lines[i]->along = -lines[i]->along;
    }
  std::vector<Curve> curves = old;
  const auto before = [&](std::size_t i) { return (i + n - 1) % n; };
  const auto after = [&](std::size_t i) { return (i + 1) % n; };
  for (std::size_t i = 0; i < n; ++i) {
    const bool has_both = closed || (i > 0 && i + 1 < n);
    if (curves[i].arc && has_both && n >= 3 && lines[before(i)] && lines[after(i)] && before(i) != after(i)) {
      const auto f = fillet(*lines[before(i)], *lines[after(i)], shares[i], old[i].radius);
      if (!f || f->ccw != old[i].ccw) continue;
      curves[i] = *f;
      curves[before(i)].end = f->start;
      curves[after(i)].start = f->end;
    } else if (!curves[i].arc && (closed || i + 1 < n) && lines[i] && !curves[after(i)].arc && lines[after(i)]) {
      const auto corner = meeting(*lines[i], *lines[after(i)]);
      if (!corner) continue;
      curves[i].end = *corner;
      curves[after(i)].start = *corner;
    }
  }
  return curves;
}

bool sound(const std::vector<Curve>& curves, const std::vector<Curve>& old) {
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const Vec2 d = curves[i].end - curves[i].start;
    // A line that turned round has been eaten up by its fillets.
    if (!curves[i].arc && !(dot(d, old[i].end - old[i].start) > 0)) return false;
    if (curves[i].arc &&
        std::fabs(length(curves[i].end - curves[i].centre) - curves[i].radius) > 1e-9 * (1 + curves[i].radius))
      return false;
  }
  return true;
}

Vec2 direction_at(const Curve& c, bool end) {
  Vec2 d = c.end - c.start;
  if (c.arc) {
    d = left_of((end ? c.end : c.start) - c.centre);
    if (!c.ccw) d = -d;
  }
  const double l = length(d);
  return l > 0 ? (1 / l) * d : d;
}

bool crosses(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const double s = cross(b - a, c - a), t = cross(b - a, d - a), u = cross(d - c, a - c), v = cross(d - c, b - c);
  return s * t < 0 && u * v < 0;
}

void require_simple(const std::vector<Vec2>& p, bool closed) {
  const std::size_t n = p.size(), edges = closed ? n : n - 1;
  for (std::size_t i = 0; i < edges; ++i)
    for (std::size_t j = i + 2; j < edges; ++j) {
      if (closed && i == 0 && j + 1 == n) continue;
      const Vec2 a = p[i], b = p[i + 1], c = p[j], d = p[(j + 1) % n];
      if (std::max(a.x, b.x) < std::min(c.x, d.x) || std::max(c.x, d.x) < std::min(a.x, b.x)) continue;
      if (crosses(a, b, c, d))
        throw bad("the contour crosses itself near (" + decimal(a.x, 2) + ", " + decimal(a.y, 2) + ")",
                  "are the points in order? Let them be put in order, or trace that place again");
    }
}

}  // namespace

double distance(const std::vector<Curve>& curves, Vec2 p) {
  double least = 1e300;
  for (const Curve& c : curves) least = std::min(least, distance_to(c, p));
  return least;
}

Contour lines_and_arcs(const Outline& outline, double tolerance_mm) {
  if (!(tolerance_mm >= least_contour_tolerance_mm && tolerance_mm <= most_contour_tolerance_mm))
    throw bad("a tolerance of " + decimal(tolerance_mm, 4) + " mm is outside " +
                  decimal(least_contour_tolerance_mm, 3) + " to " + decimal(most_contour_tolerance_mm, 0),
              "0.05 mm suits a scan, 0.2 mm a contour gauge");
  if (outline.points.size() < (outline.closed ? 3u : 2u)) throw bad("too few points for a contour", "trace more of it");
  std::vector<Vec2> all = outline.points;
  if (outline.closed && polygon_area(all) < 0) std::reverse(all.begin(), all.end());
  std::vector<Vec2> followed;
  const std::size_t step = (all.size() + followed_points - 1) / followed_points;
  for (std::size_t i = 0; i < all.size(); i += step) followed.push_back(all[i]);
  if (!outline.closed && (all.size() - 1) % step != 0) followed.push_back(all.back());
  require_simple(followed, outline.closed);
  if (outline.closed)
    if (const std::vector<Curve> circle = as_circle(all, tolerance_mm); !circle.empty())
      return {true, circle, deviation(circle, all), 2};
  const Follower follower(followed, outline.closed, tolerance_mm);
  std::vector<Piece> pieces = follower.pieces(0);
  // A closed contour may begin in the middle of a line: from a joint that was found it is followed once more.
  if (outline.closed && pieces.size() > 1) pieces = follower.pieces(pieces[pieces.size() / 2].from % followed.size());
  Contour result;
  result.closed = outline.closed;
  result.curves = drawn(follower, pieces);
  result.deviation_mm = deviation(result.curves, all);
  if (result.deviation_mm > tolerance_mm)
    throw bad("no contour through every " + std::to_string(step) + "th of the points stays within " +
                  decimal(tolerance_mm, 3) + " mm of all of them",
              "raise the tolerance, or trace the contour in shorter stretches");
  std::vector<Curve> curves = result.curves;
  for (int round = 0; round < refine_rounds; ++round) {
    const std::vector<Curve> better = refined(curves, outline.closed, all, tolerance_mm);
    if (!sound(better, curves)) break;
    curves = better;
    const double off = deviation(curves, all);
    if (off > tolerance_mm) continue;
    result.curves = curves;
    result.deviation_mm = off;
  }
  const std::size_t n = result.curves.size();
  for (std::size_t i = 0; i + (outline.closed ? 0 : 1) < n && n > 1; ++i) {
    const Vec2 a = direction_at(result.curves[i], true), b = direction_at(result.curves[(i + 1) % n], false);
    if (std::fabs(cross(a, b)) < tangent_sine && dot(a, b) > 0) ++result.tangent_joints;
  }
  return result;
}

Loop loop_of(const Contour& contour) {
  if (!contour.closed) throw bad("the contour is open, and a part's outline is closed", "trace it all round");
  const std::vector<Curve>& c = contour.curves;
  if (c.size() == 2 && c[0].arc && c[1].arc && c[0].centre == c[1].centre && c[0].radius == c[1].radius)
    return circle_loop(c[0].centre, c[0].radius, Facets::inside);
  Loop loop;
  loop.curves = c;
  return loop;
}

}  // namespace bedwright
