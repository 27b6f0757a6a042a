// Archives made to harm are refused, each for its own reason; plain ones are read back.
#include "base/unzip.h"

#include <zlib.h>

#include <catch2/catch.hpp>

#include "base/crc32.h"
#include "base/error.h"
#include "output/zip.h"

using namespace bedwright;

namespace {

/// Offset of the n-th directory record.
std::size_t directory_at(const std::string& zip, int n = 0) {
  std::size_t at = zip.find("PK\x01\x02");
  for (; n > 0; --n) at = zip.find("PK\x01\x02", at + 4);
  return at;
}

void put(std::string& zip, std::size_t at, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) zip[at + static_cast<std::size_t>(i)] = static_cast<char>(value >> (8 * i) & 0xff);
}

std::string why(const std::string& zip, const ZipLimits& limits = {}) {
  try {
    for (const ZipEntry& e : list_zip(zip, "x.zip", limits)) unzip(zip, e, "x.zip");
  } catch (const BadInput& e) {
    return e.problems.at(0).message;
  }
  return "";
}

/// A single entry packed by zlib itself.
std::string deflated(const std::string& name, const std::string& text) {
  std::string packed(compressBound(text.size()) + 16, '\0');
  z_stream s{};
  REQUIRE(deflateInit2(&s, 9, Z_DEFLATED, -MAX_WBITS, 9, Z_DEFAULT_STRATEGY) == Z_OK);
  s.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  s.avail_in = static_cast<uInt>(text.size());
  s.next_out = reinterpret_cast<Bytef*>(packed.data());
  s.avail_out = static_cast<uInt>(packed.size());
  REQUIRE(deflate(&s, Z_FINISH) == Z_STREAM_END);
  packed.resize(s.total_out);
  deflateEnd(&s);
  std::string zip = to_zip({{name, packed}});
  const std::size_t d = directory_at(zip);
  for (const std::size_t at : {std::size_t{8}, d + 10}) put(zip, at, 8, 2);
  for (const std::size_t at : {std::size_t{14}, d + 16}) put(zip, at, crc32(text), 4);
  for (const std::size_t at : {std::size_t{22}, d + 24}) put(zip, at, static_cast<std::uint32_t>(text.size()), 4);
  return zip;
}

}  // namespace

TEST_CASE("unzip: stored and deflated entries read back", "[unzip]") {
  const std::string stored = to_zip({{"a/b.txt", "one"}, {"c", ""}});
  const auto entries = list_zip(stored, "x");
  REQUIRE(entries.size() == 2);
  CHECK(entries[0].name == "a/b.txt");
  CHECK(unzip(stored, entries[0], "x") == "one");
  CHECK(unzip(stored, entries[1], "x").empty());
  std::string text;
  for (int i = 0; i < 5000; ++i) text += std::to_string(i * i) + " ";
  const std::string packed = deflated("t", text);
  CHECK(packed.size() < text.size());
  CHECK(unzip(packed, list_zip(packed, "x").at(0), "x") == text);
}

TEST_CASE("unzip: names that lead out of a folder, and names that are there twice", "[unzip]") {
  for (const char* name : {"../x", "a/../../x", "/etc/x", "a//x", "./x", "a\\x", "c:x", "a/..", "x\ny"}) {
    CAPTURE(name);
    CHECK_FALSE(why(to_zip({{name, "x"}})).empty());
  }
  CHECK(why(to_zip({{"..x/x..y", "x"}})).empty());
  CHECK_THAT(why(to_zip({{"A/x", "1"}, {"a/X", "2"}})), Catch::Contains("twice"));
}

TEST_CASE("unzip: links, encrypted entries, unknown methods and split archives", "[unzip]") {
  const std::string good = to_zip({{"a", "text"}, {"b", "more"}});
  REQUIRE(why(good).empty());
  const std::size_t d = directory_at(good), end = good.find("PK\x05\x06");
  std::string zip = good;
  put(zip, d + 4, 3 << 8, 2);
  put(zip, d + 38, 0120777u << 16, 4);
  CHECK_THAT(why(zip), Catch::Contains("link"));
  zip = good;
  put(zip, d + 8, 1, 2);
  CHECK_THAT(why(zip), Catch::Contains("encrypted"));
  zip = good;
  put(zip, d + 10, 12, 2);
  CHECK_THAT(why(zip), Catch::Contains("method 12"));
  zip = good;
  put(zip, end + 4, 1, 2);
  CHECK_THAT(why(zip), Catch::Contains("split"));
  zip = good;
  put(zip, end + 16, 0xffffffffu, 4);
  CHECK_THAT(why(zip), Catch::Contains("ZIP64"));
}

TEST_CASE("unzip: bombs are refused before they go off", "[unzip]") {
  // Zeros pack to a thousandth: 64 MiB in 64 KiB.
  const std::string bomb = deflated("zeros", std::string(std::size_t{64} << 20, '\0'));
  CHECK_THAT(why(bomb), Catch::Contains("no real file packs so well"));
  ZipLimits few;
  few.entries = 1;
  CHECK_THAT(why(to_zip({{"a", "1"}, {"b", "2"}}), few), Catch::Contains("claims 2 entries"));
  ZipLimits small;
  small.unpacked_bytes = 5;
  CHECK_THAT(why(to_zip({{"a", "123"}, {"b", "456"}}), small), Catch::Contains("MiB in all"));
  // Two names for the same bytes: with many, a small file unpacks to a large one.
  std::string twice = to_zip({{"a", "text"}, {"b", "text"}});
  put(twice, directory_at(twice, 1) + 42, 0, 4);
  CHECK_THAT(why(twice), Catch::Contains("two ways"));
  std::string over = to_zip({{"a", std::string(200, 'x')}, {"b", "text"}});
  const std::size_t d = directory_at(over);
  put(over, d + 20, 230, 4);
  put(over, d + 24, 230, 4);
  CHECK_THAT(why(over), Catch::Contains("over another"));
}

TEST_CASE("unzip: an entry that unpacks to more or less than it declares is damaged", "[unzip]") {
  const std::string good = deflated("t", std::string(1000, 'a') + "b");
  REQUIRE(why(good).empty());
  for (const std::uint32_t size : {1002u, 1000u, 0u}) {
    std::string zip = good;
    put(zip, directory_at(zip) + 24, size, 4);
    CHECK_THAT(why(zip), Catch::Contains("damaged"));
  }
  std::string zip = to_zip({{"a", "text"}});
  zip[31] = 'T';
  CHECK_THAT(why(zip), Catch::Contains("damaged"));
}

TEST_CASE("unzip: every shortened archive is refused, and so is every archive with one byte changed or none",
          "[unzip]") {
  const std::string good = to_zip({{"a/b", "text"}, {"c", "more text"}});
  for (std::size_t n = 0; n < good.size(); ++n) CHECK_FALSE(why(good.substr(0, n)).empty());
  // A changed byte may be harmless (a date); it must never do anything but read or refuse.
  for (std::size_t i = 0; i < good.size(); ++i)
    for (const int flip : {1, 0x80, 0xff}) {
      std::string zip = good;
      zip[i] = static_cast<char>(zip[i] ^ flip);
      CHECK_NOTHROW(why(zip));
    }
}
