#include "joints/lengths.h"

#include <algorithm>

#include "kit/hardware.h"

namespace bedwright {
namespace {

// Shortest length that ISO 4762:2004 table 1 lists (from memory).
double shortest_length(const std::string& thread) {
  if (thread == "M2") return 3;
  if (thread == "M2.5") return 4;
  if (thread == "M3") return 5;
  if (thread == "M4") return 6;
  if (thread == "M5") return 8;
  return 10;
}

// ISO 286-1, IT15, mm: up to and including.
struct Grade {
  double up_to_mm, it15_mm;
};
constexpr Grade it15[] = {{3, 0.40},  {6, 0.48},  {10, 0.58},  {18, 0.70},  {30, 0.84},
                          {50, 1.00}, {80, 1.20}, {120, 1.40}, {180, 1.60}, {250, 1.85}};

}  // namespace

std::vector<StockLength> standard_lengths(const std::string& thread) {
  std::vector<StockLength> lengths;
  for (const Json& row : hardware_table("screw_lengths").at("rows"))
    if (row.at("length_mm").get<double>() >= shortest_length(thread))
      lengths.push_back({row.at("length_mm").get<double>(), row.at("choice").get<int>(), false});
  std::sort(lengths.begin(), lengths.end(), [](const StockLength& a, const StockLength& b) { return a.mm < b.mm; });
  return lengths;
}

double length_tolerance_mm(double length_mm) {
  for (const Grade& grade : it15)
    if (length_mm <= grade.up_to_mm) return grade.it15_mm / 2;
  return it15[9].it15_mm / 2;
}

}  // namespace bedwright
