// Strict JSON: what a general parser lets pass (repeated keys, endless nesting) is a problem here, with its place.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "kit/kit.h"

namespace bedwright {

/// Deeper nesting than any kit has.
inline constexpr std::size_t deepest_nesting = 32;

/// The document, or nothing if it breaks off; problems are added either way (a repeated key leaves a document). A byte
/// order mark is allowed; comments, NaN and Infinity are not. `root` is put before the pointers of problems.
std::optional<Json> parse_strict(const std::string& text, std::vector<Problem>& problems, const std::string& root = "");

}  // namespace bedwright
