#include "output/calibrate_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/csv.h"
#include "base/delimited.h"
#include "base/numbers.h"
#include "output/wrapped.h"
#include "survey/distribution.h"

namespace bedwright {
namespace {

constexpr const char *printed_with = "printed-with", *slicing = "slicing-program", *own_correction = "own correction";
// No printer that works misses by more; common practice, no source.
constexpr double farthest_off_mm = 2;
constexpr double inch_mm = 25.4;
constexpr double least_scale = 5e-5;  // what rounds to nothing: 0.005 mm over 100
constexpr double covered = 0.05;  // 95 % intervals

std::string lower(std::string text) {
  for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return text;
}

struct Columns {
  std::size_t feature = 0, quantity = 0;
  std::vector<std::size_t> found;
};

Columns columns_of(const TextTable& table, const std::string& source) {
  Columns c;
  const std::size_t none = table.header.size();
  c.feature = c.quantity = none;
  for (std::size_t i = 0; i < none; ++i) {
    const std::string name = lower(table.header[i]);
    if (name == "feature") c.feature = i;
    if (name == "quantity") c.quantity = i;
    if (name.rfind("found", 0) == 0) c.found.push_back(i);
  }
  if (c.feature == none || c.quantity == none || c.found.empty())
    throw BadInput(source, {{"line 1", "", "must name the columns feature, quantity and at least one found_mm",
                             "`bedwright calibrate KIT.json --sheet coupon.csv` writes a table to fill in"}});
  return c;
}

double interval(const CouponEstimate& e, int freedom) {
  return freedom > 0 ? student_quantile(covered, freedom) * e.u : 0;
}

std::string plus_minus(const CouponEstimate& e, int freedom, double factor, int decimals) {
  return freedom > 0 ? "+-" + decimal(factor * interval(e, freedom), decimals) : "not known";
}

std::string with_sign(double value, int decimals) {
  const std::string text = decimal(value, decimals);
  return value > 0 && text != "0" ? "+" + text : text;
}

std::string scale_text(const char* axis, const std::optional<CouponEstimate>& e, int freedom) {
  if (!e) return std::string("  ") + axis + ": not measured\n";
  const double reach = interval(*e, freedom);
  std::string text = std::string("  ") + axis + ": " + with_sign(100 * e->value, 2) + " % (" +
                     plus_minus(*e, freedom, 100, 2) + ")";
  if (freedom > 0 && std::fabs(e->value) <= std::max(reach, least_scale)) return text + ", none that could be told\n";
  return text + ": multiply the printer's steps a millimetre by " + decimal(1 / (1 + e->value), 5) + "\n";
}

Json estimate_json(const std::optional<CouponEstimate>& e, int freedom) {
  if (!e) return nullptr;
  return {{"value", rounded_6(e->value)},
          {"u", freedom > 0 ? Json(rounded_6(e->u)) : Json(nullptr)},
          {"rows", e->rows},
          {"freedom", freedom}};
}

Json compensation_json(const Compensation& c) {
  return {{"hole_mm", rounded_length(c.hole_mm)},
          {"outline_mm", rounded_length(c.outline_mm)},
          {"height_mm", rounded_length(c.height_mm)}};
}

}  // namespace

std::string coupon_sheet(const Kit& kit, const PartRequest& coupon, const std::vector<CouponSize>& sizes) {
  const Compensation& c = kit.printer.compensation;
  std::string text = "# Fit coupon " + coupon.id + " of " + kit.name + " revision " + kit.revision +
                     ". Measure it cold, in this order; twice if you can. Leave out what you cannot reach.\n"
                     "# x and y are the coupon's, from its middle: x along its long side, letters upright. Millimetres.\n"
                     "feature,quantity,drawn_mm,found_1_mm,found_2_mm,how\n";
  const auto row = [&](const std::string& feature, const std::string& quantity, const std::string& drawn,
                       const std::string& found, const std::string& how) {
    text += feature + "," + quantity + "," + drawn + "," + found + ",," + csv_cell(how) + "\n";
  };
  const std::string made = "what the kit added when this coupon's file was made";
  row(printed_with, "hole", "", decimal(c.hole_mm, 4), made);
  row(printed_with, "outline", "", decimal(c.outline_mm, 4), made);
  row(printed_with, "height", "", decimal(c.height_mm, 4), made);
  row(slicing, own_correction, "", "",
      "what the slicing program added to holes or outlines, or took off the first layer: must be 0");
  for (const CouponSize& s : sizes) row(s.feature, s.quantity, decimal(s.nominal_mm, 3), "", s.how);
  return text;
}

CouponTable read_coupon_table(const std::string& text, const std::string& source) {
  const TextTable table = read_text_table(text, source);
  const Columns columns = columns_of(table, source);
  CouponTable out;
  std::vector<Problem> problems;
  std::set<std::string> stated;
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    CouponTable::Row row;
    row.feature = lower(table.rows[i][columns.feature]);
    row.quantity = lower(table.rows[i][columns.quantity]);
    row.line = table.lines[i];
    const std::string where = "line " + std::to_string(row.line);
    for (const std::size_t c : columns.found) {
      const std::string& cell = table.rows[i][c];
      double value = 0;
      if (cell.empty()) continue;
      if (read_number(cell, table.separator != ',', value))
        row.found_mm.push_back(value);
      else
        problems.push_back({where, cell, "is no number", "write millimetres, as 3.42"});
    }
    if (row.found_mm.empty()) continue;
    const double first = row.found_mm.front();
    if (row.feature == slicing) {
      stated.insert(slicing);
      if (first != 0)
        problems.push_back({where, decimal(first, 4),
                            "the slicing program corrected this coupon too; with a compensation from it the parts would "
                            "be corrected twice",
                            "set its corrections to 0 for good and print the coupon again"});
    } else if (row.feature == printed_with) {
      double* to = row.quantity == "hole"      ? &out.printed_with.hole_mm
                   : row.quantity == "outline" ? &out.printed_with.outline_mm
                   : row.quantity == "height"  ? &out.printed_with.height_mm
                                               : nullptr;
      if (!to) {
        problems.push_back({where, row.quantity, "is none of hole, outline, height", ""});
      } else {
        stated.insert(row.quantity);
        *to = first;
        if (std::fabs(first) > farthest_off_mm)
          problems.push_back(
              {where, decimal(first, 4), "no kit adds that much", "write what printer.compensation had"});
      }
    } else {
      out.rows.push_back(std::move(row));
    }
  }
  for (const char* what : {"hole", "outline", "height"})
    if (!stated.count(what))
      problems.push_back({std::string(printed_with) + " " + what, "",
                          "is missing: whether the coupon was printed with a compensation decides whether the new one "
                          "corrects twice",
                          std::string("write the row ") + printed_with + "," + what +
                              " with the printer.compensation of the kit that made its file, 0 if it had none"});
  if (!stated.count(slicing))
    problems.push_back({slicing, "", "is missing: a slicing program that corrects as well would correct twice",
                        std::string("write the row ") + slicing + "," + own_correction + " with 0"});
  if (out.rows.empty() && problems.empty()) problems.push_back({"file", "", "holds no reading", "fill in the sheet"});
  if (problems.size() > 20) problems.resize(20);
  if (!problems.empty()) throw BadInput(source, problems);
  return out;
}

