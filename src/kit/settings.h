// `--set`: changes a document before it is checked.
#pragma once

#include <vector>

#include "base/error.h"
#include "kit/read_kit.h"

namespace bedwright {

/// Applies the settings in order. A text is read by the schema's type at the pointer: strings as they stand, all else
/// as JSON. Missing keys are made; an index may be at most one past the end of its list.
void apply_settings(const Json& schema, Json& document, const std::vector<Setting>& settings,
                    std::vector<Problem>& problems);

}  // namespace bedwright
