#include "base/delimited.h"

#include <algorithm>
#include <cmath>

#include "base/chars.h"

namespace bedwright {
namespace {

constexpr std::size_t most_problems = 20;

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

bool is_comment(std::string_view line) {
  return line.empty() || line[0] == '#' || line[0] == ';' || line.substr(0, 2) == "//";
}

std::string_view unquoted(std::string_view text) {
  text = trimmed(text);
  if (text.size() >= 2 && (text[0] == '"' || text[0] == '\'') && text.back() == text[0])
    text = trimmed(text.substr(1, text.size() - 2));
  return text;
}

std::vector<std::string_view> cells_of(std::string_view line, char separator) {
  std::vector<std::string_view> cells;
  if (separator == ' ') {
    for (std::size_t at = 0; at < line.size();) {
      while (at < line.size() && is_blank(line[at])) ++at;
      const std::size_t start = at;
      while (at < line.size() && !is_blank(line[at])) ++at;
      if (at > start) cells.push_back(unquoted(line.substr(start, at - start)));
    }
    return cells;
  }
  for (std::size_t at = 0;;) {
    const std::size_t end = std::min(line.find(separator, at), line.size());
    cells.push_back(unquoted(line.substr(at, end - at)));
    if (end == line.size()) break;
    at = end + 1;
  }
  while (cells.size() > 1 && cells.back().empty()) cells.pop_back();  // spreadsheets leave separators at a line's end
  return cells;
}

/// What parts the columns: a semicolon or tab wherever one stands; then a comma, unless the line reads only with
/// decimal commas ("1,5 2,5"); else blanks.
char separator_of(std::string_view line) {
  if (line.find(';') != line.npos) return ';';
  if (line.find('\t') != line.npos) return '\t';
  if (line.find(',') == line.npos) return ' ';
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const bool blank_between =
        line[i] == ' ' && i > 0 && line[i - 1] != ',' && line[i - 1] != ' ' && line[i + 1] != ',';
    if (!blank_between) continue;
    std::size_t next = i;
    while (next < line.size() && line[next] == ' ') ++next;
    if (next < line.size() && line[next] != ',') return ' ';
  }
  return ',';
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::string shortened(std::string_view text) {
  constexpr std::size_t longest = 40;
  return std::string(text.substr(0, longest)) + (text.size() > longest ? "..." : "");
}

bool has_word(const std::vector<std::string_view>& cells) {
  const bool any_letter = std::any_of(cells.begin(), cells.end(), [](std::string_view cell) {
    return std::any_of(cell.begin(), cell.end(),
                       [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); });
  });
  double value = 0;
  const bool any_number =
      std::any_of(cells.begin(), cells.end(), [&](std::string_view cell) { return read_number(cell, true, value); });
  return any_letter && !any_number;
}

}  // namespace

bool read_number(std::string_view text, bool decimal_comma, double& value) {
  text = trimmed(text);
  bool negative = false;
  constexpr std::string_view long_minus = "\xe2\x88\x92";
  if (text.substr(0, long_minus.size()) == long_minus) {
    negative = true;
    text.remove_prefix(long_minus.size());
  } else if (!text.empty() && (text[0] == '+' || text[0] == '-')) {
    negative = text[0] == '-';
    text.remove_prefix(1);
  }
  if (text.empty() || !((text[0] >= '0' && text[0] <= '9') || text[0] == '.' || (decimal_comma && text[0] == ',')))
    return false;
  std::string plain(text);
  if (decimal_comma) {
    if (std::count(plain.begin(), plain.end(), ',') + std::count(plain.begin(), plain.end(), '.') > 1) return false;
    std::replace(plain.begin(), plain.end(), ',', '.');
  }
  const auto [length, error] = read_chars(plain, value);
  if (error != std::errc() || length != plain.size() || !std::isfinite(value)) return false;
  if (negative) value = -value;
  return true;
}

NumberTable read_number_table(std::string_view text, const std::string& source, std::size_t columns) {
  if (text.size() > largest_table_bytes)
    throw BadInput(source, {{"file", std::to_string(text.size() >> 20) + " MiB",
                             "larger than the 64 MiB that a table may have", ""}});
  constexpr std::string_view mark = "\xef\xbb\xbf";
  if (text.substr(0, mark.size()) == mark) text.remove_prefix(mark.size());

  NumberTable table;
  std::vector<Problem> problems;
  std::size_t more = 0;
  const auto complain = [&](int line, std::string_view found, const std::string& message, const std::string& hint) {
    if (problems.size() < most_problems)
      problems.push_back({"line " + std::to_string(line), shortened(found), message, hint});
    else
      ++more;
  };
  bool first = true;
  int number = 0;
  for (std::size_t at = 0; at < text.size();) {
    // CR alone ends a line too: old spreadsheets.
    const std::size_t end = std::min(text.find_first_of("\n\r", at), text.size());
    const std::string_view line = trimmed(text.substr(at, end - at));
    at = end + 1;
    if (end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n') ++at;
    ++number;
    if (is_comment(line)) continue;
    const char separator = separator_of(line);
    const std::vector<std::string_view> cells = cells_of(line, separator);
    if (first && has_word(cells)) {
      for (const std::string_view cell : cells) table.header.push_back(lower(cell));
      first = false;
      continue;
    }
    first = false;
    std::vector<double> row;
    bool good = true;
    for (const std::string_view cell : cells) {
      double value = 0;
      if (!read_number(cell, separator != ',', value)) {
        complain(number, cell,
                 cell.empty() ? "an empty place where a number should be" : "'" + shortened(cell) + "' is not a number",
                 "");
        good = false;
        break;
      }
      if (separator != ',' && cell.find(',') != cell.npos) table.decimal_comma = true;
      row.push_back(value);
    }
    if (!good) continue;
    if (row.size() < columns) {
      complain(
          number, line,
          "'" + shortened(line) + "' has " + std::to_string(row.size()) + " of " + std::to_string(columns) + " numbers",
          separator == ',' ? "" : "columns may be parted by commas, semicolons, tabs or blanks");
      continue;
    }
    table.rows.push_back(std::move(row));
    table.lines.push_back(number);
  }
  if (more > 0) problems.push_back({"file", "", "and " + std::to_string(more) + " more lines like these", ""});
  if (problems.empty() && table.rows.empty()) problems.push_back({"file", "", "holds no row of numbers", ""});
  if (!problems.empty()) throw BadInput(source, std::move(problems));
  return table;
}

}  // namespace bedwright
