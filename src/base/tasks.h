// Work that may be done at once. The library has no threads: whoever calls it may bring them.
#pragma once

#include <functional>
#include <vector>

namespace bedwright {

/// Tasks of one list share nothing that any of them writes.
using Task = std::function<void()>;

/// Does all of them, in any order or at once, and returns when they are done. What the first of them in the list throws
/// is thrown again.
using AtOnce = std::function<void(const std::vector<Task>&)>;

inline void one_by_one(const std::vector<Task>& tasks) {
  for (const Task& task : tasks) task();
}

}  // namespace bedwright
