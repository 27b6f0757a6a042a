// Reads tables of numbers as people keep them: CSV from a spreadsheet, a probe's log, columns typed by hand.
// Copes with a byte-order mark, CR LF, comments (# ; // at the start of a line), blank lines, a header line, any of
// comma, semicolon, tab or spaces between the columns, quotes round a value, and decimal commas where the separator is
// none. Units are the caller's. What cannot be read is reported whole, with line numbers.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.h"

namespace bedwright {

/// The largest table that is read.
inline constexpr std::size_t largest_table_bytes = 64u << 20;

struct NumberTable {
  std::vector<std::string> header;  ///< lower case, blanks cut; empty where the file has none
  std::vector<std::vector<double>> rows;
  std::vector<int> lines;  ///< of each row, from 1
  bool decimal_comma = false;
};

/// `columns`: how many numbers a row must have at least (what stands behind them is kept); 0: any.
/// Throws BadInput naming `source`: every line that is no row of finite numbers or has too few (20 at most, then how
/// many more), a table without rows, one over the limit.
/// A comma is a decimal comma where the columns are parted by semicolons, tabs or spaces.
NumberTable read_number_table(std::string_view text, const std::string& source, std::size_t columns);

/// A number with point (or comma) and optional sign, exponent; the minus may be the typographic one. False where
/// anything else stands in it or it is not finite.
bool read_number(std::string_view text, bool decimal_comma, double& value);

}  // namespace bedwright
