#include "kit/measured_points.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/delimited.h"
#include "base/numbers.h"
#include "kit/view.h"

namespace bedwright {
namespace {

constexpr const char* pointer = "/frame/dome/points";
constexpr std::size_t most_told = 20;
// A patch of points smaller than this share of the carriages' distance is in another unit, or of another thing.
constexpr double least_patch_share = 0.3;
// Sides that a patch of points on a bed frame has, for guessing at its unit (common practice, no source).
constexpr double small_patch_mm = 60, large_patch_mm = 900;

std::string at_line(const std::string& file, int line) {
  return file + " line " + std::to_string(line) + ": ";
}

struct Columns {
  std::size_t x = 0, y = 1, z = 2;
};

std::string unit_words(const std::string& unit) {
  return unit == "cm" ? "centimetres" : unit == "m" ? "metres" : unit == "um" ? "micrometres" : "inches";
}

/// By the header where each of x, y and z begins one name; "in", "m" and "cm" in a name are another unit.
std::optional<Columns> columns_of(const NumberTable& table, const std::string& file, std::vector<Problem>& problems) {
  Columns c;
  if (table.header.empty()) return c;
  const auto find = [&](char axis) {
    for (std::size_t i = 0; i < table.header.size(); ++i)
      if (!table.header[i].empty() && table.header[i][0] == axis &&
          (table.header[i].size() == 1 || !std::isalpha(static_cast<unsigned char>(table.header[i][1]))))
        return i;
    return table.header.size();
  };
  const std::size_t none = table.header.size(), x = find('x'), y = find('y'), z = find('z');
  for (const std::string& name : table.header) {
    const std::size_t cut = name.find_last_of("_ ([");
    const std::string unit =
        cut == std::string::npos ? "" : name.substr(cut + 1, name.find_first_of(")]", cut) - cut - 1);
    if (unit != "in" && unit != "inch" && unit != "cm" && unit != "m" && unit != "um") continue;
    problems.push_back({pointer, file,
                        "the column \"" + name + "\" is in " + unit_words(unit) + "; heights and places are millimetres",
                        "turn the numbers into millimetres and name the columns x_mm,y_mm,z_mm"});
    return std::nullopt;
  }
  if (x < none && y < none && z < none) return Columns{x, y, z};
  if (x < none || y < none || z < none) {
    problems.push_back({pointer, file, "the header does not name all of x, y and z", "write x_mm,y_mm,z_mm"});
    return std::nullopt;
  }
  return c;
}

std::string unit_guess(double side) {
  const struct {
    double factor;
    const char* name;
  } units[] = {{1000, "metres"}, {25.4, "inches"}, {10, "centimetres"}};
  for (const auto& u : units)
    if (side * u.factor >= small_patch_mm && side * u.factor <= large_patch_mm)
      return std::string("are they ") + u.name + "? The file holds millimetres";
  return "measure over all of the plates, from the centre of the four carriages";
}

}  // namespace

std::string points_file_of(const Json& document, const std::vector<Problem>& problems) {
  const View view(document, problems);
  if (view.text("/frame/dome/shape") != "measured") return "";
  return view.text(pointer).value_or("");
}

std::string points_bytes(const Beside& beside, const std::string& file, std::vector<Problem>& problems) {
  return bytes_beside(beside, file, largest_table_bytes, pointer,
                      "name a CSV file, x_mm,y_mm,z_mm, of " + std::to_string(most_measured_points) + " points at most",
                      problems);
}

std::vector<Vec3> measured_points(const std::string& file, const std::string& text, const Json& document,
                                  std::vector<Problem>& problems) {
  NumberTable table;
  try {
    table = read_number_table(text, file, 3);
  } catch (const BadInput& e) {
    for (const Problem& p : e.problems)
      problems.push_back(
          {pointer, p.value, file + (p.pointer.empty() ? "" : " " + p.pointer) + ": " + p.message, p.hint});
    return {};
  }
  const std::optional<Columns> columns = columns_of(table, file, problems);
  if (!columns) return {};
  std::vector<Vec3> points;
  std::size_t bad = 0;
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    const std::vector<double>& row = table.rows[i];
    const Vec3 p{row[columns->x], row[columns->y], row[columns->z]};
    const bool far = std::max(std::fabs(p.x), std::fabs(p.y)) > farthest_point_mm,
               tall = std::fabs(p.z) > highest_point_mm;
    if ((far || tall) && ++bad <= most_told) {
      const double value = tall ? p.z : std::fabs(p.x) > std::fabs(p.y) ? p.x : p.y;
      const double limit = tall ? highest_point_mm : farthest_point_mm;
      problems.push_back({pointer, decimal(value, 3),
                          at_line(file, table.lines[i]) + (tall ? "the height " : "the place ") + decimal(value, 3) +
                              " is outside -" + decimal(limit, 0) + " to " + decimal(limit, 0) + " mm",
                          tall ? "heights are counted from a plane near the sheet, parallel to the rails"
                               : "places are counted from the centre of the four carriages, in millimetres"});
    }
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    points.push_back(p);
  }
  if (bad > most_told)
    problems.push_back({pointer, file, "and " + std::to_string(bad - most_told) + " more points out of range", ""});
  if (bad > 0) return {};
  if (points.size() < least_measured_points || points.size() > most_measured_points) {
    problems.push_back({pointer, file,
                        std::to_string(points.size()) + " points; a surface takes " +
                            std::to_string(least_measured_points) + " to " + std::to_string(most_measured_points),
                        points.size() < least_measured_points ? "measure a grid of at least 3 by 3, better 5 by 5"
                                                              : "thin the points out"});
    return {};
  }
  const View view(document, problems);
  const double wanted =
      std::max(view.number("/rails/pitch_mm").value_or(0), view.number("/carriages/spacing_mm").value_or(0));
  const double side = std::max(high.x - low.x, high.y - low.y);
  if (side < least_patch_share * wanted) {
    problems.push_back({pointer, file,
                        "the points span " + decimal(high.x - low.x, 3) + " by " + decimal(high.y - low.y, 3) +
                            " mm, far less than the carriages stand apart",
                        unit_guess(side)});
    return {};
  }
  return points;
}

}  // namespace bedwright
