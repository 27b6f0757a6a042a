#include "survey/large_scan.h"

#include <algorithm>
#include <cstring>
#include <fstream>

#include "base/error.h"
#include "survey/read_points.h"
#include "survey/scan_text.h"

namespace bedwright {
namespace {

// Of a run, so that its bytes and points stay in a near cache, however much else a vertex carries.
constexpr std::size_t most_run_vertices = 4096, most_run_bytes = std::size_t{1} << 18;
constexpr std::size_t chosen = 5 * most_single_points;

/// Vertices [first, last) run after run: what is not finite left out.
class Runs {
 public:
  Runs(const LargeScan& scan, std::uint64_t first, std::uint64_t last)
      : scan_(scan),
        left_(last - first),
        points_(std::clamp<std::size_t>(most_run_bytes / scan.vertices.stride, 1, most_run_vertices)),
        bytes_(points_.size() * scan.vertices.stride) {
    in_.rdbuf()->pubsetbuf(nullptr, 0);  // read in whole runs: nothing to gain by another copy
    in_.open(scan.path, std::ios::binary);
    in_.seekg(static_cast<std::streamoff>(scan.vertices.begins + first * scan.vertices.stride));
    if (!in_) throw FileError(scan.path, "cannot read");
  }

  /// The next run, or nothing at the end; `skipped` grows by those left out.
  Vec3* next(std::size_t& count, std::size_t& skipped) {
    if (left_ == 0) return nullptr;
    const auto some = static_cast<std::size_t>(std::min<std::uint64_t>(points_.size(), left_));
    in_.read(bytes_.data(), static_cast<std::streamsize>(some * scan_.vertices.stride));
    if (!in_) throw FileError(scan_.path, "was changed or cut short while it was read");
    left_ -= some;
    count = some;
    if (!decode(scan_.vertices, bytes_.data(), some, points_.data())) {
      const auto end = points_.begin() + static_cast<std::ptrdiff_t>(some);
      count = static_cast<std::size_t>(std::remove_if(points_.begin(), end, [](Vec3 p) { return !is_finite(p); }) -
                                       points_.begin());
      skipped += some - count;
    }
    return points_.data();
  }

 private:
  const LargeScan& scan_;
  std::uint64_t left_;
  std::ifstream in_;
  std::vector<Vec3> points_;
  std::vector<char> bytes_;
};

std::uint64_t first_of(std::size_t piece) {
  return std::uint64_t{piece} * points_a_piece;
}
std::uint64_t last_of(std::size_t piece, const PlyVertices& v) {
  return std::min(v.count, first_of(piece) + points_a_piece);
}

/// A number without pattern for every number. Source: G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom
/// number generators, OOPSLA 2014 (its 64-bit finaliser).
std::uint64_t scattered(std::uint64_t n) {
  n += 0x9E3779B97F4A7C15ull;
  n = (n ^ (n >> 30)) * 0xBF58476D1CE4E5B9ull;
  n = (n ^ (n >> 27)) * 0x94D049BB133111EBull;
  return n ^ (n >> 31);
}

/// What the first look finds of one piece.
struct Found {
  std::size_t finite = 0, skipped = 0, count = 0;
  std::vector<Vec3> some_in_file, some;
};

Found look_at(const LargeScan& scan, std::size_t piece, std::uint64_t stride) {
  Found found;
  Runs runs(scan, first_of(piece), last_of(piece, scan.vertices));
  // One at random out of each `stride` finite points of the piece: scan lines cannot fall into step with it.
  std::uint64_t draw = 0;
  const auto place = [&] { return draw * stride + scattered(first_of(piece) + draw) % stride; };
  std::uint64_t next = place();
  std::size_t n = 0;
  while (const Vec3* points = runs.next(n, found.skipped)) {
    for (; next < found.finite + n; ++draw, next = place())
      if (next >= found.finite) found.some_in_file.push_back(points[next - found.finite]);
    found.finite += n;
    found.count += scan.region ? count_in(points, n, *scan.region) : n;
  }
  found.some = found.some_in_file;
  if (scan.region) crop(found.some, *scan.region);
  return found;
}

}  // namespace

std::optional<LargeScan> look_through(const std::string& path, const std::optional<Region>& region,
                                      const AtOnce& at_once) {
  LargeScan scan;
  {
    ByteSource in(path);
    const char* head = in.size() < 4 ? nullptr : in.take(4);
    if (!head || std::memcmp(head, "ply", 3) != 0) return std::nullopt;
    in.rewind();
    const std::optional<PlyVertices> vertices = plain_vertices(in, path);
    if (!vertices || vertices->count <= chosen) return std::nullopt;
    scan.vertices = *vertices;
  }
  scan.path = path;
  scan.region = region;
  const std::uint64_t stride = scan.vertices.count / chosen;
  std::vector<Found> pieces(pieces_of_cloud(scan.vertices.count));
  each_at_once(at_once, pieces.size(), [&](std::size_t k) { pieces[k] = look_at(scan, k, stride); });
  std::size_t in_file = 0, some = 0;
  for (const Found& f : pieces) in_file += f.some_in_file.size(), some += f.some.size();
  scan.some_in_file.reserve(in_file);
  scan.some.reserve(some);
  for (const Found& f : pieces) {
    scan.in_file += f.finite;
    scan.skipped += f.skipped;
    scan.count += f.count;
    scan.some_in_file.insert(scan.some_in_file.end(), f.some_in_file.begin(), f.some_in_file.end());
    scan.some.insert(scan.some.end(), f.some.begin(), f.some.end());
  }
  if (scan.in_file > most_scan_points) refuse_too_many(path);
  if (scan.some.size() <= most_single_points) return std::nullopt;
  return scan;
}

Cloud cloud_of(const LargeScan& scan) {
  Cloud cloud;
  cloud.count = scan.count;
  cloud.some = &scan.some;
  cloud.pieces = pieces_of_cloud(scan.vertices.count);
  cloud.give = [&scan](std::size_t piece, const Cloud::Run& take) {
    Runs runs(scan, first_of(piece), last_of(piece, scan.vertices));
    std::size_t n = 0, skipped = 0;
    while (Vec3* points = runs.next(n, skipped)) take(points, scan.region ? crop(points, n, *scan.region) : n);
  };
  return cloud;
}

}  // namespace bedwright
