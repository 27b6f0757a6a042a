// bedwright layout: where everything sits.
#include <memory>
#include <ostream>

#include "checks/keyed_parts.h"
#include "cli/run.h"
#include "output/layout_report.h"

namespace bedwright {

Command add_layout(CLI::App& program) {
  auto options = std::make_shared<KitOptions>();
  CLI::App* app =
      program.add_subcommand("layout", "Show placements, travel, rocking before and after, and the distinct parts");
  app->add_option("KIT.json", options->kit_path, "The kit file")->required();
  app->add_option("--set", options->settings, "Change one value before checking (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app->footer("Example:\n  bedwright layout my-machine.json --set /carriages/spacing_mm=100");
  return {app, [options](Streams& streams) {
            const Kit kit = read_kit_with(*options);
            const Layout layout = settle(kit);
            const std::vector<Part> parts = keyed_parts(kit, layout);
            streams.out << (streams.json ? layout_document(kit, layout, parts).dump(2) + "\n"
                                         : layout_text(kit, layout, parts));
            return exit_done;
          }};
}

}  // namespace bedwright
