// bedwright check: everything that make does, but no files; or a folder that make wrote, as one set.
#include <algorithm>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "cli/check_set.h"
#include "cli/run.h"
#include "output/envelope_report.h"

namespace bedwright {
namespace {

struct CheckOptions {
  KitOptions kit;
  SetOptions set;
  bool envelope = false;
};

int run_check(Streams& streams, const CheckOptions& options) {
  if (std::filesystem::is_directory(options.kit.kit_path)) {
    SetOptions set = options.set;
    set.folders.insert(set.folders.begin(), options.kit.kit_path);
    return check_sets(streams, set, nullptr);
  }
  const MadeSet made = make_all(options.kit, streams);
  if (!options.set.folders.empty()) return check_sets(streams, options.set, &made);
  if (!options.set.pieces.empty()) throw BadUsage("--have counts the pieces of a folder: name it with --folder");
  if (!options.envelope)
    streams.out << (streams.json ? to_json(made.report) : to_text(made.report));
  else if (streams.json)
    streams.out << Json{{"format", "bedwright/envelope/1"},
                        {"kit", made.report.kit},
                        {"revision", made.report.revision},
                        {"fit_envelope", envelope_json(made.report.envelope)}}
                       .dump(2)
                << "\n";
  else
    streams.out << envelope_text(made.report.envelope);
  return has_error(made.report.findings) ? exit_findings : exit_done;
}

}  // namespace

Command add_check(CLI::App& program) {
  auto options = std::make_shared<CheckOptions>();
  CLI::App* app = program.add_subcommand("check", "Run every check on a kit, or on a folder that make wrote");
  add_kit_options(*app, options->kit);
  app->add_option("--folder", options->set.folders,
                  "A folder that make wrote: is it one whole set, and this kit's? (repeatable: do they go together?)")
      ->type_name("DIR")
      ->allow_extra_args(false);
  app->add_option("--have", options->set.pieces, "How many pieces of a part you have: adapter-a=2 (repeatable)")
      ->type_name("ID=N")
      ->allow_extra_args(false);
  app->add_flag("--envelope", options->envelope, "Print which other machines the parts still fit, to measure against");
  app->add_option("--against", options->kit.against,
                  "Another kit, such as the last revision: its parts are tried in this one's places too")
      ->type_name("OLD-KIT.json");
  app->footer(
      "Examples:\n"
      "  bedwright check my-machine.json\n"
      "  bedwright check my-machine.json --set /parts/0/thickness_mm=5\n"
      "  bedwright check my-machine.json --envelope\n"
      "  bedwright check my-machine.json --against my-machine-rev-a.json\n"
      "  bedwright check out/my-machine-A                  a folder in place of a kit: is it one whole set?\n"
      "  bedwright check my-machine.json --folder out/my-machine-A --have adapter-a=2 --have adapter-b=2\n\n"
      "The parts are built, measured and compared in memory, as `make` would write them; nothing is written.");
  return {app, [options](Streams& streams) { return run_check(streams, *options); }};
}

}  // namespace bedwright
