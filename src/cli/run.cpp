#include "cli/run.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <optional>
#include <ostream>
#include <thread>

#include "base/error.h"
#include "checks/keyed_parts.h"

namespace bedwright {
namespace {

constexpr int most_jobs = 64;

/// A line on a terminal that is written over; nothing anywhere else.
class Progress {
 public:
  Progress(Streams& streams, std::size_t total) : streams_(streams), total_(total) {}
  void done(const std::string& what) {
    const std::lock_guard<std::mutex> lock(mutex_);
    ++done_;
    if (streams_.progress) streams_.err << "\r\033[K" << done_ << "/" << total_ << " " << what << std::flush;
  }
  void clear() {
    if (streams_.progress) streams_.err << "\r\033[K" << std::flush;
  }

 private:
  Streams& streams_;
  std::size_t total_, done_ = 0;
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
  for (std::size_t k = 1; k < std::min<std::size_t>(n, static_cast<std::size_t>(jobs)); ++k)
    threads.emplace_back(worker);
  worker();
  for (std::thread& thread : threads) thread.join();
  for (const std::exception_ptr& e : thrown)
    if (e) std::rethrow_exception(e);
}

bool belongs_to(const Part& part, const std::string& id) {
  return part.id == id || part.settings.value("id", "") == id;
}

bool wanted(const Part& part, const std::vector<std::string>& only) {
  return only.empty() ||
         std::any_of(only.begin(), only.end(), [&](const std::string& id) { return belongs_to(part, id); });
}

void require_known(const std::vector<std::string>& only, const std::vector<Part>& parts) {
  for (const std::string& id : only) {
    if (std::any_of(parts.begin(), parts.end(), [&](const Part& p) { return belongs_to(p, id); })) continue;
    std::string ids;
    for (const Part& p : parts) ids += (ids.empty() ? "" : ", ") + p.id;
    throw BadUsage("--only " + id + ": this kit has no such part; it has " + ids);
  }
}

}  // namespace

void add_kit_options(CLI::App& app, KitOptions& options) {
  app.add_option("KIT.json", options.kit_path, "The kit file")->required();
  app.add_option("--set", options.settings, "Change one value before checking: /frame/dome/radius_mm=2500 (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app.add_option("--jobs", options.jobs, "Parts made at once; default: one a core. The files do not depend on it")
      ->type_name("N")
      ->check(CLI::Range(1, most_jobs));
}

Kit read_kit_with(const KitOptions& options) {
  std::vector<Setting> settings;
  for (const std::string& text : options.settings) settings.push_back(parse_setting(text));
  return read_kit_file(options.kit_path, settings);
}

MadeSet make_all(const KitOptions& options, Streams& streams) {
  MadeSet set;
  set.kit = read_kit_with(options);
  set.layout = settle(set.kit);
  std::optional<OldSet> old;
  if (!options.against.empty()) {
    const Kit other = read_kit_file(options.against, {});
    old = OldSet{other.revision, keyed_parts(other, settle(other))};
  }
  std::vector<Finding> failures;
  std::vector<Part> parts;
  try {
    parts = keyed_parts(set.kit, set.layout);
  } catch (const CannotBuild& e) {
    failures.push_back(finding_of(e, ""));
    set.report = assemble(set.kit, set.layout, {}, failures);
    return set;
  }
  require_known(options.only, parts);

  const int cores = static_cast<int>(std::thread::hardware_concurrency());
  const int jobs = options.jobs > 0 ? options.jobs : std::clamp(cores, 1, most_jobs);
  Progress progress(streams, parts.size());
  std::vector<std::optional<MadePart>> made(parts.size());
  std::vector<std::optional<Finding>> failed(parts.size());
  for_each_index(parts.size(), jobs, [&](std::size_t i) {
    try {
      made[i] = make_part(set.kit, set.layout, parts[i]);
    } catch (const CannotBuild& e) {
      failed[i] = finding_of(e, parts[i].id);
    }
    progress.done(parts[i].id);
  });
  progress.clear();
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (made[i]) set.parts.push_back(std::move(*made[i]));
    if (failed[i] && wanted(parts[i], options.only)) failures.push_back(*failed[i]);
  }
  for_each_index(set.parts.size(), jobs, [&](std::size_t i) { compare_made(set.parts, i); });
  for (const MadePart& part : set.parts)
    if (wanted(part.report.part, options.only)) set.only_parts.push_back(part);
  set.report = assemble(set.kit, set.layout, set.only_parts, failures, old ? &*old : nullptr);
  return set;
}

}  // namespace bedwright
