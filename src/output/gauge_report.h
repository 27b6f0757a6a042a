// What `gauge` prints.
#pragma once

#include <string>

#include "gauge/compare.h"
#include "kit/kit.h"

namespace bedwright {

/// `part` and `comparison` are for a file held against a kit's part; nullptr otherwise. Coordinates: the file's frame.
Json gauge_document(const std::string& file, const Measurement& measured, const Part* part,
                    const Comparison* comparison);
std::string gauge_text(const std::string& file, const Measurement& measured, const Part* part,
                       const Comparison* comparison);

}  // namespace bedwright
