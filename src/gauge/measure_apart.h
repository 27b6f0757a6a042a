// Measuring a large mesh where two things may be done at once. The library has no threads: the caller brings them.
#pragma once

#include <functional>

#include "base/tasks.h"
#include "gauge/gauge.h"

namespace bedwright {

/// What `measure` gives, to the bit. `both` does its two tasks, in any order or at once, and returns when both are
/// done; they share nothing that either writes.
Measurement measure_apart(const Mesh& soup, const std::function<void(const Task&, const Task&)>& both);

}  // namespace bedwright
