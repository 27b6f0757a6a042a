#include "survey/plausible.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "survey/robust_start.h"

namespace bedwright {
namespace {

double spread(std::vector<double>& v) {
  std::sort(v.begin(), v.end());
  const auto n = static_cast<double>(v.size() - 1);
  return v[static_cast<std::size_t>(std::lround(0.95 * n))] - v[static_cast<std::size_t>(std::lround(0.05 * n))];
}

}  // namespace

void require_plausible_size(const std::vector<Vec3>& points, std::optional<Vec2> pitch_mm, bool to_be_cut,
                            const std::string& source) {
  if (points.size() < 2) return;
  std::vector<double> x, y, z;
  for (const Vec3& p : sampled(points, 2000)) {
    x.push_back(p.x);
    y.push_back(p.y);
    z.push_back(p.z);
  }
  const double size = std::max({spread(x), spread(y), spread(z)});
  if (size > largest_frame_mm && to_be_cut) return;
  if (!(size > 0) || (size >= smallest_frame_mm && size <= largest_frame_mm)) return;
  const struct {
    const char *option, *name;
    double factor;
  } units[] = {{"m", "metres", 1000}, {"ft", "feet", 304.8}, {"in", "inches", 25.4}, {"cm", "centimetres", 10}};
  // A frame is about a quarter longer than its hole pattern; without one, 300 mm is usual (common practice, no source).
  const double expected = pitch_mm ? 1.25 * std::max(pitch_mm->x, pitch_mm->y) : 300;
  std::string hint;
  if (size < smallest_frame_mm) {
    double nearest = 1e300;
    for (const auto& u : units) {
      const double off = std::fabs(std::log(size * u.factor / expected));
      if (off >= nearest) continue;
      nearest = off;
      hint = std::string("they look like ") + u.name + ": add --units " + u.option + ", which makes it " +
             decimal(size * u.factor, 0) + " mm";
    }
  } else {
    hint = "they look like micrometres, or hold more than the frame: scale them to millimetres, or cut with --region";
  }
  throw BadInput(source, {{"", "", "the points span " + decimal(size, 3) + " mm, which is no frame", hint}});
}

}  // namespace bedwright
