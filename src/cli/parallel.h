// Work on several threads, and a line that says how far it is.
#pragma once

#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "base/tasks.h"
#include "cli/commands.h"

namespace bedwright {

inline constexpr int most_jobs = 64;

/// `asked`, or where that is 0 as many as the machine has cores.
int jobs_or_cores(int asked);

/// A line on a terminal that is written over; nothing anywhere else.
class Progress {
 public:
  /// `timed`: says how long the rest will take.
  Progress(Streams& streams, std::size_t total, bool timed = false);
  void done(const std::string& what);
  void clear();

 private:
  Streams& streams_;
  std::size_t total_, done_ = 0;
  bool timed_;
  double began_s_;
  std::mutex mutex_;
};

/// Calls work(i) for every i below n, on several threads; what is thrown first (by index) is thrown again.
template <typename Work>
void for_each_index(std::size_t n, int jobs, Work work) {
  std::vector<std::exception_ptr> thrown(n);
  std::atomic<std::size_t> next{0};
  const auto worker = [&] {
    for (std::size_t i = next++; i < n; i = next++) {
      try {
        work(i);
      } catch (...) {
        thrown[i] = std::current_exception();
      }
    }
  };
  std::vector<std::thread> threads;
  try {
    for (std::size_t k = 1; k < n && k < static_cast<std::size_t>(jobs); ++k) threads.emplace_back(worker);
  } catch (const std::exception&) {
    // No room for another thread: those that there are do the work.
  }
  worker();
  for (std::thread& thread : threads) thread.join();
  for (const std::exception_ptr& e : thrown)
    if (e) std::rethrow_exception(e);
}

/// Tasks of the library on so many threads.
inline AtOnce tasks_on(int jobs) {
  return [jobs](const std::vector<Task>& tasks) {
    for_each_index(tasks.size(), jobs, [&](std::size_t i) { tasks[i](); });
  };
}

}  // namespace bedwright
