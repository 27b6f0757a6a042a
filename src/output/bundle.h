// A set as others get it: one ZIP archive with all that it takes to judge, print, fit and regenerate it.
#pragma once

#include <map>
#include <string>

#include "kit/beside.h"
#include "output/report.h"

namespace bedwright {

using Files = std::map<std::string, std::string>;  ///< bytes by relative name

inline constexpr std::size_t largest_bundle_bytes = std::size_t(512) << 20;
inline constexpr std::size_t largest_picture_bytes = std::size_t(16) << 20;

/// What goes in, beside the report.
struct BundleSource {
  std::string kit_text;  ///< as its owner wrote it
  Files named;           ///< the files that the kit names, by those names
  Files set;             ///< the whole set, as make writes it
  Files pictures;        ///< "travel.jpg": by trial (output/trials.h)
};

/// Every file of the bundle by its name in it: read-me, kit, set/, texts for people, pictures/, SHA256SUMS. Same input,
/// same bytes. Throws BadInput where the kit names a file as the bundle names one of its own, or a picture is none.
Files bundle_files(const Kit& kit, const Report& report, const BundleSource& source);
/// The archive: everything in one folder, KIT-REVISION.
std::string to_bundle(const Kit& kit, const Files& files);

struct Bundle {
  std::string kit_text;
  Beside beside;  ///< all files, from the kit's place on
  Files set;      ///< as published
};

bool is_bundle(const std::string& bytes);  ///< begins as a ZIP archive does

/// Trusts nothing: names, links, sizes and counts are checked before anything is unpacked, every checksum after it.
/// Throws BadInput naming `source`, a sentence for what is wrong.
Bundle read_bundle(const std::string& bytes, const std::string& source);

}  // namespace bedwright
