#include "base/markup.h"

#include <catch2/catch.hpp>

using namespace bedwright;

// XML 1.0, sections 2.2 and 4.6: the predefined entities, and the characters that a document may hold.
TEST_CASE("markup: text cannot become markup", "[markup]") {
  CHECK(escaped_markup("<script>alert('x & \"y\"')</script>") ==
        "&lt;script&gt;alert(&apos;x &amp; &quot;y&quot;&apos;)&lt;/script&gt;");
  CHECK(escaped_markup(std::string("a\x01\x1f\tb\nc\0d", 9)) == "a\tb\ncd");
  CHECK(escaped_markup("\xc3\xbc") == "\xc3\xbc");
}
