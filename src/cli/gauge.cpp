// bedwright gauge: measures a file; with a kit's part, says whether it is that part.
#include <memory>
#include <ostream>

#include "base/error.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "gauge/measure_apart.h"
#include "gauge/read_mesh.h"
#include "output/gauge_report.h"

namespace bedwright {
namespace {

bool is_solid(const MeshHealth& health) {
  return health.closed && health.oriented && health.self_intersections == 0 && health.all_asked &&
         health.degenerate == 0;
}

struct GaugeOptions {
  std::string file, kit_path, part;
  std::vector<std::string> settings;
};

std::size_t index_of(const std::vector<MadePart>& parts, const std::string& id) {
  std::string ids;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i].report.part.id == id) return i;
    ids += (ids.empty() ? "" : ", ") + parts[i].report.part.id;
  }
  throw BadUsage("--part " + id + ": this kit makes no such part; it makes " + ids);
}

/// All that a file holds, as it lies.
Mesh all_of(std::vector<MeshItem> items) {
  if (items.size() == 1) return std::move(items[0].mesh);
  Mesh mesh;
  for (const MeshItem& item : items) {
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), item.mesh.vertices.begin(), item.mesh.vertices.end());
    for (const auto& t : item.mesh.triangles) mesh.triangles.push_back({first + t[0], first + t[1], first + t[2]});
  }
  return mesh;
}

/// A bed holds many parts: the first that carries the name. A file of one thing needs no name.
Mesh one_of(std::vector<MeshItem> items, const std::string& part) {
  if (items.size() == 1) return std::move(items[0].mesh);
  std::string names;
  for (MeshItem& item : items) {
    if (item.name == part || item.part_number == part) return std::move(item.mesh);
    if (names.find(item.name) == names.npos) names += (names.empty() ? "" : ", ") + item.name;
  }
  throw BadUsage("--part " + part + ": the file holds " + std::to_string(items.size()) +
                 " things and none of that name; it holds " + names);
}

int run_gauge(Streams& streams, const GaugeOptions& options) {
  const AtOnce at_once = tasks_on(jobs_or_cores(0));
  std::vector<MeshItem> items = read_mesh_file(options.file, at_once);
  const Mesh soup = options.part.empty() ? all_of(std::move(items)) : one_of(std::move(items), options.part);
  const Measurement measured = measure_apart(soup, at_once);
  const Part* part = nullptr;
  Comparison comparison;
  MadeSet set;
  if (!options.kit_path.empty()) {
    KitOptions kit;
    kit.kit_path = options.kit_path;
    kit.settings = options.settings;
    set = make_all(kit, streams);
    const std::size_t index = index_of(set.parts, options.part);
    std::vector<Candidate> all;
    for (const MadePart& p : set.parts) all.push_back({&p.report.part, &p.solid, p.report.pose.print_to_part});
    const Candidate expected = all[index];
    all.erase(all.begin() + static_cast<std::ptrdiff_t>(index));
    comparison = compare(measured, expected, all);
    part = &set.parts[index].report.part;
  }
  const Comparison* held = part ? &comparison : nullptr;
  streams.out
      << (streams.json
              ? gauge_document(options.file, measured, part, held).dump(2, ' ', false, Json::error_handler_t::replace) +
                    "\n"
              : gauge_text(options.file, measured, part, held));
  if (held) return held->ok ? exit_done : exit_findings;
  return is_solid(measured.health) ? exit_done : exit_findings;
}

}  // namespace

Command add_gauge(CLI::App& program) {
  auto options = std::make_shared<GaugeOptions>();
  CLI::App* app =
      program.add_subcommand("gauge", "Measure an STL or 3MF file; with a kit's part, compare and name mistakes");
  app->add_option("FILE", options->file, "STL file, binary or ASCII, or a 3MF package")->required();
  CLI::Option* kit =
      app->add_option("--kit", options->kit_path, "Kit file of the part it should be")->type_name("KIT.json");
  CLI::Option* part = app->add_option("--part", options->part, "Which part of the kit it should be")->type_name("ID");
  CLI::Option* set = app->add_option("--set", options->settings, "Change one value of the kit first (repeatable)")
                         ->type_name("PTR=VALUE")
                         ->allow_extra_args(false);
  kit->needs(part);
  part->needs(kit);
  set->needs(kit);
  app->footer(
      "Examples:\n"
      "  bedwright gauge adapter-a.stl\n"
      "  bedwright gauge adapter-a.stl --kit my-machine.json --part adapter-a\n"
      "  bedwright gauge my-machine.3mf --kit my-machine.json --part adapter-a\n\n"
      "Of a 3MF package all that is placed is measured; with --part the first copy of that name.\n"
      "The file is measured without knowing how it was made. Exit status 1: it is not that part, or\n"
      "no sound solid.");
  return {app, [options](Streams& streams) { return run_gauge(streams, *options); }};
}

}  // namespace bedwright
