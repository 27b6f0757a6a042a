#include "survey/bed_map.h"

#include <algorithm>
#include <cmath>

#include "base/delimited.h"
#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr double same_place_mm = 0.01;
constexpr double least_bed_mm = 5;  ///< no bed is smaller: heights were read as places
constexpr std::size_t most_points = 250'000;

[[noreturn]] void refuse(const std::string& source, const std::string& place, const std::string& message,
                         const std::string& hint = "") {
  throw BadInput(source, {{place, "", message, hint}});
}

std::string line_text(int line) {
  return "line " + std::to_string(line);
}

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

bool is_comment(const std::string& line) {
  const std::size_t i = line.find_first_not_of(" \t\r");
  return i != std::string::npos && (line[i] == '#' || line[i] == ';' || line.compare(i, 2, "//") == 0);
}

std::vector<std::string> words_of(const std::string& line) {
  std::vector<std::string> words;
  std::string word;
  for (char c : line + " ") {
    if (!is_blank(c) && c != ',' && c != ';') {
      word += c;
    } else if (!word.empty()) {
      words.push_back(word);
      word.clear();
    }
  }
  return words;
}

/// x, y and z in any order, units allowed: "X (mm)".
bool names_columns(const std::vector<std::string>& header) {
  int seen = 0;
  for (const char* name : {"x", "y", "z"})
    for (const std::string& column : header)
      if (column == name || column.rfind(std::string(name) + "_", 0) == 0 ||
          column.rfind(std::string(name) + " ", 0) == 0) {
        ++seen;
        break;
      }
  return seen == 3;
}

/// A line without what a screen puts around its numbers: brackets, bars, quotes, labels ("Row 3:", "A"), commas at its
/// ends. Empty for a title.
std::string without_frame(std::string line) {
  for (char& c : line)
    if (c == '[' || c == ']' || c == '(' || c == ')' || c == '{' || c == '}' || c == '"' || c == '\'') c = ' ';
  const std::size_t label = line.find_last_of(":=");
  if (label != std::string::npos) line = line.substr(label + 1);
  // "0 | 0.1 0.2" has its label before the bar; "| 0.1 | 0.2 |" parts its numbers with bars.
  const auto bars = std::count(line.begin(), line.end(), '|');
  const std::size_t bar = line.find('|');
  if (bars == 1 && line.find_first_not_of(" \t\r", bar + 1) != std::string::npos) line = line.substr(bar + 1);
  std::replace(line.begin(), line.end(), '|', ' ');
  std::size_t first = 0, last = line.size();
  const auto trim = [&] {
    while (first < last && (is_blank(line[first]) || line[first] == ',')) ++first;
    while (last > first && (is_blank(line[last - 1]) || line[last - 1] == ',')) --last;
  };
  trim();
  // Words before the first number are a label; a word that stands for a missing number is not.
  while (first < last && is_letter(line[first])) {
    const std::size_t end = std::min(line.find_first_of(" \t,;", first), last);
    std::string word = line.substr(first, end - first);
    for (char& c : word) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (word == "nan" || word == "inf" || word == "infinity") break;
    first = end;
    trim();
  }
  return line.substr(first, last - first);
}

struct Lines {
  std::string text;             ///< cleaned, as many lines as before
  std::vector<bool> separates;  ///< by line number - 1: blank, or a title
  bool columns_named = false;
};

