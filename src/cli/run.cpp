#include "cli/run.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "cli/parallel.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_set_file = std::size_t(256) << 20;

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
  app.add_option("KIT.json", options.kit_path, "The kit file, or a bundle that publish wrote")->required();
  app.add_option("--set", options.settings, "Change one value before checking: /frame/dome/radius_mm=2500 (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app.add_option("--jobs", options.jobs, "Parts made at once; default: one a core. The files do not depend on it")
      ->type_name("N")
      ->check(CLI::Range(1, most_jobs));
}

bool begins_as_bundle(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  char first[4] = {};
  return file.read(first, sizeof first) && is_bundle(std::string(first, sizeof first));
}

Kit read_kit_with(const KitOptions& options, std::optional<Bundle>* bundle) {
  std::vector<Setting> settings;
  for (const std::string& text : options.settings) settings.push_back(parse_setting(text));
  if (!begins_as_bundle(options.kit_path)) return read_kit_file(options.kit_path, settings);
  Bundle read = read_bundle(read_file(options.kit_path, largest_bundle_bytes), options.kit_path);
  Kit kit = read_kit(read.kit_text, options.kit_path, read.beside, settings);
  if (bundle) *bundle = std::move(read);
  return kit;
}

Files files_of_set(const std::string& folder) {
  Files files;
  std::error_code ignored;
  const auto plain = [&](const std::string& name) {
    const fs::path path = fs::path(folder) / name;
    // A link in a set is nobody's work of ours.
    return fs::symlink_status(path, ignored).type() == fs::file_type::regular;
  };
  const auto take = [&](const std::string& name) {
    files[name] = read_file((fs::path(folder) / name).string(), largest_set_file);
  };
  if (!plain("report.json")) return files;
  take("report.json");
  const Json report = Json::parse(files["report.json"], nullptr, false);
  if (!report.is_object() || report.value("format", Json()) != "bedwright/report/1" || !report.contains("files") ||
      !report["files"].is_array())
    return {};
  for (const Json& name : report["files"]) {
    if (!name.is_string()) return {};
    const fs::path path(name.get<std::string>());
    const bool climbs = std::find(path.begin(), path.end(), "..") != path.end();
    if (path.is_absolute() || climbs) return {};
    if (plain(name.get<std::string>())) take(name.get<std::string>());
  }
  return files;
}

MadeSet make_all(const KitOptions& options, Streams& streams) {
  return make_all(read_kit_with(options), options, streams);
}

MadeSet make_all(Kit kit, const KitOptions& options, Streams& streams, const KeptParts& kept) {
  MadeSet set;
  set.kit = std::move(kit);
  set.layout = settle(set.kit);
  std::optional<OldSet> old;
  if (!options.against.empty()) {
    const Kit other = read_kit_file(options.against, {});
    old = OldSet{other.revision, keyed_parts(other, settle(other))};
  }
  const int jobs = jobs_or_cores(options.jobs);
  std::vector<Finding> failures;
  std::vector<Part> parts;
  try {
    parts = keyed_parts(set.kit, set.layout, tasks_on(jobs));
  } catch (const CannotBuild& e) {
    failures.push_back(finding_of(e, ""));
    set.report = assemble(set.kit, set.layout, {}, failures);
    return set;
  }
  require_known(options.only, parts);

  Progress progress(streams, parts.size());
  std::vector<std::optional<MadePart>> made(parts.size());
  std::vector<std::optional<Finding>> failed(parts.size());
  for_each_index(parts.size(), jobs, [&](std::size_t i) {
    try {
      made[i] = make_part(set.kit, set.layout, parts[i], &kept);
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
  set.report = assemble(set.kit, set.layout, set.only_parts, failures, old ? &*old : nullptr, tasks_on(jobs));
  return set;
}

}  // namespace bedwright
