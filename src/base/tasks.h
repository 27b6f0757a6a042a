// Work that may be done at once. The library has no threads: whoever calls it may bring them.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace bedwright {

/// Tasks of one list share nothing that any of them writes.
using Task = std::function<void()>;

/// Does all of them, in any order or at once, and returns when they are done. What the first of them in the list throws
/// is thrown again.
using AtOnce = std::function<void(const std::vector<Task>&)>;

/// Does work(i) for every i below the count, as one list of tasks.
template <typename Work>
void each_at_once(const AtOnce& at_once, std::size_t count, const Work& work) {
  std::vector<Task> tasks;
  for (std::size_t i = 0; i < count; ++i) tasks.push_back([&work, i] { work(i); });
  at_once(tasks);
}

inline void one_by_one(const std::vector<Task>& tasks) {
  for (const Task& task : tasks) task();
}

}  // namespace bedwright