Lines cleaned(std::string text) {
  for (std::size_t i = 0; i < text.size(); ++i)
    if (text[i] == '\r') text[i] = i + 1 < text.size() && text[i + 1] == '\n' ? ' ' : '\n';
  Lines lines;
  bool before_numbers = true;
  for (std::size_t i = 0; i <= text.size();) {
    const std::size_t end = std::min(text.find('\n', i), text.size());
    std::string line = text.substr(i, end - i);
    if (i == 0 && line.compare(0, 3, "\xEF\xBB\xBF") == 0) line.erase(0, 3);
    i = end + 1;
    std::string kept;
    bool separates = false;
    if (!is_comment(line)) {
      std::vector<std::string> header = words_of(line);
      for (std::string& word : header)
        for (char& c : word) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
      if (before_numbers && names_columns(header)) {
        lines.columns_named = true;
        kept = line;
      } else {
        kept = without_frame(line);
        separates = kept.empty();
      }
      before_numbers = before_numbers && kept.empty();
    }
    lines.text += kept + "\n";
    lines.separates.push_back(separates);
  }
  return lines;
}

std::size_t column_named(const std::vector<std::string>& header, char name, std::size_t otherwise) {
  for (std::size_t i = 0; i < header.size(); ++i)
    if (!header[i].empty() && header[i][0] == name &&
        (header[i].size() == 1 || !is_letter(header[i][1]) || header[i][1] == '_'))
      return i;
  return otherwise;
}

/// By place, so that the rows may come in any order.
struct Reading {
  Vec2 at;
  double z;
  int line;
};

BedMap gathered(const std::string& source, std::vector<Reading> readings) {
  if (readings.size() > most_points)
    refuse(source, "", "more than " + std::to_string(most_points) + " points", "thin the map out");
  std::stable_sort(readings.begin(), readings.end(), [](const Reading& a, const Reading& b) {
    return a.at.y != b.at.y ? a.at.y < b.at.y : a.at.x < b.at.x;
  });
  BedMap map;
  map.source = source;
  std::vector<int> first_lines;
  std::vector<std::vector<double>> by_point;
  for (const Reading& r : readings) {
    if (!map.at.empty() && length(map.at.back() - r.at) < same_place_mm) {
      by_point.back().push_back(r.z);
      continue;
    }
    map.at.push_back(r.at);
    by_point.push_back({r.z});
    first_lines.push_back(r.line);
  }
  for (std::size_t i = 0; i < map.at.size(); ++i)
    if (by_point[i].size() != by_point[0].size())
      refuse(source, line_text(first_lines[i]),
             "the point " + decimal(map.at[i].x, 3) + ", " + decimal(map.at[i].y, 3) + " was read " +
                 std::to_string(by_point[i].size()) + " times, others " + std::to_string(by_point[0].size()) + " times",
             "every repeat must have all points");
  for (std::size_t k = 0; k < by_point[0].size(); ++k) {
    map.repeats.emplace_back();
    for (const auto& z : by_point) map.repeats.back().push_back(z[k]);
  }
  return map;
}

BedMap points_of(const NumberTable& table, const std::string& source) {
  const std::size_t x = column_named(table.header, 'x', 0), y = column_named(table.header, 'y', 1),
                    z = column_named(table.header, 'z', 2);
  std::vector<Reading> readings;
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    const auto& row = table.rows[i];
    if (std::max({x, y, z}) >= row.size()) refuse(source, line_text(table.lines[i]), "has no column for z");
    readings.push_back({{row[x], row[y]}, row[z], table.lines[i]});
  }
  return gathered(source, std::move(readings));
}

bool counts_up_or_down(const std::vector<double>& v) {
  for (std::size_t i = 0; i < v.size(); ++i)
    if (v[i] != std::floor(v[i]) || (i > 0 && std::fabs(v[i] - v[i - 1]) != 1) ||
        (i > 1 && v[i] - v[i - 1] != v[1] - v[0]))
      return false;
  return v.size() >= 2 && (v.front() == 0 || v.front() == 1 || v.back() == 0 || v.back() == 1);
}

using Rows = std::vector<std::vector<double>>;

