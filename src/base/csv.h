// Tables of text as RFC 4180 has them, and as spreadsheets write them: quotes with doubled quotes inside, line breaks in
// quoted cells, comma, semicolon or tab (the one that the first line has most of, outside quotes), a byte-order mark,
// CR LF or LF. Blank lines and lines that begin with # are left out.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/error.h"

namespace bedwright {

struct TextTable {
  std::vector<std::string> header;
  std::vector<std::vector<std::string>> rows;  ///< each as long as the header
  std::vector<int> lines;                      ///< where each row begins, from 1
  char separator = ',';
};

/// Throws BadInput naming `source`: no header, a row with more cells than the header (missing ones are empty), an open
/// quote, text after a closing quote; 20 problems at most.
TextTable read_text_table(std::string_view text, const std::string& source);

/// A cell for a comma-separated file: quoted where it must be.
std::string csv_cell(const std::string& text);

}  // namespace bedwright
