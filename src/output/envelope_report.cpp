#include "output/envelope_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/numbers.h"
#include "output/wrapped.h"

namespace bedwright {
namespace {

// A limit is told to the side that still fits, in hundredths (radii in whole millimetres); it was searched to 1e-4 mm.
constexpr double searched_mm = 1e-4;
double step_for(double v) {
  return std::fabs(v) >= 1000 ? 1 : 100;
}
double told_least(double v) {
  return std::ceil((v - searched_mm) * step_for(v)) / step_for(v);
}
double told_greatest(double v) {
  return std::floor((v + searched_mm) * step_for(v)) / step_for(v);
}

// A dome flatter than any sheet is not told as a number.
constexpr double flat_mm = 1e6;

std::string range_text(const FitRange& r) {
  const bool low = r.least.has_value(), high = r.greatest && *r.greatest < flat_mm;
  if (!low && !high) return "any";
  if (!low) return "up to " + decimal(told_greatest(*r.greatest), 2);
  if (!high) return decimal(told_least(*r.least), 2) + " and more";
  return decimal(told_least(*r.least), 2) + " to " + decimal(told_greatest(*r.greatest), 2);
}

bool same(const FitRange& a, const FitRange& b) {
  return a.least == b.least && a.greatest == b.greatest;
}

std::string limits_text(const EnvelopeRow& row) {
  std::string text;
  const auto add = [&](const std::string& first, const std::string& what) {
    if (!what.empty()) text += (text.empty() ? "" : "; ") + first + what;
  };
  if (row.low_with == row.high_with) {
    add("otherwise with ", row.low_with);
  } else {
    add("less: with ", row.low_with);
    add("more: with ", row.high_with);
  }
  if (row.low_why == row.high_why) {
    add("beyond, no: ", row.low_why);
  } else {
    add("below, no: ", row.low_why);
    add("above, no: ", row.high_why);
  }
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

Json limit_json(const std::optional<double>& v) {
  return v && *v < flat_mm ? Json(rounded_length(*v)) : Json(nullptr);
}

Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

}  // namespace

Json envelope_json(const std::vector<EnvelopeRow>& rows) {
  Json list = Json::array();
  for (const EnvelopeRow& row : rows)
    list.push_back({{"id", row.id},
                    {"what", row.what},
                    {"measure", row.measure},
                    {"value_mm", rounded_length(row.value)},
                    {"yes_mm", {limit_json(row.yes.least), limit_json(row.yes.greatest)}},
                    {"with_mm", {limit_json(row.with.least), limit_json(row.with.greatest)}},
                    {"below_with", text_or_null(row.low_with)},
                    {"above_with", text_or_null(row.high_with)},
                    {"below_no", text_or_null(row.low_why)},
                    {"above_no", text_or_null(row.high_why)}});
  return list;
}

std::string envelope_text(const std::vector<EnvelopeRow>& rows) {
  if (rows.empty()) return "";
  using Row = std::array<std::string, 4>;
  std::vector<Row> table = {{"measure", "this kit", "fits as it is", "fits with help"}};
  for (const EnvelopeRow& row : rows)
    table.push_back(
        {row.what, decimal(row.value, 2), range_text(row.yes), same(row.yes, row.with) ? "-" : range_text(row.with)});
  std::array<std::size_t, 4> widths{};
  for (const Row& row : table)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
  std::string text = wrapped("",
                             "Fits another machine whose measures lie in these ranges (mm, one changed at a time; keep "
                             "your measuring error inside)",
                             2);
  for (const Row& row : table) {
    std::string line =
        fmt::format("{:<{}}  {:>{}}  {:<{}}  {}", row[0], widths[0], row[1], widths[1], row[2], widths[2], row[3]);
    while (!line.empty() && line.back() == ' ') line.pop_back();
    text += line + "\n";
  }
  for (const EnvelopeRow& row : rows)
    text += wrapped("  " + row.what + ": ", row.measure + ". " + limits_text(row) + ".", 4);
  return text;
}

}  // namespace bedwright
