// bedwright make: the main job.
#include <algorithm>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "output/checksums.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct MakeOptions {
  KitOptions kit;
  std::string out;
  bool force = false;
};

constexpr std::size_t largest_set_file = std::size_t(256) << 20;

bool is_old_set(const std::string& folder) {
  return fs::is_regular_file(fs::path(folder) / "report.json");
}

/// Into an old set, --only may bring nothing but the parts it names: all others must be there, as they would be made.
void require_others_unchanged(const MadeSet& set, const std::string& folder) {
  for (const MadePart& part : set.parts) {
    const bool named = std::any_of(set.only_parts.begin(), set.only_parts.end(),
                                   [&](const MadePart& p) { return p.report.part.id == part.report.part.id; });
    if (named) continue;
    const std::string path = (fs::path(folder) / part.report.file).string();
    if (!fs::is_regular_file(path) || read_file(path, largest_set_file) != part.bytes)
      throw BadUsage("--only: " + part.report.part.id + " in " + folder +
                     " would change as well; make the whole set, or give --out a new folder");
  }
}

void require_written(const std::string& folder, const std::map<std::string, std::string>& files) {
  for (const auto& [name, bytes] : files) {
    const std::string path = (fs::path(folder) / name).string();
    if (read_file(path, largest_set_file) != bytes)
      throw FileError(path, "does not read back as it was written; check the disk");
  }
}

bool is_current_folder(const std::string& folder) {
  std::error_code ignored;
  return fs::equivalent(folder, fs::current_path(ignored), ignored);
}

/// On the terminal, never in the report: the set is the same either way.
void tell_reused(Streams& streams, const MadeSet& set, const std::string& folder) {
  std::string ids;
  std::size_t count = 0;
  for (const MadePart& part : set.parts)
    if (part.reused && ++count) ids += (ids.empty() ? "" : ", ") + part.report.part.id;
  if (count == 0) return;
  streams.err << (count == set.parts.size() ? "Nothing to build" : "Not built again") << ": " << ids
              << (count == 1 ? " is" : " are") << " in " << folder
              << ", made from the same inputs; read back and measured. --rebuild builds anew.\n";
}

/// What became of a bundle's files; the two lists that tell of the program are not compared.
void tell_against_bundle(std::ostream& out, const Bundle& bundle, const Files& files) {
  std::string others;
  std::size_t same = 0, differ = 0;
  const auto count = [&](const std::string& name, bool equal) {
    if (name == reuse_name || name == checksums_name) return;
    ++(equal ? same : differ);
    if (!equal) others += (others.empty() ? "" : ", ") + name;
  };
  for (const auto& [name, bytes] : files) {
    const auto found = bundle.set.find(name);
    count(name, found != bundle.set.end() && found->second == bytes);
  }
  for (const auto& [name, bytes] : bundle.set)
    if (!files.count(name)) count(name, false);
  out << "Against the bundle: " << same << (same == 1 ? " file is" : " files are") << " the same bytes";
  if (differ > 0) {
    out << ", " << differ << (differ == 1 ? " is not: " : " are not: ") << others;
    if (!made_by_this_program(bundle.set)) out << " (it was made by another version of bedwright)";
  }
  out << ".\n";
}

int run_make(Streams& streams, const MakeOptions& options) {
  std::optional<Bundle> bundle;
  Kit kit = read_kit_with(options.kit, &bundle);
  const std::string folder = options.out.empty() ? "out/" + kit.name + "-" + kit.revision : options.out;
  const KeptParts kept = options.kit.rebuild ? KeptParts() : kept_parts(files_of_set(folder));
  MadeSet set = make_all(std::move(kit), options.kit, streams, kept);
  tell_reused(streams, set, folder);
  std::vector<MadePart>* parts = &set.only_parts;
  if (!options.kit.only.empty() && is_old_set(folder)) {
    require_others_unchanged(set, folder);
    // The others are the same bytes, so the set stays whole, with one report for all of it.
    const std::vector<Finding> failures;
    if (!has_error(set.report.findings)) set.report = assemble(set.kit, set.layout, set.parts, failures);
    parts = &set.parts;
  }
  const bool errors = has_error(set.report.findings);
  const bool writes = (!errors || options.force) && !parts->empty();
  Files files;
  if (writes) {
    const bool standing_there = is_current_folder(folder);
    files = files_of(set.kit, set.report, *parts, tasks_on(jobs_or_cores(options.kit.jobs)));
    write_set(folder, files);
    require_written(folder, files);
    if (standing_there) streams.err << "The folder you stand in was replaced: cd . shows the new files.\n";
  }
  streams.out << (streams.json ? to_json(set.report) : to_text(set.report));
  if (!streams.json && writes) streams.out << "Files: " << folder << "\n";
  if (!streams.json && writes && bundle) tell_against_bundle(streams.out, *bundle, files);
  if (!writes)
    streams.err << "Nothing was written: there are findings at error level"
                << (parts->empty() ? ".\n" : ". --force writes the files all the same.\n");
  return errors ? exit_findings : exit_done;
}

}  // namespace

Command add_make(CLI::App& program) {
  auto options = std::make_shared<MakeOptions>();
  CLI::App* app = program.add_subcommand("make", "Make all parts of a kit: STL files, report, hardware list");
  add_kit_options(*app, options->kit);
  app->add_option("--out", options->out, "Folder for the set; default: out/KIT-REVISION")->type_name("DIR");
  app->add_option("--only", options->kit.only,
                  "Make just this part (repeatable), into a new folder or a set whose other parts are unchanged")
      ->type_name("ID")
      ->allow_extra_args(false);
  app->add_flag("--force", options->force, "Write the files even with findings at error level; exit status stays 1");
  app->add_flag("--rebuild", options->kit.rebuild,
                "Build every part anew; without it, parts of DIR whose inputs did not change are kept");
  app->footer(
      "Examples:\n"
      "  bedwright make my-machine.json\n"
      "  bedwright make my-machine.json --set /frame/dome/radius_mm=2500 --out try-2500\n"
      "  bedwright make my-machine.json --only riser --out riser-only\n"
      "  bedwright make my-machine.json --json > report.json\n"
      "  bedwright make bundle.zip --set /frame/dome/radius_mm=2450\n\n"
      "A folder is replaced only if it is absent, empty, or holds just what an earlier run wrote.\n"
      "With findings at error level nothing is written, and the exit status is 1.");
  return {app, [options](Streams& streams) { return run_make(streams, *options); }};
}

}  // namespace bedwright
