#include "print/outline_cells.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bedwright {
namespace {

// A box of a whole number of cells takes no further one for the lattice steps that its middle is off.
constexpr double hair = 1e-4;

int first_cell(double v) {
  return static_cast<int>(std::floor(v + hair));
}
int end_cell(double v) {
  return static_cast<int>(std::ceil(v - hair));
}

int bits_of(std::uint64_t word) {
  int n = 0;
  for (; word; word &= word - 1) ++n;
  return n;
}

/// Where the run of filled cells that holds x ends (the first empty one), and where it begins; bits beyond the row's
/// width are empty.
int run_end(const std::uint64_t* row, int words, int x) {
  int word = x >> 6;
  if (const std::uint64_t empty = ~row[word] >> (x & 63)) return x + __builtin_ctzll(empty);
  while (++word < words)
    if (const std::uint64_t empty = ~row[word]) return 64 * word + __builtin_ctzll(empty);
  return 64 * words;
}
int run_begin(const std::uint64_t* row, int x) {
  int word = x >> 6;
  if (const std::uint64_t empty = ~row[word] << (63 - (x & 63))) return x + 1 - __builtin_clzll(empty);
  while (--word >= 0)
    if (const std::uint64_t empty = ~row[word]) return 64 * word + 64 - __builtin_clzll(empty);
  return 0;
}

}  // namespace

Cells::Cells(int width, int height) : width_(width), height_(height), words_((width + 63) / 64) {
  bits_.assign(static_cast<std::size_t>(words_) * static_cast<std::size_t>(height), 0);
}

void Cells::fill(int x0, int x1, int y) {
  x0 = std::max(x0, 0);
  x1 = std::min(x1, width_);
  if (y < 0 || y >= height_) return;
  std::uint64_t* bits = bits_.data() + static_cast<std::size_t>(y) * static_cast<std::size_t>(words_);
  for (int x = x0; x < x1;) {
    const int word = x >> 6, from = x & 63, to = std::min(64, x1 - word * 64);
    const std::uint64_t upto = to == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << to) - 1;
    bits[word] |= upto & ~((std::uint64_t{1} << from) - 1);
    x = word * 64 + to;
  }
}

int Cells::count() const {
  int n = 0;
  for (const std::uint64_t word : bits_) n += bits_of(word);
  return n;
}

int Cells::blocked(const Cells& other, int x, int y) const {
  const int word = x >> 6, shift = x & 63;
  for (int j = 0; j < other.height_; ++j) {
    const std::uint64_t* mine = row(y + j) + word;
    const std::uint64_t* theirs = other.row(j);
    std::uint64_t carry = 0;
    for (int i = 0; i <= other.words_; ++i) {
      const std::uint64_t here = i < other.words_ ? theirs[i] : 0;
      const std::uint64_t hit = (here << shift | carry) & (i < other.words_ || carry ? mine[i] : 0);
      carry = shift ? here >> (64 - shift) : 0;
      if (!hit) continue;
      // The run of its own cells that is in the way must pass the whole run of filled ones here.
      const int bit = 63 - __builtin_clzll(hit);
      const int met = (word + i) * 64 + bit;
      return run_end(row(y + j), words_, met) - run_begin(theirs, met - x) - x;
    }
  }
  return 0;
}

void Cells::add(const Cells& other, int x, int y) {
  for (int j = std::max(0, -y); j < other.height_ && y + j < height_; ++j)
    for (int i = 0; i < other.width_;) {
      if (!other.at(i, j)) {
        ++i;
        continue;
      }
      const int end = run_end(other.row(j), other.words_, i);
      fill(x + i, x + end, y + j);
      i = end;
    }
}

Cells Cells::turned() const {
  Cells result(height_, width_);
  for (int y = 0; y < height_; ++y)
    for (int x = 0; x < width_; ++x)
      if (at(x, y)) result.fill(height_ - 1 - y, height_ - y, x);
  return result;
}

Cells Cells::grown(double gap, int& margin) const {
  // Two cells k columns apart have k - 1 whole cells between them.
  margin = gap > 0 ? static_cast<int>(std::ceil(gap - hair)) : 0;
  Cells result(width_ + 2 * margin, height_ + 2 * margin);
  for (int dy = -margin; dy <= margin; ++dy) {
    const double between_y = std::max(0, std::abs(dy) - 1);
    int reach = 0;
    while (reach < margin && between_y * between_y + double(reach) * reach < (gap - hair) * (gap - hair)) ++reach;
    for (int y = 0; y < height_; ++y)
      for (int x = 0; x < width_;) {
        if (!at(x, y)) {
          ++x;
          continue;
        }
        const int end = run_end(row(y), words_, x);
        result.fill(x + margin - reach, end + margin + reach, y + margin + dy);
        x = end;
      }
  }
  return result;
}

Cells outline_cells(const Mesh& mesh, double pitch_mm) {
  const Box box = bounding_box(mesh);
  Cells cells(std::max(1, end_cell(2 * std::max(-box.low.x, box.high.x) / pitch_mm)),
              std::max(1, end_cell(2 * std::max(-box.low.y, box.high.y) / pitch_mm)));
  const Vec2 middle{cells.width() / 2.0, cells.height() / 2.0};
  for (const auto& t : mesh.triangles) {
    std::array<Vec2, 3> p{};
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 v = mesh.vertices[t[k]];
      p[k] = middle + (1 / pitch_mm) * Vec2{v.x, v.y};
    }
    // The faces that look up cover all that the part covers.
    if (cross(p[1] - p[0], p[2] - p[0]) <= 0) continue;
    const auto [low, high] = std::minmax({p[0].y, p[1].y, p[2].y});
    for (int y = first_cell(low); y < std::max(end_cell(high), first_cell(low) + 1); ++y) {
      double x0 = 1e300, x1 = -1e300;
      const auto reach = [&](double x) {
        x0 = std::min(x0, x);
        x1 = std::max(x1, x);
      };
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec2 a = p[k], b = p[(k + 1) % 3];
        if (a.y >= y && a.y <= y + 1) reach(a.x);
        for (const double edge : {double(y), y + 1.0})
          if ((a.y < edge && b.y > edge) || (b.y < edge && a.y > edge))
            reach(a.x + (edge - a.y) / (b.y - a.y) * (b.x - a.x));
      }
      if (x0 <= x1) cells.fill(first_cell(x0), std::max(end_cell(x1), first_cell(x0) + 1), y);
    }
  }
  return cells;
}

Cells box_cells(Vec2 size_mm, double pitch_mm) {
  Cells cells(std::max(1, end_cell(size_mm.x / pitch_mm)), std::max(1, end_cell(size_mm.y / pitch_mm)));
  for (int y = 0; y < cells.height(); ++y) cells.fill(0, cells.width(), y);
  return cells;
}

}  // namespace bedwright
