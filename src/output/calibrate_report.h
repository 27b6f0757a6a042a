// The sheet to take to the printed coupon, the filled-in table, and what follows from it as text and JSON.
#pragma once

#include <string>
#include <vector>

#include "print/calibrate.h"

namespace bedwright {

inline constexpr std::size_t largest_coupon_table_bytes = std::size_t(1) << 20;

/// feature, quantity, drawn_mm, found_1_mm, found_2_mm, how: in the order of measuring. The first rows say what the
/// coupon was printed with.
std::string coupon_sheet(const Kit& kit, const PartRequest& coupon, const std::vector<CouponSize>& sizes);

/// A filled-in sheet: columns by their names, any number of found columns, empty cells for what was not measured.
struct CouponTable {
  Compensation printed_with;
  struct Row {
    std::string feature, quantity;
    std::vector<double> found_mm;
    int line = 0;
  };
  std::vector<Row> rows;
};
/// Throws BadInput naming `source`, every problem at once: no statement of what the coupon was printed with, a slicing
/// program that corrected as well, cells that are no numbers.
CouponTable read_coupon_table(const std::string& text, const std::string& source);

/// The table's rows as readings of these sizes. Throws BadInput: rows that name nothing on the coupon, a row twice, sizes
/// that are another unit's or another row's.
std::vector<CouponReading> coupon_readings(const CouponTable& table, const std::vector<CouponSize>& sizes,
                                           const std::string& source);

struct CalibrationReport {
  std::string kit, revision, coupon, material;
  Compensation printed_with;
  Calibration result;
};
std::string calibration_text(const CalibrationReport& report);
Json calibration_document(const CalibrationReport& report);

}  // namespace bedwright
