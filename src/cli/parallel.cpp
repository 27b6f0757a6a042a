#include "cli/parallel.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ostream>

namespace bedwright {
namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

std::string spoken_time(double s) {
  const long whole = std::lround(s);
  return whole < 90 ? std::to_string(whole) + " s" : std::to_string((whole + 30) / 60) + " min";
}

}  // namespace

int jobs_or_cores(int asked) {
  return asked > 0 ? asked : std::clamp(static_cast<int>(std::thread::hardware_concurrency()), 1, most_jobs);
}

Progress::Progress(Streams& streams, std::size_t total, bool timed)
    : streams_(streams), total_(total), timed_(timed), began_s_(timed ? now_s() : 0) {}

void Progress::done(const std::string& what) {
  const std::lock_guard<std::mutex> lock(mutex_);
  ++done_;
  if (!streams_.progress) return;
  streams_.err << "\r\033[K" << done_ << "/" << total_ << " " << what;
  if (timed_ && done_ < total_)
    streams_.err << ", "
                 << spoken_time((now_s() - began_s_) / static_cast<double>(done_) * static_cast<double>(total_ - done_))
                 << " left";
  streams_.err << std::flush;
}

void Progress::clear() {
  if (streams_.progress) streams_.err << "\r\033[K" << std::flush;
}

}  // namespace bedwright
