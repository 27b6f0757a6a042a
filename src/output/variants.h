// A table of variants of one kit: which sets it asks for, and the table of what became of them.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "kit/read_kit.h"
#include "output/report.h"

namespace bedwright {

struct Variant {
  int line = 0;  ///< of the table
  std::vector<Setting> settings;
  std::string name;  ///< KIT-REVISION: its folder
};

inline constexpr std::size_t largest_variants_bytes = std::size_t(64) << 20, most_variants = 100000;

/// The first line holds JSON pointers, each further one a kit: a cell replaces the kit's value there, an empty one
/// leaves it. Values as `--set` reads them; decimal commas where the columns are not parted by commas. Kit and revision
/// of two rows may not be alike: they name the folders.
/// Throws BadInput naming `source`: a column that no kit has, a name that no folder can have, two rows of one name, no
/// rows, too many.
std::vector<Variant> read_variants(const std::string& text, const std::string& source, const std::string& kit_text);

struct VariantResult {
  enum class Kind { made, kept, findings, bad } kind = Kind::made;
  int parts = 0, errors = 0, warnings = 0;
  double mass_g = 0;
  std::string message;  ///< the first error, or why it could not be read
};
const char* to_text(VariantResult::Kind kind);

/// Of a set that was made or is there: counts and the first error of its report.
VariantResult result_of(const Json& report, VariantResult::Kind kind);

/// line, set, result, parts, mass_g, errors, warnings, message: one row a variant, in the table's order.
std::string results_csv(const std::vector<Variant>& variants, const std::vector<VariantResult>& results);

/// Whether the files are the set that `report` describes, made from this input by this very program: every file that it
/// names is there, and is the one that the set's SHA256SUMS names.
bool is_whole(const Json& report, const std::string& input_sha256,
              const std::map<std::string, std::string>& files);

}  // namespace bedwright
