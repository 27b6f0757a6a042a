#include "output/height_field.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

std::size_t index(const std::vector<double>& values, double v) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < values.size(); ++i)
    if (std::fabs(values[i] - v) < std::fabs(values[best] - v)) best = i;
  return best;
}
std::size_t cell(const std::vector<double>& values, double v) {
  std::size_t i = 0;
  while (i + 2 < values.size() && v > values[i + 1]) ++i;
  return i;
}

}  // namespace

std::vector<double> distinct_places(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end(), [](double a, double b) { return b - a < 0.01; }),
               values.end());
  return values;
}

HeightField::HeightField(const std::vector<Vec2>& at, const std::vector<double>& z) : at_(at), z_(z) {
  std::vector<double> x, y;
  for (Vec2 p : at) {
    x.push_back(p.x);
    y.push_back(p.y);
  }
  x_ = distinct_places(x);
  y_ = distinct_places(y);
  gridded_ = x_.size() * y_.size() == at.size() && x_.size() > 1 && y_.size() > 1;
  if (!gridded_) return;
  grid_.assign(at.size(), 0);
  for (std::size_t i = 0; i < at.size(); ++i) grid_[index(x_, at[i].x) + x_.size() * index(y_, at[i].y)] = z[i];
}

double HeightField::operator()(Vec2 p) const {
  if (!gridded_) {
    double sum = 0, weights = 0;
    for (std::size_t i = 0; i < at_.size(); ++i) {
      const Vec2 d = p - at_[i];
      const double square = dot(d, d) + 1e-6, w = 1 / (square * square);
      sum += w * z_[i];
      weights += w;
    }
    return sum / weights;
  }
  const std::size_t i = cell(x_, p.x), j = cell(y_, p.y), nx = x_.size();
  const double u = (p.x - x_[i]) / (x_[i + 1] - x_[i]), v = (p.y - y_[j]) / (y_[j + 1] - y_[j]);
  const double front = (1 - u) * grid_[i + nx * j] + u * grid_[i + 1 + nx * j];
  const double rear = (1 - u) * grid_[i + nx * (j + 1)] + u * grid_[i + 1 + nx * (j + 1)];
  return (1 - v) * front + v * rear;
}

}  // namespace bedwright
