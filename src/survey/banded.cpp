#include "survey/banded.h"

namespace bedwright {
namespace {

std::size_t first_of(const Band& m, std::size_t i) {
  return i > m.width ? i - m.width : 0;
}

}  // namespace

bool factor(Band& m) {
  for (std::size_t i = 0; i < m.n; ++i) {
    const std::size_t first = first_of(m, i);
    for (std::size_t j = first; j <= i; ++j) {
      double sum = m.at(i, j);
      for (std::size_t k = std::max(first, first_of(m, j)); k < j; ++k) sum -= m.at(i, k) * m.at(j, k);
      if (i > j) {
        m.at(i, j) = sum / m.at(j, j);
      } else {
        if (!(sum > 0)) return false;
        m.at(i, i) = std::sqrt(sum);
      }
    }
  }
  return true;
}

void solve(const Band& l, std::vector<double>& b) {
  for (std::size_t i = 0; i < l.n; ++i) {
    for (std::size_t k = first_of(l, i); k < i; ++k) b[i] -= l.at(i, k) * b[k];
    b[i] /= l.at(i, i);
  }
  for (std::size_t i = l.n; i-- > 0;) {
    b[i] /= l.at(i, i);
    for (std::size_t k = first_of(l, i); k < i; ++k) b[k] -= l.at(i, k) * b[i];
  }
}

Band inverse_in_band(const Band& l) {
  // With Z the inverse and L = (unit lower) * diag: Z = D^-2-part + (I - U^T) Z, column by column from the last.
  Band z(l.n, l.width);
  for (std::size_t j = l.n; j-- > 0;) {
    const std::size_t last = std::min(l.n - 1, j + l.width);
    const double pivot = l.at(j, j);
    for (std::size_t i = last + 1; i-- > j;) {
      double sum = i == j ? 1 / pivot : 0;
      for (std::size_t k = j + 1; k <= last; ++k) sum -= l.at(k, j) * z.symmetric(i, k);
      z.at(i, j) = sum / pivot;
    }
  }
  return z;
}

}  // namespace bedwright
