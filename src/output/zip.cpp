#include "output/zip.h"

#include <cstdint>

#include "base/crc32.h"
#include "base/error.h"

namespace bedwright {
namespace {

constexpr std::uint64_t largest_archive = 0xffffffffu;
constexpr std::size_t most_entries = 0xffff;
constexpr std::uint32_t version_needed = 10, first_of_january_1980 = 0x21;

void put(std::string& out, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out += static_cast<char>((value >> (8 * i)) & 0xff);
}

/// What the local and the central header have in common, from the version on.
void put_facts(std::string& out, const ZipView& entry, std::uint32_t crc) {
  const auto size = static_cast<std::uint32_t>(entry.bytes.size());
  put(out, version_needed, 2);
  put(out, 0, 2);  // flags
  put(out, 0, 2);  // stored
  put(out, 0, 2);  // midnight
  put(out, first_of_january_1980, 2);
  put(out, crc, 4);
  put(out, size, 4);
  put(out, size, 4);
  put(out, static_cast<std::uint32_t>(entry.name.size()), 2);
  put(out, 0, 2);  // no extra field
}

}  // namespace

std::string zip_of(const std::vector<ZipView>& entries) {
  std::uint64_t total = 0;
  for (const ZipView& entry : entries) total += 2 * entry.name.size() + entry.bytes.size() + 128;
  if (entries.size() > most_entries || total > largest_archive) throw Error("too much for one ZIP archive");
  std::string out, directory;
  out.reserve(total);
  for (const ZipView& entry : entries) {
    const auto offset = static_cast<std::uint32_t>(out.size());
    const std::uint32_t crc = crc32(entry.bytes);
    put(out, 0x04034b50, 4);
    put_facts(out, entry, crc);
    out += entry.name;
    out += entry.bytes;
    put(directory, 0x02014b50, 4);
    put(directory, version_needed, 2);
    put_facts(directory, entry, crc);
    put(directory, 0, 2);  // no comment
    put(directory, 0, 2);  // disk
    put(directory, 0, 2);  // internal attributes
    put(directory, 0, 4);  // external attributes
    put(directory, offset, 4);
    directory += entry.name;
  }
  const auto start = static_cast<std::uint32_t>(out.size()), count = static_cast<std::uint32_t>(entries.size());
  out += directory;
  put(out, 0x06054b50, 4);
  put(out, 0, 2);
  put(out, 0, 2);
  put(out, count, 2);
  put(out, count, 2);
  put(out, static_cast<std::uint32_t>(directory.size()), 4);
  put(out, start, 4);
  put(out, 0, 2);
  return out;
}

std::string to_zip(const std::vector<std::pair<std::string, std::string>>& entries) {
  std::vector<ZipView> views;
  for (const auto& [name, bytes] : entries) views.push_back({name, bytes});
  return zip_of(views);
}

}  // namespace bedwright
