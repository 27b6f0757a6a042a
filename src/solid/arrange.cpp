#include <CGAL/Arr_circle_segment_traits_2.h>
#include <CGAL/Arr_consolidated_curve_data_traits_2.h>
#include <CGAL/Arrangement_2.h>
#include <CGAL/Cartesian.h>
#include <CGAL/Exact_rational.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/error.h"
#include "base/trig.h"
#include "solid/plan.h"

namespace bedwright {
namespace {

using Kernel = CGAL::Cartesian<CGAL::Exact_rational>;
using ArcTraits = CGAL::Arr_circle_segment_traits_2<Kernel>;
using Traits = CGAL::Arr_consolidated_curve_data_traits_2<ArcTraits, int>;
using Arrangement = CGAL::Arrangement_2<Traits>;
using Point = Kernel::Point_2;

double as_double(const ArcTraits::CoordNT& c) {
  const double a = CGAL::to_double(c.a0());
  return c.is_extended() ? a + CGAL::to_double(c.a1()) * std::sqrt(CGAL::to_double(c.root())) : a;
}

Vec2 position(Arrangement::Vertex_const_handle v) { return {as_double(v->point().x()), as_double(v->point().y())}; }

Point exact(Vec2 p) { return Point(p.x, p.y); }

/// Rational curves through the loop's snapped end points; each carries the profile's number.
void append_curves(const Loop& loop, int profile, Lattice lattice, std::vector<Traits::Curve_2>& out) {
  if (loop.circle) {
    const CGAL::Exact_rational r(loop.radius);
    const Kernel::Circle_2 circle(exact(snap(loop.centre, lattice)), r * r, CGAL::COUNTERCLOCKWISE);
    out.push_back(Traits::Curve_2(ArcTraits::Curve_2(circle), profile));
    return;
  }
  for (const Curve& c : loop.curves) {
    const Vec2 a = snap(c.start, lattice), b = snap(c.end, lattice);
    if (a == b) continue;
    if (!c.arc) {
      out.push_back(Traits::Curve_2(ArcTraits::Curve_2(exact(a), exact(b)), profile));
      continue;
    }
    // The middle of the arc, from the bisector of its ends.
    const double a0 = atan2_rad(c.start.y - c.centre.y, c.start.x - c.centre.x);
    double sweep = atan2_rad(c.end.y - c.centre.y, c.end.x - c.centre.x) - a0;
    if (c.ccw && sweep <= 0) sweep += 2 * pi;
    if (!c.ccw && sweep >= 0) sweep -= 2 * pi;
    const double m = a0 + sweep / 2;
    const Vec2 middle = c.centre + c.radius * Vec2{cos_rad(m), sin_rad(m)};
    if (std::fabs(cross(b - a, middle - a)) < 1e-9)
      out.push_back(Traits::Curve_2(ArcTraits::Curve_2(exact(a), exact(b)), profile));
    else
      out.push_back(Traits::Curve_2(ArcTraits::Curve_2(exact(a), exact(middle), exact(b)), profile));
  }
}

std::vector<int> profiles_of(Arrangement::Halfedge_const_handle h) {
  std::vector<int> r;
  for (int p : h->curve().data()) r.push_back(p);
  std::sort(r.begin(), r.end());
  r.erase(std::unique(r.begin(), r.end()), r.end());
  return r;
}

/// A piece of curve as walked along a halfedge.
Curve curve_of(Arrangement::Halfedge_const_handle h) {
  Curve c;
  c.start = position(h->source());
  c.end = position(h->target());
  if (h->curve().is_circular()) {
    const auto& circle = h->curve().supporting_circle();
    c.arc = true;
    c.centre = {CGAL::to_double(circle.center().x()), CGAL::to_double(circle.center().y())};
    c.radius = std::sqrt(CGAL::to_double(circle.squared_radius()));
    // The curve is stored from its own source; walking it the other way turns the other way.
    const bool along = (h->direction() == CGAL::ARR_LEFT_TO_RIGHT) == h->curve().is_directed_right();
    c.ccw = (h->curve().orientation() == CGAL::COUNTERCLOCKWISE) == along;
  }
  return c;
}

bool same_circle(const Curve& a, const Curve& b) {
  return a.arc && b.arc && a.ccw == b.ccw && length(a.centre - b.centre) < 1e-9 && std::fabs(a.radius - b.radius) < 1e-9;
}

bool passes_through(Arrangement::Vertex_const_handle v) { return v->degree() == 2; }

/// The next halfedge of the same chain (degree-2 vertex: the one that does not go back).
Arrangement::Halfedge_const_handle onward(Arrangement::Halfedge_const_handle h) { return h->next(); }

Chain faceted(const std::vector<Curve>& curves, bool closed, Facets facets, double chord_mm, Lattice lattice) {
  // The arrangement cuts circles at their left and right ends; those cuts mean nothing to us.
  std::vector<Curve> joined;
  for (const Curve& c : curves) {
    // A whole circle that begins and ends at one branching vertex stays two arcs: its sweep would read as nothing.
    const bool whole = !closed && !joined.empty() && joined.back().start == c.end;
    if (!joined.empty() && !whole && same_circle(joined.back(), c))
      joined.back().end = c.end;
    else
      joined.push_back(c);
  }
  if (closed && joined.size() > 1 && same_circle(joined.back(), joined.front())) {
    joined.front().start = joined.back().start;
    joined.pop_back();
  }
  Chain chain;
  chain.closed = closed;
  Loop loop;
  loop.facets = facets;
  if (closed && joined.size() == 1 && joined[0].arc) {
    loop.circle = true;
    loop.centre = joined[0].centre;
    loop.radius = joined[0].radius;
    chain.points = polygonised(loop, chord_mm);
    if (!joined[0].ccw) std::reverse(chain.points.begin(), chain.points.end());
  } else if (closed) {
    loop.curves = joined;
    chain.points = polygonised(loop, chord_mm);
  } else {
    // An open run: facet it closed by a detour, then drop the detour, so that the ends stay put.
    for (const Curve& c : joined) {
      Loop one;
      one.facets = facets;
      one.curves = {c, {c.end, c.start}};
      std::vector<Vec2> points{c.start};
      if (c.arc) points = polygonised(one, chord_mm);
      // polygonised may have dropped the tangent ends; put them back, they are joints here.
      if (points.front() != c.start) points.insert(points.begin(), c.start);
      if (points.back() == c.end) points.pop_back();
      chain.points.insert(chain.points.end(), points.begin(), points.end());
    }
    chain.points.push_back(joined.back().end);
  }
  for (Vec2& p : chain.points) p = snap(p, lattice);
  chain.points.erase(std::unique(chain.points.begin(), chain.points.end()), chain.points.end());
  // Joints where a tangent line runs into an arc carry no shape.
  for (std::size_t i = 1; i + 1 < chain.points.size();) {
    const Vec2 a = chain.points[i - 1], v = chain.points[i], b = chain.points[i + 1];
    const double base = length(b - a);
    const bool flat = base > 0 && std::fabs(cross(b - a, v - a)) / base < 2 * lattice.step_mm && dot(v - a, b - v) > 0;
    if (flat)
      chain.points.erase(chain.points.begin() + static_cast<std::ptrdiff_t>(i));
    else
      ++i;
  }
  return chain;
}

}  // namespace

std::vector<Component> arrange(const std::vector<Profile>& profiles, const std::vector<int>& members, double chord_mm,
                               Lattice lattice) {
  std::vector<Traits::Curve_2> curves;
  for (int m : members) append_curves(profiles[m].loop, m, lattice, curves);
  Arrangement arrangement;
  CGAL::insert(arrangement, curves.begin(), curves.end());

  // Cover of every face: walk from the outside, toggling the profiles of each edge crossed.
  std::map<Arrangement::Face_const_handle, std::pair<int, std::vector<int>>> faces;
  std::vector<Arrangement::Face_const_handle> queue{arrangement.unbounded_face()};
  faces[queue[0]] = {0, {}};
  const auto visit = [&](Arrangement::Halfedge_const_handle h, const std::vector<int>& here) {
    const Arrangement::Face_const_handle other = h->twin()->face();
    if (faces.count(other)) return;
    std::vector<int> cover;
    const std::vector<int> crossed = profiles_of(h);
    std::set_symmetric_difference(here.begin(), here.end(), crossed.begin(), crossed.end(), std::back_inserter(cover));
    const int id = static_cast<int>(faces.size());
    faces[other] = {id, cover};
    queue.push_back(other);
  };
  for (std::size_t i = 0; i < queue.size(); ++i) {
    const Arrangement::Face_const_handle f = queue[i];
    const std::vector<int> here = faces[f].second;
    const auto walk = [&](Arrangement::Ccb_halfedge_const_circulator first) {
      auto h = first;
      do visit(h, here);
      while (++h != first);
    };
    for (auto it = f->outer_ccbs_begin(); it != f->outer_ccbs_end(); ++it) walk(*it);
    for (auto it = f->inner_ccbs_begin(); it != f->inner_ccbs_end(); ++it) walk(*it);
  }

  Component all;
  all.covered.resize(faces.size());
  for (const auto& entry : faces) all.covered[entry.second.first] = entry.second.second;

  // Chains: from every branching vertex onward through vertices of degree two; then what is left are rings.
  std::map<Arrangement::Halfedge_const_handle, bool> taken;
  const auto follow = [&](Arrangement::Halfedge_const_handle first, bool closed) {
    std::vector<Curve> run;
    auto h = first;
    for (;;) {
      taken[h] = taken[h->twin()] = true;
      run.push_back(curve_of(h));
      if (closed ? onward(h) == first : !passes_through(h->target())) break;
      h = onward(h);
    }
    const std::vector<int> owners = profiles_of(first);
    Chain chain = faceted(run, closed, profiles[owners[0]].loop.facets, chord_mm, lattice);
    chain.left = faces[first->face()].first;
    chain.right = faces[first->twin()->face()].first;
    chain.profiles = owners;
    all.chains.push_back(std::move(chain));
  };
  // Walk chains the way their profile runs (counter-clockwise), so that facets fall on its own side.
  const auto with_profile = [&](Arrangement::Halfedge_const_handle h) {
    const std::vector<int>& left = faces[h->face()].second;
    return std::binary_search(left.begin(), left.end(), profiles_of(h)[0]);
  };
  for (auto h = arrangement.halfedges_begin(); h != arrangement.halfedges_end(); ++h)
    if (!taken[h] && !passes_through(h->source()) && with_profile(h)) follow(h, false);
  for (auto h = arrangement.halfedges_begin(); h != arrangement.halfedges_end(); ++h)
    if (!taken[h] && with_profile(h)) follow(h, true);

  // Split into connected components, joined through common vertices.
  std::map<std::pair<double, double>, int> at;
  std::vector<int> group(all.chains.size());
  for (std::size_t i = 0; i < all.chains.size(); ++i) group[i] = static_cast<int>(i);
  const auto root = [&](int i) {
    while (group[i] != i) i = group[i] = group[group[i]];
    return i;
  };
  for (std::size_t i = 0; i < all.chains.size(); ++i) {
    if (all.chains[i].closed) continue;
    for (Vec2 p : {all.chains[i].points.front(), all.chains[i].points.back()}) {
      const auto found = at.emplace(std::make_pair(p.x, p.y), static_cast<int>(i));
      const int a = root(found.first->second), b = root(static_cast<int>(i));
      group[std::max(a, b)] = std::min(a, b);
    }
  }
  std::vector<Component> components;
  std::map<int, std::size_t> index;
  for (std::size_t i = 0; i < all.chains.size(); ++i) {
    const int r = root(static_cast<int>(i));
    if (!index.count(r)) {
      index[r] = components.size();
      components.emplace_back();
    }
    components[index[r]].chains.push_back(all.chains[i]);
  }
  // Each component numbers its own faces; the face all round it (the one it shares with the rest) becomes 0, and its own
  // cover is taken relative to that face, so that nesting can add the rest.
  for (Component& c : components) {
    // Boundaries of faces inside enclose positive area; only that of the face all round comes out negative.
    std::map<int, double> enclosed;
    for (const Chain& chain : c.chains) {
      double twice = 0;
      for (std::size_t i = 0; i + 1 < chain.points.size() + (chain.closed ? 1 : 0); ++i)
        twice += cross(chain.points[i], chain.points[(i + 1) % chain.points.size()]);
      enclosed[chain.left] += twice;
      enclosed[chain.right] -= twice;
    }
    int outside = enclosed.begin()->first;
    for (const auto& entry : enclosed)
      if (entry.second < enclosed[outside]) outside = entry.first;
    std::map<int, int> local{{outside, 0}};
    const std::vector<int> base = all.covered[outside];
    c.covered.assign(1, {});
    const auto number = [&](int face) {
      const auto entry = local.emplace(face, static_cast<int>(local.size()));
      if (entry.second) {
        std::vector<int> cover;
        std::set_symmetric_difference(all.covered[face].begin(), all.covered[face].end(), base.begin(), base.end(),
                                      std::back_inserter(cover));
        c.covered.push_back(cover);
      }
      return entry.first->second;
    };
    for (Chain& chain : c.chains) {
      chain.left = number(chain.left);
      chain.right = number(chain.right);
    }
  }
  return components;
}

}  // namespace bedwright
