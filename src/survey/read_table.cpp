#include <algorithm>

#include "base/delimited.h"
#include "survey/read_points.h"

namespace bedwright {
namespace {

/// "z_mm", "z [mm]", "z(mm)", "z" -> axis and unit.
bool column_of(const std::string& name, char& axis, std::string& unit) {
  if (name.empty() || name[0] < 'x' || name[0] > 'z') return false;
  std::string rest;
  for (std::size_t i = 1; i < name.size(); ++i)
    if (name[i] >= 'a' && name[i] <= 'z') rest += name[i];
  const char* units[] = {"mm", "cm", "m", "in", "ft"};
  const bool known = std::any_of(std::begin(units), std::end(units), [&](const char* u) { return rest == u; });
  if (!rest.empty() && !known && rest != "inch" && rest != "inches") return false;
  axis = name[0];
  unit = rest == "inch" || rest == "inches" ? "in" : rest;
  return true;
}

/// The first `axes` of x, y, z; the others stay 0.
PointFile read_axes(const std::string& text, const std::string& source, std::size_t axes) {
  const NumberTable table = read_number_table(text, source, axes);
  std::size_t at[3] = {0, 1, 2};
  PointFile file;
  bool named[3] = {};
  for (std::size_t i = 0; i < table.header.size(); ++i) {
    char axis = 0;
    std::string unit;
    if (!column_of(table.header[i], axis, unit)) continue;
    const auto k = static_cast<std::size_t>(axis - 'x');
    if (k >= axes) continue;
    if (named[k])
      throw BadInput(source,
                     {{"line 1", table.header[i], "two columns are called " + std::string(1, axis), "keep one"}});
    named[k] = true;
    at[k] = i;
    if (!unit.empty() && !file.unit.empty() && unit != file.unit)
      throw BadInput(
          source, {{"line 1", table.header[i], "the columns are in different units", "use one unit for all"}});
    if (!unit.empty()) file.unit = unit;
  }
  const auto count = std::count(named, named + axes, true);
  if (count != 0 && count != static_cast<std::ptrdiff_t>(axes))
    throw BadInput(source, {{"line 1", "", axes == 3 ? "the header names some of x, y and z, not all"
                                                     : "the header names one of x and y, not both",
                             axes == 3 ? "write x_mm,y_mm,z_mm" : "write x_mm,y_mm"}});
  const std::size_t needed = *std::max_element(at, at + axes) + 1;
  std::vector<Problem> problems;
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    const std::vector<double>& row = table.rows[i];
    if (row.size() < needed) {
      problems.push_back({"line " + std::to_string(table.lines[i]), "", axes == 3 ? "has too few columns for x, y and z" : "has too few columns for x and y", ""});
      if (problems.size() == 20) break;
      continue;
    }
    file.points.push_back({row[at[0]], row[at[1]], axes == 3 ? row[at[2]] : 0});
  }
  if (!problems.empty()) throw BadInput(source, problems);
  return file;
}

}  // namespace

PointFile points_of_table(const std::string& text, const std::string& source) {
  return read_axes(text, source, 3);
}

PointFile profile_of_table(const std::string& text, const std::string& source) {
  return read_axes(text, source, 2);
}

}  // namespace bedwright
