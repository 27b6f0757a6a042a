// bedwright layout: where everything sits.
#include <memory>
#include <ostream>

#include "checks/keyed_parts.h"
#include "cli/run.h"
#include "output/layout_drawing.h"
#include "output/layout_report.h"
#include "output/write_set.h"

namespace bedwright {

Command add_layout(CLI::App& program) {
  auto options = std::make_shared<KitOptions>();
  auto picture = std::make_shared<std::string>();
  CLI::App* app = program.add_subcommand(
      "layout", "Show placements, travel, heights, rails, rocking before and after, and the distinct parts");
  app->add_option("KIT.json", options->kit_path, "The kit file")->required();
  app->add_option("--set", options->settings, "Change one value before checking (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app->add_option("--out", *picture,
                  "Draw it too, from above and from the side, to scale; a file that is there is replaced")
      ->type_name("FILE.svg");
  app->footer("Example:\n  bedwright layout my-machine.json --set /carriages/spacing_mm=widest --out layout.svg");
  return {app, [options, picture](Streams& streams) {
            const Kit kit = read_kit_with(*options);
            const Layout layout = settle(kit);
            const std::vector<Part> parts = keyed_parts(kit, layout);
            const MachineAnswers answers = machine_answers(kit, layout, {});
            if (!picture->empty()) write_file(*picture, layout_drawing_svg(kit, layout, answers.rails));
            streams.out << (streams.json ? layout_document(kit, layout, parts, answers).dump(2) + "\n"
                                         : layout_text(kit, layout, parts, answers));
            return exit_done;
          }};
}

}  // namespace bedwright
