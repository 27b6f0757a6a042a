// Tables of text: the cases of RFC 4180 section 2, and what spreadsheets make of them.
#include "base/csv.h"

#include <catch2/catch.hpp>

using namespace bedwright;
using Row = std::vector<std::string>;

namespace {

std::string refusal(const std::string& text) {
  try {
    read_text_table(text, "t.csv");
  } catch (const BadInput& e) {
    return e.what();
  }
  return "";
}

}  // namespace

TEST_CASE("csv: the cases of RFC 4180") {
  const TextTable t = read_text_table("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n\"a\",\"b\r\nb\",\"c\"\"c\"\r\nlast,\" x \",", "t");
  CHECK(t.header == Row{"aaa", "bbb", "ccc"});
  REQUIRE(t.rows.size() == 3);
  CHECK(t.rows[0] == Row{"zzz", "yyy", "xxx"});
  CHECK(t.rows[1] == Row{"a", "b\r\nb", "c\"c"});
  CHECK(t.rows[2] == Row{"last", " x ", ""});
  CHECK(t.lines == std::vector<int>{2, 3, 5});
}

TEST_CASE("csv: what spreadsheets write") {
  const TextTable t = read_text_table("\xef\xbb\xbf# a remark\n/a;/b\n1,5;two words\n\n;;\n2;\n", "t");
  CHECK(t.separator == ';');
  REQUIRE(t.rows.size() == 2);
  CHECK(t.rows[0] == Row{"1,5", "two words"});
  CHECK(t.rows[1] == Row{"2", ""});
  CHECK(t.lines == std::vector<int>{3, 6});
  CHECK(read_text_table("a\tb,c\n1\t2,3\n", "t").rows[0] == Row{"1", "2,3"});
  CHECK(read_text_table("only\n1\n", "t").rows[0] == Row{"1"});
}

TEST_CASE("csv: what cannot be read is said with its line") {
  CHECK(refusal("").find("line 1") != std::string::npos);
  CHECK(refusal("a,b\n1,2,3\n").find("line 2") != std::string::npos);
  CHECK(refusal("a,b\n\"1,2\n").find("never closed") != std::string::npos);
  CHECK(refusal("a,b\n\"1\"x,2\n").find("closing quote") != std::string::npos);
}

TEST_CASE("csv: a cell that is written is read again") {
  for (const std::string text : {"plain", "with, comma", "with \"quotes\"", "two\nlines", " blanks ", ""}) {
    const TextTable t = read_text_table("a,b\n" + csv_cell(text) + ",x\n", "t");
    CHECK(t.rows.at(0).at(0) == text);
  }
}
