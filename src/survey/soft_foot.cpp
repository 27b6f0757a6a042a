#include "survey/soft_foot.h"

#include <algorithm>
#include <cmath>

#include "base/delimited.h"
#include "base/error.h"
#include "base/trig.h"

namespace bedwright {
namespace {

constexpr double widest_mm = 20;

std::string known(const std::vector<std::string>& mounts) {
  std::string text;
  for (const std::string& m : mounts) text += (text.empty() ? "" : ", ") + m;
  return text;
}

}  // namespace

std::vector<FootGap> read_soft_foot(const std::string& text, const std::string& source,
                                    const std::vector<std::string>& mounts) {
  // The mount's name is kept aside and a number put in its place; then it is a table as any other.
  std::string numbers;
  std::vector<std::string> names;
  std::vector<Problem> problems;
  bool first = true;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t end = std::min(text.find('\n', i), text.size());
    std::string line = text.substr(i, end - i);
    i = end + 1;
    if (names.empty() && line.compare(0, 3, "\xEF\xBB\xBF") == 0) line.erase(0, 3);
    names.emplace_back();
    const std::size_t start = line.find_first_not_of(" \t\r\"");
    const bool comment = start == std::string::npos || line[start] == '#' || line[start] == ';' || line[start] == '/';
    const std::size_t stop = comment ? 0 : std::min(line.find_first_of(" \t\r\",;:", start), line.size());
    const std::string name = comment ? "" : line.substr(start, stop - start);
    if (!comment && std::find(mounts.begin(), mounts.end(), name) != mounts.end()) {
      names.back() = name;
      const std::size_t rest = line.find_first_not_of("\":", stop);
      numbers += "0" + (rest == std::string::npos ? "" : line.substr(rest));
    } else if (!comment && !(first && name == "mount")) {
      problems.push_back({"line " + std::to_string(names.size()), name, "`" + name + "` is no mount of this kit",
                          "its mounts are " + known(mounts)});
    }
    first = first && comment;
    numbers += "\n";
  }
  if (!problems.empty()) throw BadInput(source, std::move(problems));
  const NumberTable table = read_number_table(numbers, source, 2);
  std::vector<FootGap> gaps;
  std::vector<int> counts;
  for (std::size_t k = 0; k < table.rows.size(); ++k) {
    const std::vector<double> row(table.rows[k].begin() + 1, table.rows[k].end());
    const std::string place = "line " + std::to_string(table.lines[k]);
    if (row.size() != 1 && row.size() != 4)
      throw BadInput(source, {{place, "", "a mount has one gap, or four: front, rear, left, right", ""}});
    for (double gap : row)
      if (gap < 0 || gap > widest_mm)
        throw BadInput(source, {{place, "", "a gap is from 0 to 20 mm", "feeler readings are in millimetres"}});
    FootGap g{
        names[static_cast<std::size_t>(table.lines[k] - 1)], row[0], row.back(), row[0], row.back(), row.size() == 4};
    if (g.four_sides) {
      g.rear = row[1];
      g.left = row[2];
      g.right = row[3];
    }
    auto same = std::find_if(gaps.begin(), gaps.end(), [&](const FootGap& o) { return o.mount == g.mount; });
    if (same == gaps.end()) {
      gaps.push_back(g);
      counts.push_back(1);
      continue;
    }
    const auto at = static_cast<std::size_t>(same - gaps.begin());
    const double n = counts[at]++;
    const auto mix = [n](double old, double more) { return (old * n + more) / (n + 1); };
    *same = {g.mount,
             mix(same->front, g.front),
             mix(same->rear, g.rear),
             mix(same->left, g.left),
             mix(same->right, g.right),
             same->four_sides || g.four_sides};
  }
  return gaps;
}

std::vector<FootAdvice> judge_soft_foot(const std::vector<FootGap>& gaps, double pad_mm) {
  std::vector<FootAdvice> list;
  for (const FootGap& g : gaps) {
    FootAdvice a;
    a.mount = g.mount;
    a.gap_mm = (g.front + g.rear + g.left + g.right) / 4;
    const auto [low, high] = std::minmax({g.front, g.rear, g.left, g.right});
    a.difference_mm = high - low;
    a.soft = high > soft_foot_limit_mm + 1e-9;
    a.tapered = a.soft && a.difference_mm > soft_foot_limit_mm + 1e-9;
    if (a.tapered) {
      const double x = (g.right - g.left) / pad_mm, y = (g.rear - g.front) / pad_mm;
      a.taper_um_per_mm = 1000 * std::sqrt(x * x + y * y);
      a.taper_toward_deg = atan2_rad(y, x) / rad_per_deg;
    }
    list.push_back(a);
  }
  std::stable_sort(list.begin(), list.end(),
                   [](const FootAdvice& a, const FootAdvice& b) { return a.gap_mm > b.gap_mm; });
  return list;
}

}  // namespace bedwright