std::vector<CouponReading> coupon_readings(const CouponTable& table, const std::vector<CouponSize>& sizes,
                                           const std::string& source) {
  std::vector<CouponReading> readings;
  std::vector<Problem> problems;
  std::set<std::string> seen;
  for (const CouponTable::Row& row : table.rows) {
    const std::string where = "line " + std::to_string(row.line), what = row.feature + " " + row.quantity;
    const auto size = std::find_if(sizes.begin(), sizes.end(), [&](const CouponSize& s) {
      return s.feature == row.feature && s.quantity == row.quantity;
    });
    if (size == sizes.end()) {
      problems.push_back({where, what, "is nothing that can be measured on this coupon", "--sheet lists what can"});
      continue;
    }
    if (!seen.insert(what).second) {
      problems.push_back({where, what, "stands in the table twice", "put second readings into another found column"});
      continue;
    }
    for (const double found : row.found_mm) {
      if (std::fabs(found - size->modelled_mm) <= farthest_off_mm) {
        readings.push_back({*size, found, row.line});
        continue;
      }
      std::string hint = "is it another row's?";
      if (std::fabs(found * inch_mm - size->modelled_mm) <= farthest_off_mm) hint = "is it in inches?";
      if (std::fabs(found * 10 - size->modelled_mm) <= farthest_off_mm) hint = "is it in centimetres?";
      problems.push_back({where, decimal(found, 4),
                          what + " is " + decimal(size->modelled_mm, 3) + " mm in the file; no printer misses by more than " +
                              decimal(farthest_off_mm, 0),
                          hint});
    }
  }
  if (problems.size() > 20) problems.resize(20);
  if (!problems.empty()) throw BadInput(source, problems);
  return readings;
}

