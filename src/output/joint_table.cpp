#include "output/joint_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "base/numbers.h"
#include "joints/clamp.h"

namespace bedwright {
namespace {

using Row = std::array<std::string, 10>;

std::string range_text(double least, double greatest) {
  const std::string a = decimal(least, 2), b = decimal(greatest, 2);
  return a == b ? a : a + " to " + b;
}

std::string verdict(const JointSolution& s) {
  if (!s.ok) return "NO: " + s.why;
  std::string text = "ok";
  if (s.second_choice) text += ", second choice";
  if (!s.joint.behind.known && !s.joint.anchor.blind) text += ", LOOK BEHIND FIRST";
  return text;
}

Row row_of(const JointSolution& s) {
  const Clamp clamp = clamp_of(s.joint);
  return {s.joint.id,
          std::to_string(s.joint.count),
          s.joint.thread + (s.pick_mm ? "x" + decimal(*s.pick_mm, 1) : " none"),
          range_text(s.grip_least_mm, s.grip_greatest_mm),
          range_text(s.grip_rss_least_mm, s.grip_rss_greatest_mm),
          s.window_greatest_mm ? decimal(s.window_least_mm, 2) + " to " + decimal(*s.window_greatest_mm, 2)
                               : decimal(s.window_least_mm, 2) + " up",
          s.ok ? decimal(s.engagement_turns, 1) : "-",
          s.ok && s.tip_free_mm ? decimal(*s.tip_free_mm, 2) : "-",
          range_text(clamp.torque_least_nm, clamp.torque_greatest_nm),
          verdict(s)};
}

}  // namespace

std::string joint_table(const std::vector<JointSolution>& joints) {
  if (joints.empty()) return "";
  std::vector<Row> rows = {{"screw at", "pcs", "take", "grip mm", "likely (RSS)", "lengths mm", "turns", "tip free", "N.m", ""}};
  for (const JointSolution& s : joints) rows.push_back(row_of(s));
  std::array<std::size_t, 10> widths{};
  for (const Row& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
  std::string text;
  for (const Row& row : rows) {
    std::string line;
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
      const bool number = i == 1 || i == 6 || i == 7;
      line += number ? fmt::format("{:>{}}  ", row[i], widths[i]) : fmt::format("{:<{}}  ", row[i], widths[i]);
    }
    line += row.back();
    while (!line.empty() && line.back() == ' ') line.pop_back();
    text += line + "\n";
  }
  return text;
}

std::string length_note(const std::vector<JointSolution>& joints) {
  std::map<double, double> tolerances;
  bool counted = false;
  for (const JointSolution& s : joints) {
    if (s.pick_mm) tolerances[*s.pick_mm] = s.length_tolerance_mm;
    counted = counted || s.joint.rules.length_tolerance;
  }
  if (tolerances.empty()) return "";
  std::string text = "Lengths are nominal; a screw's own may differ (ISO 4762 grade A, js15; ";
  text += counted ? "counted above): " : "not counted above, see joint_rules): ";
  bool first = true;
  for (const auto& [length, tolerance] : tolerances) {
    text += (first ? "" : ", ") + decimal(length, 1) + " mm by " + decimal(tolerance, 2);
    first = false;
  }
  return text + ".";
}

}  // namespace bedwright
