#include "base/csv.h"

#include <algorithm>

namespace bedwright {
namespace {

constexpr std::size_t most_problems = 20;

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

char separator_of(std::string_view text) {
  std::size_t count[3] = {0, 0, 0};
  constexpr std::string_view separators = "\t;,";
  bool quoted = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (!quoted && (c == '\n' || c == '\r')) break;
    const std::size_t k = separators.find(c);
    if (!quoted && k != separators.npos) ++count[k];
  }
  const std::size_t most = static_cast<std::size_t>(std::max_element(count, count + 3) - count);
  return count[most] == 0 ? ',' : separators[most];
}

/// Reads one row from `at` on; false at an open or badly closed quote, with `problem` said.
bool read_row(std::string_view text, std::size_t& at, int& line, char separator, std::vector<std::string>& cells,
              std::string& problem) {
  for (;;) {
    std::string cell;
    std::size_t look = at;
    while (look < text.size() && text[look] == ' ') ++look;
    if (look < text.size() && text[look] == '"') {
      at = look + 1;
      for (;; ++at) {
        if (at >= text.size()) {
          problem = "a quote is opened and never closed";
          return false;
        }
        if (text[at] == '\n') ++line;
        if (text[at] != '"') {
          cell += text[at];
        } else if (at + 1 < text.size() && text[at + 1] == '"') {
          cell += '"';
          ++at;
        } else {
          break;
        }
      }
      ++at;
      while (at < text.size() && text[at] == ' ') ++at;
      if (at < text.size() && text[at] != separator && text[at] != '\n' && text[at] != '\r') {
        problem = "text follows a closing quote";
        return false;
      }
    } else {
      const std::size_t end = std::min(text.find_first_of(std::string{separator, '\n', '\r'}, at), text.size());
      cell = trimmed(text.substr(at, end - at));
      at = end;
    }
    cells.push_back(std::move(cell));
    if (at >= text.size() || text[at] != separator) return true;
    ++at;
  }
}

void skip_line(std::string_view text, std::size_t& at, int& line) {
  at = std::min(text.find_first_of("\r\n", at), text.size());
  if (at + 1 < text.size() && text[at] == '\r' && text[at + 1] == '\n') ++at;
  if (at < text.size()) ++at;
  ++line;
}

}  // namespace

TextTable read_text_table(std::string_view text, const std::string& source) {
  constexpr std::string_view mark = "\xef\xbb\xbf";
  if (text.substr(0, mark.size()) == mark) text.remove_prefix(mark.size());
  TextTable table;
  std::vector<Problem> problems;
  int line = 1;
  const auto complain = [&](int where, const std::string& message, const std::string& hint) {
    if (problems.size() < most_problems) problems.push_back({"line " + std::to_string(where), "", message, hint});
  };
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find_first_of("\r\n", at), text.size());
    const std::string_view whole = trimmed(text.substr(at, end - at));
    if (whole.empty() || whole[0] == '#') {
      skip_line(text, at, line);
      continue;
    }
    if (table.header.empty()) table.separator = separator_of(text.substr(at));
    const int begins = line;
    std::vector<std::string> cells;
    std::string problem;
    if (!read_row(text, at, line, table.separator, cells, problem)) {
      complain(begins, problem, "close it, or write the quote twice");
      break;  // where the next row begins is not known
    }
    skip_line(text, at, line);
    if (table.header.empty()) {
      table.header = std::move(cells);
      continue;
    }
    while (cells.size() > table.header.size() && cells.back().empty()) cells.pop_back();
    if (cells.size() > table.header.size()) {
      complain(begins, "has " + std::to_string(cells.size()) + " cells, the first line has " +
                           std::to_string(table.header.size()),
               "put quotes round a cell that has a separator in it");
      continue;
    }
    if (std::all_of(cells.begin(), cells.end(), [](const std::string& c) { return c.empty(); })) continue;
    cells.resize(table.header.size());
    table.rows.push_back(std::move(cells));
    table.lines.push_back(begins);
  }
  if (problems.empty() && table.header.empty())
    problems.push_back({"line 1", "", "is empty: the first line names the columns", ""});
  if (!problems.empty()) throw BadInput(source, problems);
  return table;
}

std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == text.npos && text == std::string(trimmed(text))) return text;
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

}  // namespace bedwright
