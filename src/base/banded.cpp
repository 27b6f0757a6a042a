#include "base/banded.h"

namespace bedwright {
namespace {

std::size_t first_of(const Band& m, std::size_t i) {
  return i > m.width ? i - m.width : 0;
}

/// Sum of products of two runs, in four strands that do not wait for each other; always in this order.
double run_product(const double* a, const double* b, std::size_t n) {
  double s0 = 0, s1 = 0, s2 = 0, s3 = 0;
  std::size_t k = 0;
  for (; k + 4 <= n; k += 4) {
    s0 += a[k] * b[k];
    s1 += a[k + 1] * b[k + 1];
    s2 += a[k + 2] * b[k + 2];
    s3 += a[k + 3] * b[k + 3];
  }
  for (; k < n; ++k) s0 += a[k] * b[k];
  return (s0 + s1) + (s2 + s3);
}

}  // namespace

bool factor(Band& m) {
  for (std::size_t i = 0; i < m.n; ++i) {
    const std::size_t first = first_of(m, i);
    for (std::size_t j = first; j <= i; ++j) {
      const std::size_t from = std::max(first, first_of(m, j));
      const double sum = m.at(i, j) - (from < j ? run_product(&m.at(i, j - 1), &m.at(j, j - 1), j - from) : 0);
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
  // `whole` holds the band on both sides of the diagonal, so that a row of it is one run in memory.
  const std::size_t w = l.width, span = 2 * w + 1;
  std::vector<double> whole(l.n * span, 0.0), sum(w + 1);
  for (std::size_t j = l.n; j-- > 0;) {
    const std::size_t last = std::min(l.n - 1, j + w), below = last - j;
    const double pivot = l.at(j, j);
    std::fill(sum.begin(), sum.end(), 0.0);
    for (std::size_t k = j + 1; k <= last; ++k) {
      const double share = l.at(k, j);
      const double* row = &whole[k * span + (j + 1 + w - k)];
      for (std::size_t i = 0; i < below; ++i) sum[i] -= share * row[i];
    }
    double diagonal = 1 / pivot;
    for (std::size_t i = 0; i < below; ++i) {
      const double z = sum[i] / pivot;
      whole[(j + 1 + i) * span + (w - 1 - i)] = z;
      whole[j * span + (w + 1 + i)] = z;
      diagonal -= l.at(j + 1 + i, j) * z;
    }
    whole[j * span + w] = diagonal / pivot;
  }
  Band z(l.n, w);
  for (std::size_t i = 0; i < l.n; ++i)
    for (std::size_t j = first_of(z, i); j <= i; ++j) z.at(i, j) = whole[i * span + (j + w - i)];
  return z;
}

std::size_t eigenvalues_below(const Band& m, const Band& mass, double shift) {
  // m - shift M = L D L^T, row by row; `l` holds L below the diagonal and D on it.
  Band l(m.n, m.width);
  std::size_t negative = 0;
  for (std::size_t i = 0; i < m.n; ++i) {
    const std::size_t first = first_of(m, i);
    for (std::size_t j = first; j <= i; ++j) {
      double sum = m.at(i, j) - shift * mass.at(i, j);
      for (std::size_t k = std::max(first, first_of(m, j)); k < j; ++k) sum -= l.at(i, k) * l.at(j, k) * l.at(k, k);
      if (i > j) {
        l.at(i, j) = sum / l.at(j, j);
      } else {
        // A pivot of nothing is a shift that is an eigenvalue of a leading part: a hair's breadth beside it counts
        // alike.
        const double least = 1e-300 + 1e-17 * std::fabs(m.at(i, i));
        l.at(i, i) = std::fabs(sum) < least ? -least : sum;
        negative += l.at(i, i) < 0;
      }
    }
  }
  return negative;
}

}  // namespace bedwright
