#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/numbers.h"
#include "output/joint_table.h"
#include "output/report.h"
#include "output/steps.h"
#include "output/wrapped.h"
#include "output/wrong_ways_report.h"

namespace bedwright {
namespace {

constexpr std::size_t finding_indent = 9;

std::string joined(const std::vector<std::string>& items) {
  std::string text;
  for (const std::string& item : items) text += (text.empty() ? "" : ", ") + item;
  return text;
}

std::string checked(const PartReport& p) {
  const auto measured = std::count_if(p.dimensions.begin(), p.dimensions.end(),
                                      [](const MeasuredDimension& d) { return d.measured_mm.has_value(); });
  const auto good = std::count_if(p.dimensions.begin(), p.dimensions.end(),
                                  [](const MeasuredDimension& d) { return d.measured_mm && d.ok; });
  return fmt::format("{}/{}", good, measured);
}

std::string parts_table(const Report& r) {
  using Row = std::array<std::string, 9>;
  std::vector<Row> rows = {{"part", "hand", "pcs", "print size mm", "mass g", "facets", "dims ok", "code", "where"}};
  for (const PartReport& p : r.parts)
    rows.push_back({p.part.id, p.part.hand == Hand::none ? "-" : to_text(p.part.hand), std::to_string(p.part.quantity),
                    decimal(p.box_mm.x, 1) + " x " + decimal(p.box_mm.y, 1) + " x " + decimal(p.box_mm.z, 1),
                    decimal(p.mass_g, p.mass_g < 1 ? 2 : 1), std::to_string(p.triangles), checked(p), p.mating_code,
                    p.part.placements.empty() ? "anywhere" : joined(p.part.placements)});
  std::array<std::size_t, 9> widths{};
  for (const Row& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
  std::string text;
  for (const Row& row : rows) {
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
      const bool number = i == 2 || i == 4 || i == 5 || i == 6;
      text += number ? fmt::format("{:>{}}  ", row[i], widths[i]) : fmt::format("{:<{}}  ", row[i], widths[i]);
    }
    text += row.back() + "\n";
  }
  return text;
}

/// How the files fit the machine, in two lines; nothing for a kit without plates.
std::string fit_text(const Report& r) {
  std::string text;
  const SeatGap* widest = nullptr;
  double least = 0;
  for (const SeatGap& g : r.seat_gaps) {
    least = widest ? std::min(least, g.least_mm) : g.least_mm;
    if (!widest || g.greatest_mm > widest->greatest_mm) widest = &g;
  }
  if (widest)
    text += wrapped("Seats: ",
                    "measured in the files, from " + decimal(least, 3) + " to " + decimal(widest->greatest_mm, 3) +
                        " mm off the frame, most in " + widest->part + " at " + widest->placement + ".",
                    2);
  const HoleFloat* tightest = nullptr;
  for (const HoleFloat& f : r.floats)
    if (!f.part.empty() && (!tightest || f.left_mm < tightest->left_mm)) tightest = &f;
  if (tightest)
    text += wrapped("Holes: ",
                    "at least " + decimal(tightest->left_mm, 2) + " mm of play round a screw, least at " +
                        tightest->joint + " (" + decimal(tightest->hole_mm, 2) + " mm for " +
                        decimal(tightest->screw_mm, 1) + ").",
                    2);
  return text;
}

/// "2 x adapter-a, 1 x riser": what lies on one bed.
std::string bed_text(const Bed& bed) {
  std::string text;
  for (std::size_t i = 0; i < bed.items.size();) {
    std::size_t end = i;
    while (end < bed.items.size() && bed.items[end].part == bed.items[i].part) ++end;
    text += fmt::format("{}{} x {}", i > 0 ? ", " : "", end - i, bed.items[i].part);
    i = end;
  }
  return text;
}

std::string print_first_text(const PrintFirst& list) {
  if (list.parts.empty()) return "";
  std::string text = "\nBefore you dismantle: print first\n";
  for (const FirstPrint& p : list.parts)
    text += wrapped(fmt::format("{:>5}  {}: ", p.quantity + p.spares, p.part), p.why + ".", 7);
  text += "Keep until the machine has printed with its new parts\n";
  for (const OldPart& old : list.keep) text += wrapped("  " + old.what + ": ", old.why + ".", 4);
  return text;
}

std::string count_of(const Report& r, Severity severity) {
  const auto n =
      std::count_if(r.findings.begin(), r.findings.end(), [&](const Finding& f) { return f.severity == severity; });
  return fmt::format("{} {}{}", n, to_text(severity), n == 1 ? "" : "s");
}

}  // namespace

std::string findings_text(const std::vector<Finding>& findings) {
  std::string text;
  for (const Finding& f : findings) {
    const bool named = f.part.empty() || f.message.find(f.part) != std::string::npos;
    const std::string head = fmt::format("{:<8} {}: {}", to_text(f.severity), f.code, named ? "" : f.part + ": ");
    text += wrapped(head, f.message + ".", finding_indent);
    if (!f.remedy.empty()) text += wrapped(std::string(finding_indent, ' ') + "- ", f.remedy + ".", finding_indent + 2);
  }
  return text;
}

std::string to_text(const Report& r) {
  std::string text = r.kit + " revision " + r.revision + (r.title.empty() ? "" : ": " + r.title) + "\n\n";
  if (!r.parts.empty()) text += parts_table(r) + "\n";
  for (const PartReport& p : r.parts) text += wrapped(p.part.id + " ", p.pose.why + ".", 2);
  text += fit_text(r);
  if (!r.beds.empty()) text += "\nPrint beds\n";
  for (const BedReport& bed : r.beds)
    text += wrapped("  " + bed.file + (bed.bed.rank < 2 ? " (print first): " : ": "), bed_text(bed.bed) + ".", 4);
  text += print_first_text(r.print_first);
  if (!r.hardware.empty()) {
    text += "\nHardware\n";
    for (const HardwareLine& line : r.hardware)
      text += wrapped(fmt::format("{:>5}  {}{}, ", line.quantity, line.item,
                                  line.spares > 0 ? fmt::format(" (+{} spare)", line.spares) : ""),
                      line.purpose + (line.ask.empty() ? "" : ". Ask: " + line.ask), 7);
  }
  if (!r.joints.empty()) text += "\nScrews\n" + joint_table(r.joints) + wrapped("", length_note(r.joints), 0);
  for (const JointSolution& s : r.joints)
    if (s.joint.part.empty()) text += wrapped(s.joint.id + ": ", s.why + ".", 2);
  for (const ListedLine& line : wrong_ways_lines(r.wrong_ways)) text += wrapped(line.first, line.text, line.indent);
  if (!r.service.empty()) {
    text += "\nRun-in and service\n";
    for (const ServiceLine& line : r.service) text += wrapped("  " + line.when + ": ", line.what + ".", 4);
  }
  if (!r.notes.empty()) {
    text += "\nNotes in the kit\n";
    for (const Note& note : r.notes)
      text += wrapped("  " + (note.pointer.empty() ? "whole kit" : note.pointer) + ": ", note.text, 4);
  }
  text += fmt::format("\nFindings: {}, {}, {}\n", count_of(r, Severity::error), count_of(r, Severity::warning),
                      count_of(r, Severity::note));
  text += findings_text(r.findings);
  text += "\nCautions\n";
  for (const Caution& c : r.cautions)
    if (c.text != last_word) text += wrapped("  " + c.at + ": ", c.text, 4);
  return text + last_word + "\n";
}

}  // namespace bedwright