std::string calibration_text(const CalibrationReport& r) {
  const Calibration& c = r.result;
  std::string text = "Fit coupon " + r.coupon + " of " + r.kit + " revision " + r.revision + " in " + r.material + ": " +
                     std::to_string(c.readings.size()) + " readings\n\n";
  text += fmt::format("{:<10} {:>16}  {:>10}  {:>8}  {}\n", "", "add to drawings", "95 % in mm", "readings",
                      "printed with");
  const auto row = [&](const char* what, const std::optional<CouponEstimate>& e, int freedom, double before) {
    text += fmt::format("{:<10} {:>16}  {:>10}  {:>8}  {}\n", what, e ? with_sign(e->value, 3) + " mm" : "not measured",
                        e ? plus_minus(*e, freedom, 1, 3) : "", e ? std::to_string(e->rows) : "0", with_sign(before, 3));
  };
  row("holes", c.hole_mm, c.freedom_plan, r.printed_with.hole_mm);
  row("outlines", c.outline_mm, c.freedom_plan, r.printed_with.outline_mm);
  row("heights", c.height_mm, c.freedom_height, r.printed_with.height_mm);
  text += "They stand in place of what the coupon was printed with; nothing is added to it.\n";
  text += "\nScale, apart from these; no part is changed by it:\n";
  text += scale_text("x", c.scale_x, c.freedom_plan) + scale_text("y", c.scale_y, c.freedom_plan) +
          scale_text("z", c.scale_z, c.freedom_height);
  text += "\nThe readings scatter by " + decimal(c.rms_plan_mm, 3) + " mm in plan and " + decimal(c.rms_height_mm, 3) +
          " mm in height (RMS). A caliper's own error, often 0.02 mm, comes on top.\n";
  for (const CheckedReading& one : c.readings)
    if (one.doubtful)
      text += wrapped("Measure again: ",
                      one.reading.size.feature + " " + one.reading.size.quantity + " (line " +
                          std::to_string(one.reading.line) + ", " + decimal(one.reading.found_mm, 3) + " mm) is " +
                          with_sign(one.off_mm, 3) + " mm off what the others say.",
                      2);
  return text;
}

Json calibration_document(const CalibrationReport& r) {
  const Calibration& c = r.result;
  Json readings = Json::array();
  for (const CheckedReading& one : c.readings)
    readings.push_back({{"line", one.reading.line},
                        {"feature", one.reading.size.feature},
                        {"quantity", one.reading.size.quantity},
                        {"drawn_mm", rounded_length(one.reading.size.nominal_mm)},
                        {"modelled_mm", rounded_length(one.reading.size.modelled_mm)},
                        {"found_mm", rounded_length(one.reading.found_mm)},
                        {"off_mm", rounded_length(one.off_mm)},
                        {"doubtful", one.doubtful}});
  return {{"format", "bedwright/calibrate/1"},
          {"kit", r.kit},
          {"revision", r.revision},
          {"coupon", r.coupon},
          {"material", r.material},
          {"printed_with", compensation_json(r.printed_with)},
          {"compensation",
           {{"hole_mm", estimate_json(c.hole_mm, c.freedom_plan)},
            {"outline_mm", estimate_json(c.outline_mm, c.freedom_plan)},
            {"height_mm", estimate_json(c.height_mm, c.freedom_height)}}},
          {"scale",
           {{"x", estimate_json(c.scale_x, c.freedom_plan)},
            {"y", estimate_json(c.scale_y, c.freedom_plan)},
            {"z", estimate_json(c.scale_z, c.freedom_height)}}},
          {"rms_mm", {{"plan", rounded_6(c.rms_plan_mm)}, {"height", rounded_6(c.rms_height_mm)}}},
          {"readings", readings}};
}

}  // namespace bedwright
