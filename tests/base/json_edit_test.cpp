// Changing one value in a JSON text: every other byte stays.
#include "base/json_edit.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "base/error.h"

using namespace bedwright;
using Value = nlohmann::ordered_json;

namespace {

const std::string sample = R"({
    "kit": "bench",  "revision":"A",
    "frame": {
        "dome": { "radius_mm": 2600, "apex_mm": [0,0] },
        "empty": {}
    },
    "parts": [
        { "id": "a" },
        { "id": "b\"}" }
    ]
}
)";

}  // namespace

TEST_CASE("a value is replaced and the rest stays byte for byte", "[base][json_edit]") {
  const std::string changed = with_value_at(sample, "/frame/dome/radius_mm", 2500.5);
  std::string expected = sample;
  expected.replace(expected.find("2600"), 4, "2500.5");
  CHECK(changed == expected);
  CHECK(with_value_at(sample, "/revision", "B").find("\"revision\":\"B\",\n") != std::string::npos);
  CHECK(with_value_at(sample, "/parts/1/id", "c").find("{ \"id\": \"c\" }") != std::string::npos);
}

TEST_CASE("a member is put in where its object ends, in the object's own style", "[base][json_edit]") {
  CHECK(with_value_at(sample, "/frame/dome/crown", "up").find("[0,0], \"crown\": \"up\" },") != std::string::npos);
  CHECK(with_value_at(sample, "/bed_map", Value{{"positive_is", "high"}})
            .find("    ],\n    \"bed_map\": { \"positive_is\": \"high\" }\n}\n") != std::string::npos);
  CHECK(with_value_at(sample, "/parts/-", Value{{"id", "c"}})
            .find("{ \"id\": \"b\\\"}\" },\n        { \"id\": \"c\" }\n    ]") != std::string::npos);
  CHECK(with_value_at(sample, "/parts/2", Value{{"id", "c"}}) == with_value_at(sample, "/parts/-", Value{{"id", "c"}}));
  CHECK(with_value_at(sample, "/frame/empty/x", 1).find("\"empty\": {\n            \"x\": 1\n        }\n    },") !=
        std::string::npos);
  CHECK(with_value_at(sample, "/new/deep~1er/x", 1).find("\"new\": { \"deep/er\": { \"x\": 1 } }\n}") !=
        std::string::npos);
  CHECK(with_value_at("{}", "/a", 1) == "{\n  \"a\": 1\n}");
  CHECK(with_value_at("{\"a\":1}", "/b", Value::array({1, 2})) == "{\"a\":1, \"b\": [1, 2]}");
}

TEST_CASE("long values take lines of their own, with the file's line ends", "[base][json_edit]") {
  Value list = Value::array();
  for (int i = 0; i < 8; ++i) list.push_back({{"mount", "front-left"}, {"shim_mm", 0.33}});
  std::string windows;
  for (char c : sample) windows += c == '\n' ? std::string("\r\n") : std::string(1, c);
  const std::string changed = with_value_at(windows, "/bed_map", Value{{"positive_is", "high"}, {"shims", list}});
  CHECK(changed.find("    \"bed_map\": {\r\n        \"positive_is\": \"high\",\r\n        \"shims\": [\r\n"
                     "            { \"mount\": \"front-left\", \"shim_mm\": 0.33 },\r\n") != std::string::npos);
  for (std::size_t i = changed.find('\n'); i != std::string::npos; i = changed.find('\n', i + 1))
    REQUIRE(changed[i - 1] == '\r');
}

TEST_CASE("of a key that stands twice the last one changes", "[base][json_edit]") {
  CHECK(with_value_at(R"({"a":1,"a":2})", "/a", 3) == R"({"a":1,"a":3})");
}

TEST_CASE("what cannot be changed is refused", "[base][json_edit]") {
  CHECK_THROWS_AS(with_value_at("{", "/a", 1), Error);
  CHECK_THROWS_AS(with_value_at(sample, "a", 1), Error);
  CHECK_THROWS_AS(with_value_at(sample, "/a~2", 1), Error);
  CHECK_THROWS_AS(with_value_at(sample, "/revision/x", 1), Error);
  CHECK_THROWS_AS(with_value_at(sample, "/parts/3", 1), Error);
  CHECK_THROWS_AS(with_value_at(sample, "/parts/01", 1), Error);
}

TEST_CASE("a demo kit read back after a change differs at that pointer alone", "[base][json_edit]") {
  std::ifstream in(std::string(BEDWRIGHT_ROOT) + "/params/kits/every-option.json");
  std::stringstream bytes;
  bytes << in.rdbuf();
  const std::string text = "\xEF\xBB\xBF" + bytes.str();
  const Value before = Value::parse(text);
  // Every pointer of the document in turn, replaced by a list that fits no line.
  Value wide = Value::array();
  for (int i = 0; i < 60; ++i) wide.push_back(i);
  const Value flat = before.flatten();
  REQUIRE(flat.size() > 100);
  for (const auto& [pointer, unused] : flat.items()) {
    Value expected = before;
    expected[Value::json_pointer(pointer)] = wide;
    INFO(pointer);
    CHECK(Value::parse(with_value_at(text, pointer, wide)) == expected);
    CHECK(Value::parse(with_value_at(text, pointer, before[Value::json_pointer(pointer)])) == before);
  }
}
