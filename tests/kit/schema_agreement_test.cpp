// An independent validator (valijson, draft-07) with docs/kit.schema.json agrees with the reader on every kit of the
// corpus.
#include <catch2/catch.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "kit/corpus.h"
#include "kit/kit.h"

using namespace bedwright;

namespace {

class Referee {
 public:
  Referee() {
    document_ = Json::parse(file_text(root_path("docs/kit.schema.json")));
    valijson::SchemaParser(valijson::SchemaParser::kDraft7)
        .populateSchema(valijson::adapters::NlohmannJsonAdapter(document_), schema_);
  }
  bool accepts(const Json& kit) const {
    valijson::Validator validator;
    return validator.validate(schema_, valijson::adapters::NlohmannJsonAdapter(kit), nullptr);
  }

 private:
  Json document_;
  valijson::Schema schema_;
};

std::string without_mark(const std::string& text) {
  return text.compare(0, 3, "\xef\xbb\xbf") == 0 ? text.substr(3) : text;
}

}  // namespace

TEST_CASE("the schema alone accepts every good kit", "[kit][corpus][valijson]") {
  const Referee referee;
  for (const std::string& file : good_kit_files()) {
    CAPTURE(stem(file));
    CHECK(referee.accepts(Json::parse(without_mark(file_text(file)))));
  }
}

TEST_CASE("the schema alone rejects the bad kits that a schema can reject", "[kit][corpus][valijson]") {
  const Referee referee;
  const Json expectations = Json::parse(file_text(root_path("tests/data/kits/bad/expectations.json")));
  int rejected = 0, accepted = 0, not_json = 0;
  for (const std::string& file : kit_files("tests/data/kits/bad")) {
    CAPTURE(stem(file));
    const Json kit = Json::parse(file_text(file), nullptr, false);
    const Json& expected = expectations.at(stem(file)).at("schema");
    if (expected.is_null()) {
      ++not_json;
      // Endless nesting is the one that a general parser lets pass.
      CHECK((kit.is_discarded() || stem(file) == "raw-deep"));
      continue;
    }
    REQUIRE_FALSE(kit.is_discarded());
    CHECK(referee.accepts(kit) != expected.get<bool>());
    ++(expected.get<bool>() ? rejected : accepted);
  }
  CHECK(rejected >= 50);
  CHECK(accepted >= 40);
  CHECK(not_json >= 20);
}
