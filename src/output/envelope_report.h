// The fit envelope as the report prints it: what someone with another machine measures, and what the answer means.
#pragma once

#include <string>
#include <vector>

#include "checks/envelope.h"

namespace bedwright {

/// The report's `fit_envelope`; null for a limit that is not there.
Json envelope_json(const std::vector<EnvelopeRow>& rows);
/// A table with one line a measure. Empty for no rows.
std::string envelope_text(const std::vector<EnvelopeRow>& rows);

}  // namespace bedwright
