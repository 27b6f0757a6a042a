// Reads the reference tables of tests/data: comma separated, first line the header, double quotes round cells with
// commas.
#pragma once

#include <map>
#include <string>
#include <vector>

std::vector<std::string> csv_cells(const std::string& line);

/// A row by column name. An unreadable file gives no rows: tests must require some.
using CsvRow = std::map<std::string, std::string>;

std::vector<CsvRow> read_reference(const std::string& name);

/// "34.7-34.9" or "45.4" as a range.
struct Range {
  double least = 0, greatest = 0;
  bool holds(double value) const { return value >= least - 1e-9 && value <= greatest + 1e-9; }
  double middle() const { return (least + greatest) / 2; }
};

Range range_of(const std::string& cell);
double number_of(const std::string& cell);
