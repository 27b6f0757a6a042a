// bedwright check: everything that make does, but no files.
#include <memory>
#include <ostream>

#include "cli/run.h"

namespace bedwright {

Command add_check(CLI::App& program) {
  auto options = std::make_shared<KitOptions>();
  CLI::App* app = program.add_subcommand("check", "Run every check on a kit; writes no files");
  add_kit_options(*app, *options);
  app->footer(
      "Examples:\n"
      "  bedwright check my-machine.json\n"
      "  bedwright check my-machine.json --set /parts/0/thickness_mm=5\n\n"
      "The parts are built, measured and compared in memory, as `make` would write them.");
  return {app, [options](Streams& streams) {
            const MadeSet set = make_all(*options, streams);
            streams.out << (streams.json ? to_json(set.report) : to_text(set.report));
            return has_error(set.report.findings) ? exit_findings : exit_done;
          }};
}

}  // namespace bedwright
