// bedwright changes: two kits, or two reports, or one of each.
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "cli/run.h"
#include "output/changes.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct ChangesOptions {
  std::string before, after;
};

constexpr std::size_t largest_report_bytes = std::size_t(64) << 20;

/// A report as it stands, a set's folder by its report, a kit by the report that make would write.
Json report_of(const std::string& path, Streams& streams) {
  std::error_code ignored;
  if (fs::is_directory(path, ignored)) return report_of((fs::path(path) / "report.json").string(), streams);
  Json document = Json::parse(read_file(path, largest_report_bytes), nullptr, false);
  if (document.is_object() && document.value("format", Json()) == "bedwright/report/1") return document;
  // Anything else is read as a kit: its reader says what is wrong with it.
  KitOptions kit;
  kit.kit_path = path;
  return report_document(make_all(kit, streams).report);
}

int run_changes(Streams& streams, const ChangesOptions& o) {
  const Json before = report_of(o.before, streams), after = report_of(o.after, streams);
  const Changes changes = changes_between(before, o.before, after, o.after);
  streams.out << (streams.json
                      ? changes_document(changes).dump(2, ' ', false, Json::error_handler_t::replace) + "\n"
                      : changes_text(changes));
  return exit_done;
}

}  // namespace

Command add_changes(CLI::App& program) {
  auto o = std::make_shared<ChangesOptions>();
  CLI::App* app =
      program.add_subcommand("changes", "What differs between two kits or sets, and what must be printed again");
  app->add_option("OLD", o->before, "Kit, report.json, or the folder that make wrote")->required();
  app->add_option("NEW", o->after, "The same of the new one")->required();
  app->footer(
      "Examples:\n"
      "  bedwright changes out/my-machine-A my-machine.json\n"
      "  bedwright changes old.json new.json --json");
  return {app, [o](Streams& streams) { return run_changes(streams, *o); }};
}

}  // namespace bedwright
