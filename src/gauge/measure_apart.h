// Measuring a large mesh where several things may be done at once.
#pragma once

#include "base/tasks.h"
#include "gauge/gauge.h"

namespace bedwright {

/// What `measure` gives, to the bit.
Measurement measure_apart(const Mesh& soup, const AtOnce& at_once);

}  // namespace bedwright