/// Takes away a line of column numbers above and a column of row numbers beside a block.
void drop_labels(Rows& rows, std::vector<int>& lines) {
  // Heights have decimals somewhere; a grid of whole numbers keeps all of them.
  bool whole = true;
  for (std::size_t j = 1; j < rows.size(); ++j)
    for (std::size_t i = 1; i < rows[j].size(); ++i) whole = whole && rows[j][i] == std::floor(rows[j][i]);
  if (whole) return;
  if (rows.size() >= 3 && counts_up_or_down(rows[0]) && !counts_up_or_down(rows[1]) &&
      (rows[0].size() == rows[1].size() || rows[0].size() + 1 == rows[1].size())) {
    rows.erase(rows.begin());
    lines.erase(lines.begin());
  }
  std::vector<double> first;
  for (const auto& row : rows) first.push_back(row.front());
  if (rows.size() >= 2 && rows[0].size() >= 3 && counts_up_or_down(first))
    for (auto& row : rows) row.erase(row.begin());
}

void add_block(Rows rows, std::vector<int> lines, const GridExtent& extent, const std::string& source,
               std::vector<Reading>& readings) {
  if (rows.empty()) return;
  drop_labels(rows, lines);
  for (std::size_t j = 0; j < rows.size(); ++j)
    if (rows[j].size() != rows[0].size())
      refuse(source, line_text(lines[j]),
             "this row of the grid has " + std::to_string(rows[j].size()) + " numbers, the first one has " +
                 std::to_string(rows[0].size()),
             "a grid needs a number at every place");
  if (rows.size() < 2 || rows[0].size() < 2)
    refuse(source, line_text(lines[0]), "a grid needs two rows and two columns at least",
           "parts of one grid may not be parted by empty lines");
  const Vec2 span = extent.last - extent.first;
  for (std::size_t j = 0; j < rows.size(); ++j)
    for (std::size_t i = 0; i < rows[j].size(); ++i) {
      const double u = static_cast<double>(i) / static_cast<double>(rows[j].size() - 1);
      const double v = static_cast<double>(j) / static_cast<double>(rows.size() - 1);
      readings.push_back({{extent.first.x + u * span.x, extent.first.y + v * span.y}, rows[j][i], lines[j]});
    }
}

BedMap grid_of(const NumberTable& table, const Lines& text, const GridExtent& extent, const std::string& source) {
  std::vector<Reading> readings;
  Rows rows;
  std::vector<int> lines;
  for (std::size_t k = 0; k < table.rows.size(); ++k) {
    bool parted = false;
    for (int line = lines.empty() ? table.lines[k] : lines.back() + 1; line < table.lines[k]; ++line)
      parted = parted || text.separates[static_cast<std::size_t>(line - 1)];
    if (parted) {
      add_block(rows, lines, extent, source, readings);
      rows.clear();
      lines.clear();
    }
    rows.push_back(table.rows[k]);
    lines.push_back(table.lines[k]);
  }
  add_block(rows, lines, extent, source, readings);
  return gathered(source, std::move(readings));
}

Vec2 quarters(Vec2 p, int n) {
  for (n = ((n % 4) + 4) % 4; n > 0; --n) p = {-p.y, p.x};
  return p;
}

double mean_of(const std::vector<double>& z) {
  double sum = 0;
  for (double v : z) sum += v;
  return sum / static_cast<double>(z.size());
}

}  // namespace

BedMap read_bed_map(const std::string& text, const std::string& source, const std::optional<GridExtent>& extent) {
  if (text.size() > largest_table_bytes) refuse(source, "", "is larger than 64 MiB");
  const Lines lines = cleaned(text);
  const bool grid = extent && !lines.columns_named;
  const NumberTable table = read_number_table(lines.text, source, grid ? 1 : 0);
  if (grid) {
    if (extent->first.x == extent->last.x || extent->first.y == extent->last.y)
      throw BadUsage("--extent: the first and the last point must differ in x and in y");
    return grid_of(table, lines, *extent, source);
  }
  for (std::size_t i = 0; i < table.rows.size(); ++i)
    if (!lines.columns_named && table.rows[i].size() != 3)
      refuse(source, line_text(table.lines[i]),
             std::to_string(table.rows[i].size()) + " numbers stand here, not x, y and z",
             "for a grid of heights say where it was taken: --extent X0,Y0,X1,Y1 are the places of its first and its "
             "last number");
  BedMap map = points_of(table, source);
  const Vec2 size = box_size(map.at);
  if (!lines.columns_named && std::max(size.x, size.y) < least_bed_mm)
    refuse(source, line_text(table.lines[0]),
           "as x, y, z all points lie within " + decimal(std::max(size.x, size.y), 3) + " mm of each other",
           "if this is a grid of heights, say where it was taken: --extent X0,Y0,X1,Y1; if its x, y, z are in other "
           "units, write millimetres");
  return map;
}

