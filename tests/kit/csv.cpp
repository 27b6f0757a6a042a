#include "kit/csv.h"

#include <fstream>
#include <sstream>

std::vector<std::string> csv_cells(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"') {
      if (quoted && i + 1 < line.size() && line[i + 1] == '"') {
        cells.back() += line[++i];
      } else {
        quoted = !quoted;
      }
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else if (c != '\r') {
      cells.back() += c;
    }
  }
  return cells;
}

std::vector<CsvRow> read_reference(const std::string& name) {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/tests/data/reference/" + name + ".csv");
  std::vector<CsvRow> rows;
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> header = csv_cells(line);
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = csv_cells(line);
    CsvRow row;
    for (std::size_t i = 0; i < header.size() && i < cells.size(); ++i) row[header[i]] = cells[i];
    rows.push_back(row);
  }
  return rows;
}

Range range_of(const std::string& cell) {
  Range range;
  char dash = 0;
  std::istringstream in(cell);
  in >> range.least;
  range.greatest = range.least;
  if (in >> dash && dash == '-') in >> range.greatest;
  return range;
}

double number_of(const std::string& cell) {
  return range_of(cell).least;
}
