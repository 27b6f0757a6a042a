// A ZIP archive in memory: entries stored as they are, in the order given, all dated 1980-01-01, so that the same
// entries are the same bytes. Source: PKWARE APPNOTE (stored entries, no ZIP64); CRC-32 as ISO 3309.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace bedwright {

struct ZipView {
  std::string_view name, bytes;
};

/// Names: ASCII, forward slashes. Throws Error for more than 65535 entries or 4 GiB in all.
std::string zip_of(const std::vector<ZipView>& entries);
/// Of names and bytes.
std::string to_zip(const std::vector<std::pair<std::string, std::string>>& entries);

}  // namespace bedwright