BedMap together(const std::vector<BedMap>& maps) {
  BedMap all = maps.at(0);
  for (std::size_t k = 1; k < maps.size(); ++k) {
    const BedMap& m = maps[k];
    bool same = m.at.size() == all.at.size();
    for (std::size_t i = 0; same && i < m.at.size(); ++i) same = length(m.at[i] - all.at[i]) < same_place_mm;
    if (!same)
      refuse(m.source, "", "its points are not those of " + all.source,
             "repeats must be taken at the same points; level one map at a time");
    all.repeats.insert(all.repeats.end(), m.repeats.begin(), m.repeats.end());
  }
  return all;
}

Vec2 box_middle(const std::vector<Vec2>& points) {
  Vec2 low = points.at(0), high = low;
  for (Vec2 p : points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  return 0.5 * (low + high);
}

Vec2 box_size(const std::vector<Vec2>& points) {
  const Vec2 middle = box_middle(points);
  Vec2 half;
  for (Vec2 p : points) half = {std::max(half.x, p.x - middle.x), std::max(half.y, p.y - middle.y)};
  return 2.0 * half;
}

Vec2 machine_offset(const MapConvention& c, Vec2 offset) {
  const Vec2 p = quarters(offset, -c.quarter_turns);
  return c.mirrored ? Vec2{-p.x, p.y} : p;
}

Vec2 map_offset(const MapConvention& c, Vec2 offset) {
  return quarters(c.mirrored ? Vec2{-offset.x, offset.y} : offset, c.quarter_turns);
}

HeightMap in_machine_frame(const BedMap& map, const MapConvention& convention) {
  HeightMap out;
  out.repeats = static_cast<int>(map.repeats.size());
  const Vec2 middle = box_middle(map.at);
  const double sign = convention.positive_high ? 1 : -1;
  std::vector<double> means;
  for (const auto& repeat : map.repeats) means.push_back(mean_of(repeat));
  const double all = mean_of(means);
  double squares = 0;
  for (std::size_t i = 0; i < map.at.size(); ++i) {
    out.at.push_back(convention.centre_mm + machine_offset(convention, map.at[i] - middle));
    double sum = 0;
    for (const auto& repeat : map.repeats) sum += repeat[i];
    const double mean = sum / out.repeats;
    out.z.push_back(sign * mean);
    for (std::size_t r = 0; r < means.size(); ++r) {
      const double left = map.repeats[r][i] - mean - (means[r] - all);
      squares += left * left;
    }
  }
  if (out.repeats > 1 && map.at.size() > 1)
    out.noise_mm = std::sqrt(squares / (static_cast<double>(map.at.size() - 1) * (out.repeats - 1)));
  out.drift_mm = range_of(means);
  return out;
}

double range_of(const std::vector<double>& z) {
  const auto [low, high] = std::minmax_element(z.begin(), z.end());
  return *high - *low;
}

double rms_of(const std::vector<double>& z) {
  const double mean = mean_of(z);
  double squares = 0;
  for (double v : z) squares += (v - mean) * (v - mean);
  return std::sqrt(squares / static_cast<double>(z.size()));
}

}  // namespace bedwright
