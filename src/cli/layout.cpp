// bedwright layout: where everything sits.
#include <memory>
#include <ostream>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "cli/run.h"
#include "drawing/template_sheets.h"
#include "output/layout_drawing.h"
#include "output/layout_report.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

/// First all sheets as seen from above, then those from below.
std::string template_pdf(const Kit& kit, const Layout& layout) {
  std::vector<Page> pages = template_sheets(kit, layout, false).tiles;
  const std::vector<Page> below = template_sheets(kit, layout, true).tiles;
  pages.insert(pages.end(), below.begin(), below.end());
  return to_pdf(pages, kit.name + " " + kit.revision + ": template");
}

}  // namespace

Command add_layout(CLI::App& program) {
  auto options = std::make_shared<KitOptions>();
  auto picture = std::make_shared<std::string>(), paper = std::make_shared<std::string>();
  CLI::App* app = program.add_subcommand(
      "layout", "Show placements, travel, heights, rails, rocking before and after, and the distinct parts");
  app->add_option("KIT.json", options->kit_path, "The kit file")->required();
  app->add_option("--set", options->settings, "Change one value before checking (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app->add_option("--out", *picture,
                  "Draw it too, from above and from the side, to scale; a file that is there is replaced")
      ->type_name("FILE.svg");
  app->add_option("--template", *paper,
                  "Print a paper template at 1:1 to drill by and to hold against the frame, from above and from below: "
                  "A4 sheets (.pdf) or one large sheet (.svg); a file that is there is replaced")
      ->type_name("FILE");
  app->footer(
      "Examples:\n"
      "  bedwright layout my-machine.json --set /carriages/spacing_mm=widest --out layout.svg\n"
      "  bedwright layout my-machine.json --template template.pdf");
  return {app, [options, picture, paper](Streams& streams) {
            const std::string ending = paper->size() < 4 ? "" : paper->substr(paper->size() - 4);
            if (!paper->empty() && ending != ".pdf" && ending != ".svg")
              throw BadUsage("--template " + *paper + ": name it .pdf for sheets of A4, or .svg for one large sheet");
            const Kit kit = read_kit_with(*options);
            const Layout layout = settle(kit);
            const std::vector<Part> parts = keyed_parts(kit, layout);
            const MachineAnswers answers = machine_answers(kit, layout, {});
            if (!picture->empty()) write_file(*picture, layout_drawing_svg(kit, layout, answers.rails));
            if (!paper->empty())
              write_file(*paper, ending == ".pdf" ? template_pdf(kit, layout) : to_svg(template_page(kit, layout)));
            streams.out << (streams.json ? layout_document(kit, layout, parts, answers).dump(2) + "\n"
                                         : layout_text(kit, layout, parts, answers));
            return exit_done;
          }};
}

}  // namespace bedwright
