// Bundles in memory: whatever happens to their bytes, what is read is what was written, or nothing is.
#include "output/bundle.h"

#include <catch2/catch.hpp>
#include <cstdint>

#include "base/error.h"
#include "output/checksums.h"
#include "output/zip.h"

using namespace bedwright;

namespace {

std::string small_bundle() {
  Files files = {{"kit.json", "{ \"kit\": \"small\" }"}, {"set/stl/a.stl", std::string(200, 's')}, {"terms.txt", "terms"}};
  files[checksums_name] = checksums_of(files);
  std::vector<std::pair<std::string, std::string>> entries;
  for (const auto& [name, bytes] : files) entries.push_back({"small-A/" + name, bytes});
  return to_zip(entries);
}

}  // namespace

TEST_CASE("bundle: read back it is what was written", "[bundle]") {
  const Bundle b = read_bundle(small_bundle(), "x.zip");
  CHECK(b.kit_text == "{ \"kit\": \"small\" }");
  CHECK(b.set == Files{{"stl/a.stl", std::string(200, 's')}});
  CHECK(b.beside.files.at("terms.txt") == "terms");
  CHECK(is_bundle(small_bundle()));
  CHECK_FALSE(is_bundle("{ \"format\": \"bedwright/kit/1\" }"));
  CHECK_FALSE(is_bundle(""));
}

TEST_CASE("bundle: any one byte changed, or the file cut anywhere, is refused or makes no difference", "[bundle]") {
  const std::string good = small_bundle();
  const Bundle whole = read_bundle(good, "x.zip");
  const auto same_or_refused = [&](const std::string& bytes) {
    try {
      const Bundle b = read_bundle(bytes, "x.zip");
      return b.kit_text == whole.kit_text && b.set == whole.set && b.beside.files == whole.beside.files;
    } catch (const BadInput& e) {
      return !e.problems.empty() && !e.problems[0].message.empty();
    }
  };
  int refused = 0;
  for (std::size_t i = 0; i < good.size(); ++i)
    for (const int flip : {0x01, 0x20, 0x80, 0xff}) {
      std::string bytes = good;
      bytes[i] = static_cast<char>(bytes[i] ^ flip);
      CAPTURE(i, flip);
      CHECK(same_or_refused(bytes));
      try {
        read_bundle(bytes, "x.zip");
      } catch (const BadInput&) {
        ++refused;
      }
    }
  // Dates, attributes and versions are all that does not matter: less than a third of so small an archive.
  CHECK(refused > 2 * static_cast<int>(good.size()));
  for (std::size_t size = 0; size < good.size(); ++size) CHECK_THROWS_AS(read_bundle(good.substr(0, size), "x.zip"), BadInput);
}

TEST_CASE("checksums: the list is read as it was written, and nothing else", "[bundle]") {
  const Files files = {{"a", "1"}, {"b/c", "2"}, {checksums_name, "old"}};
  const auto read = read_checksums(checksums_of(files), "sums");
  CHECK(read.size() == 2);
  // SHA-256 of "1": any sha256sum.
  CHECK(read.at("a") == "6b86b273ff34fce19d6b804eff5a3f5747ada4eaa22f1d49c01e52ddb7875b4b");
  const std::string digest(64, 'a');
  for (const std::string& bad :
       {std::string("x"), digest, digest + " a", digest + "  ", digest + "  /a", digest + "  a/../b", digest + "  a//b",
        digest + "  a\\b", std::string(64, 'G') + "  a", digest + "  a\n" + digest + "  a", digest + " *a"}) {
    CAPTURE(bad);
    CHECK_THROWS_AS(read_checksums(bad, "sums"), BadInput);
  }
}

TEST_CASE("bundle: an archive of nothing, and one without a kit, are refused in words", "[bundle]") {
  CHECK_THROWS_WITH(read_bundle(to_zip({}), "x.zip"), Catch::Contains("is empty (is it the right file?)"));
  Files files = {{"terms.txt", "terms"}};
  files[checksums_name] = checksums_of(files);
  CHECK_THROWS_WITH(
      read_bundle(to_zip({{"a/terms.txt", "terms"}, {"a/" + std::string(checksums_name), files[checksums_name]}}),
                  "x.zip"),
      Catch::Contains("has no kit.json: nothing can be made of it (ask whoever published it)"));
}
