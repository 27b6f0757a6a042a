// What the scan readers share. Private to the survey.
#pragma once

#include <charconv>
#include <string>
#include <string_view>

#include "base/error.h"
#include "base/finite.h"
#include "survey/byte_source.h"
#include "survey/read_points.h"

namespace bedwright {

PointFile read_ply(ByteSource& in, const std::string& path);
PointFile read_obj(ByteSource& in, const std::string& path);
PointFile read_stl_points(ByteSource& in, const std::string& path);

[[noreturn]] inline void refuse_scan(const std::string& path, const std::string& where, const std::string& message,
                                     const std::string& hint = "it was cut short or damaged: export or copy it again") {
  throw BadInput(path, {{where, "", message, hint}});
}

/// The next word of a line; empty at its end.
inline std::string_view next_word(std::string_view& line) {
  std::size_t from = 0;
  while (from < line.size() && (line[from] == ' ' || line[from] == '\t' || line[from] == '\v' || line[from] == '\f'))
    ++from;
  std::size_t to = from;
  while (to < line.size() && line[to] != ' ' && line[to] != '\t' && line[to] != '\v' && line[to] != '\f') ++to;
  const std::string_view word = line.substr(from, to - from);
  line.remove_prefix(to);
  return word;
}

/// Scanners write nan for what they did not see: that is read, and skipped by the caller.
inline bool scan_number(std::string_view word, double& value) {
  if (!word.empty() && word[0] == '+') word.remove_prefix(1);
  const auto [end, status] = std::from_chars(word.data(), word.data() + word.size(), value);
  return status == std::errc() && end == word.data() + word.size() && !word.empty();
}

inline std::string line_name(const ByteSource& in) {
  return "line " + std::to_string(in.line_number());
}

/// x, y, z off the front of `rest`.
inline Vec3 scan_point(std::string_view rest, const ByteSource& in, const std::string& path) {
  double c[3];
  for (double& value : c) {
    const std::string_view word = next_word(rest);
    if (word.empty()) refuse_scan(path, line_name(in), "a point has fewer than three numbers");
    if (!scan_number(word, value))
      refuse_scan(path, line_name(in), "\"" + std::string(word.substr(0, 24)) + "\" is not a number",
                  word.find(',') != std::string_view::npos ? "decimal commas are not allowed in scans" : "");
  }
  return {c[0], c[1], c[2]};
}

[[noreturn]] inline void refuse_too_many(const std::string& path) {
  refuse_scan(path, "", "has more than 10 million points", "thin it to 5 million, or cut it to the sheet");
}

inline void keep_point(PointFile& file, Vec3 p, const std::string& path) {
  if (!is_finite(p)) {
    ++file.skipped;
    return;
  }
  if (file.points.size() == most_scan_points) refuse_too_many(path);
  file.points.push_back(p);
}

}  // namespace bedwright
