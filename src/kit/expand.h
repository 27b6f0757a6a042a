// From a checked document to plain values.
#pragma once

#include "kit/kit.h"

namespace bedwright {

/// The holes of a pattern in plan. Rectangular: front-left, front-right, rear-left, rear-right; bolt circle: h1, h2,
/// ... counter-clockwise from start_deg; listed: as they stand. The pattern must fit the schema.
std::vector<FrameHole> expand_pattern(const Json& pattern);

/// Typical play of a preload class, micrometres (common practice, no source).
double typical_clearance_um(const std::string& preload);

/// The kit of a document that has passed every check, without notes, assumptions and checksum.
Kit expand(const Json& document);

}  // namespace bedwright
