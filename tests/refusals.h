// Rows of tests/data/refusals.json: one mistake each.
#pragma once

#include <catch2/catch.hpp>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "kit/corpus.h"

/// A section for each row of the list; two of one name would hide one another.
inline void for_refusals(const char* list, const std::function<void(const nlohmann::json& row)>& act) {
  const auto rows = nlohmann::json::parse(file_text(root_path("tests/data/refusals.json"))).at(list);
  REQUIRE(rows.size() >= 10);
  std::set<std::string> names;
  for (const auto& row : rows) {
    const auto name = row.at("name").get<std::string>();
    CHECK(names.insert(name).second);
    DYNAMIC_SECTION(name) {
      act(row);
    }
  }
}

/// A demo kit with the row's "change" (pointer to value) and without what "without" points at.
inline nlohmann::json kit_of_row(const nlohmann::json& row) {
  using Json = nlohmann::json;
  Json kit = Json::parse(file_text(root_path("params/kits/" + row.value("kit", std::string("north-bench")) + ".json")));
  const Json changes = row.value("change", Json::object());
  for (const auto& [pointer, value] : changes.items()) kit[Json::json_pointer(pointer)] = value;
  for (const Json& pointer : row.value("without", Json::array())) {
    const Json::json_pointer at(pointer.get<std::string>());
    kit.at(at.parent_pointer()).erase(at.back());
  }
  return kit;
}
