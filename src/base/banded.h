// Symmetric band matrices: factor, solve, the inverse inside the band, and how many eigenvalues lie below a number.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace bedwright {

/// Lower triangle: at(i, j) for 0 <= i - j <= width.
struct Band {
  std::size_t n = 0, width = 0;
  std::vector<double> a;
  Band() = default;
  Band(std::size_t n_, std::size_t width_) : n(n_), width(width_), a(n_ * (width_ + 1), 0.0) {}
  double& at(std::size_t i, std::size_t j) { return a[i * (width + 1) + (i - j)]; }
  double at(std::size_t i, std::size_t j) const { return a[i * (width + 1) + (i - j)]; }
  double symmetric(std::size_t i, std::size_t j) const { return i >= j ? at(i, j) : at(j, i); }
};

/// L with L L^T = m, in place; false if m is not positive definite to rounding.
bool factor(Band& m);
/// Solves L L^T x = b in place.
void solve(const Band& l, std::vector<double>& b);
/// The entries of (L L^T)^-1 that lie in the band.
Band inverse_in_band(const Band& l);

/// How many eigenvalues of the pair m x = lambda M x are below `shift`, M positive definite: the negative pivots of
/// m - shift M (Sylvester's law of inertia), without exchange of rows.
std::size_t eigenvalues_below(const Band& m, const Band& mass, double shift);

}  // namespace bedwright
