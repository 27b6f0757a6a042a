// tests/data/refusals.json, "program": one mistake a row, as a person makes it, with the exit status and every line
// that standard error must hold, whole.
#include "refusals.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "cli/program.h"

using namespace bedwright;
using Json = nlohmann::json;

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    const std::size_t from = line.find_first_not_of(' ');
    lines.push_back(from == std::string::npos ? "" : line.substr(from));
  }
  return lines;
}

/// A text as it stands; an object: a demo kit with changes.
void put(const Workshop& shop, const std::string& name, const Json& file) {
  if (file.is_null()) {
    std::filesystem::create_directories(shop.path / name);
  } else if (file.is_string()) {
    shop.put(name, file.get<std::string>());
  } else {
    shop.put(name, kit_of_row(file));
  }
}

}  // namespace

TEST_CASE("refusals: every mistake on the command line or in a file gets its sentence and its exit status",
          "[cli][refusals]") {
  for_refusals("program", [](const Json& row) {
    const Workshop shop;
    const Json files = row.value("files", Json::object());
    for (const auto& [file, text] : files.items()) put(shop, file, text);
    const Run run = shop.run(row.at("run").get<std::string>());
    CAPTURE(run.err);
    CHECK(run.status == row.at("status").get<int>());
    const std::vector<std::string> lines = lines_of(run.err);
    for (const Json& line : row.at("says")) {
      CAPTURE(line);
      CHECK(std::find(lines.begin(), lines.end(), line.get<std::string>()) != lines.end());
    }
    // Nothing is written.
    std::size_t left = 0;
    for (const auto& entry : std::filesystem::directory_iterator(shop.path))
      left += !files.contains(entry.path().filename().string());
    CHECK(left == 0);
  });
}
