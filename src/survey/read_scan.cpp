#include <algorithm>
#include <cstring>
#include <tuple>

#include "survey/scan_text.h"

namespace bedwright {
namespace {

constexpr std::size_t stl_header = 84, stl_facet = 50;  // StereoLithography interface specification, 1989

std::string lower(std::string_view text) {
  std::string small(text);
  for (char& c : small)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return small;
}

bool ends_with(const std::string& text, const std::string& end) {
  return text.size() >= end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

std::uint32_t little32(const char* at) {
  unsigned char b[4];
  std::memcpy(b, at, 4);
  return b[0] | std::uint32_t{b[1]} << 8 | std::uint32_t{b[2]} << 16 | std::uint32_t{b[3]} << 24;
}

double float_at(const char* at) {
  const std::uint32_t bits = little32(at);
  float f;
  std::memcpy(&f, &bits, sizeof f);
  return static_cast<double>(f);
}

/// A corner shared by six facets is one point of the scan, not six.
void merge_equal(std::vector<Vec3>& points) {
  const auto less = [](Vec3 a, Vec3 b) { return std::tie(a.x, a.y, a.z) < std::tie(b.x, b.y, b.z); };
  std::sort(points.begin(), points.end(), less);
  points.erase(std::unique(points.begin(), points.end()), points.end());
}

PointFile binary_stl(ByteSource& in, std::uint64_t facets, const std::string& path) {
  PointFile file;
  if (facets > most_scan_points)
    refuse_scan(path, "", "has more than 10 million facets", "thin it, or cut it to the sheet");
  file.points.reserve(static_cast<std::size_t>(3 * facets));
  in.take(stl_header);
  for (std::uint64_t f = 0; f < facets; ++f) {
    const char* at = in.take(stl_facet);
    if (!at) refuse_scan(path, "facet " + std::to_string(f + 1), "the file ends here");
    for (int k = 0; k < 3; ++k) {
      const Vec3 p{float_at(at + 12 + 12 * k), float_at(at + 16 + 12 * k), float_at(at + 20 + 12 * k)};
      if (is_finite(p))
        file.points.push_back(p);
      else
        ++file.skipped;
    }
  }
  merge_equal(file.points);
  return file;
}

PointFile text_stl(ByteSource& in, const std::string& path) {
  PointFile file;
  std::string_view line;
  bool ended = false;
  while (in.line(line)) {
    std::string_view rest = line;
    const std::string word = lower(next_word(rest));
    if (word == "vertex") keep_point(file, scan_point(rest, in, path), path);
    ended = word == "endsolid" || (ended && word.empty());
    if (word.find('\0') != std::string::npos) refuse_scan(path, line_name(in), "not a text STL");
  }
  if (file.points.empty()) refuse_scan(path, "", "holds no facets", "export it again");
  if (!ended) refuse_scan(path, line_name(in), "the file ends before \"endsolid\"");
  merge_equal(file.points);
  return file;
}

}  // namespace

PointFile read_stl_points(ByteSource& in, const std::string& path) {
  const char* head = in.take(std::min<std::uint64_t>(in.size(), stl_header));
  if (!head || in.size() < 15) refuse_scan(path, "", "too short for an STL", "is it the right file?");
  std::uint64_t claimed = 0;
  if (in.size() >= stl_header) {
    claimed = little32(head + 80);
    if (in.size() == stl_header + stl_facet * claimed) {
      in.rewind();
      return binary_stl(in, claimed, path);
    }
  }
  const bool text = lower(std::string_view(head, 5)) == "solid" &&
                    std::string_view(head, std::min<std::uint64_t>(in.size(), 80)).find('\0') == std::string_view::npos;
  in.rewind();
  if (text) return text_stl(in, path);
  if (in.size() >= stl_header && claimed > (in.size() - stl_header) / stl_facet)
    refuse_scan(path, "",
                "claims " + std::to_string(claimed) + " facets, but the file ends in or before facet " +
                    std::to_string((in.size() - stl_header) / stl_facet + 1));
  refuse_scan(path, "", "is neither a binary nor a text STL", "is it the right file?");
}

PointFile read_obj(ByteSource& in, const std::string& path) {
  PointFile file;
  std::string_view line;
  while (in.line(line)) {
    if (line.size() < 2 || line[0] != 'v' || (line[1] != ' ' && line[1] != '\t')) {
      if (line.find('\0') != std::string_view::npos)
        refuse_scan(path, line_name(in), "not a text file", "is it an OBJ?");
      continue;
    }
    keep_point(file, scan_point(line.substr(1), in, path), path);
  }
  if (file.points.empty() && file.skipped == 0)
    refuse_scan(path, "", "holds no vertices (lines that begin with v)", "is it an OBJ?");
  return file;
}

PointFile read_scan(const std::string& path) {
  ByteSource in(path);
  if (in.size() == 0) refuse_scan(path, "", "the file is empty", "export it again");
  const char* head = in.take(std::min<std::uint64_t>(in.size(), 4));
  const bool ply =
      in.size() >= 4 && head[0] == 'p' && head[1] == 'l' && head[2] == 'y' && (head[3] == '\n' || head[3] == '\r');
  in.rewind();
  const std::string name = lower(path);
  if (ply) return read_ply(in, path);
  if (ends_with(name, ".obj")) return read_obj(in, path);
  if (ends_with(name, ".stl")) return read_stl_points(in, path);
  if (ends_with(name, ".ply")) refuse_scan(path, "", "does not begin with \"ply\"", "is it the right file?");
  if (ends_with(name, ".csv") || ends_with(name, ".txt") || ends_with(name, ".xyz"))
    refuse_scan(path, "", "is a table, not a scan", "give it as --points");
  refuse_scan(path, "", "is no scan this program reads", "export it as PLY, STL or OBJ");
}

}  // namespace bedwright
