// Reads ZIP archives that come from anyone: what is not plain is refused before anything is unpacked.
// Source: PKWARE APPNOTE 6.3, methods 0 (stored) and 8 (deflate), no encryption, no ZIP64, one disk.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace bedwright {

struct ZipLimits {
  std::size_t entries = 4096;
  std::uint64_t unpacked_bytes = std::uint64_t{1} << 30;  ///< all entries together
  /// An entry above `small_bytes` may be at most this many times its packed size; text packs to about a tenth.
  std::uint64_t ratio = 200;
  std::uint64_t small_bytes = std::uint64_t{4} << 20;
};

struct ZipEntry {
  std::string name;  ///< relative, forward slashes, no step up; folders' entries are left out
  int method = 0;
  std::uint32_t crc = 0;
  std::uint64_t packed_bytes = 0, unpacked_bytes = 0;
  std::size_t at = 0;  ///< where its packed bytes begin
};

/// Every file of the archive, in its directory's order. Throws BadInput: not an archive, cut short, damaged, encrypted,
/// names that lead out of a folder or are there twice (also where only capitals differ), links, entries that lie over
/// each other, or more than the limits.
std::vector<ZipEntry> list_zip(const std::string& bytes, const std::string& source, const ZipLimits& limits = {});

/// One entry's bytes; never more than it declared. Throws BadInput where they are damaged.
std::string unzip(const std::string& bytes, const ZipEntry& entry, const std::string& source);

}  // namespace bedwright
