// Tasks as the program does them on two cores.
#pragma once

#include <atomic>
#include <thread>

#include "base/tasks.h"

namespace bench {

inline void on_two(const std::vector<bedwright::Task>& tasks) {
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < tasks.size(); i = next++) tasks[i]();
  };
  std::thread second(work);
  work();
  second.join();
}

}  // namespace bench
