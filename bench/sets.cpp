// A whole set: what `make` does with the demo kit, but for what is only looked at (page, drawings, preview), against
// the sum of its solids.
#include <benchmark/benchmark.h>

#include <filesystem>

#include "checks/keyed_parts.h"
#include "kit/read_kit.h"
#include "on_two.h"
#include "output/beds.h"
#include "output/hardware.h"
#include "output/make_set.h"
#include "output/write_3mf.h"
#include "output/write_set.h"
#include "solid/build.h"
#include "subjects.h"

using namespace bedwright;

namespace {

const char* folder = "/dev/shm/bedwright-bench-set";

std::map<std::string, std::string> files_to_make_from(const Report& report, const std::vector<MadePart>& parts) {
  std::map<std::string, std::string> files;
  for (const MadePart& p : parts) files[p.report.file] = p.bytes;
  files["hardware.csv"] = hardware_csv(report.hardware);
  std::string& json = files["report.json"];
  std::vector<Task> tasks;
  std::vector<BedPieces> beds(report.beds.size());
  add_bed_tasks(report, parts, beds, tasks);
  tasks.push_back([&] { json = to_json(report); });
  bench::on_two(tasks);
  for (std::size_t i = 0; i < beds.size(); ++i)
    files[report.beds[i].file] = to_3mf(beds[i].model, beds[i].picture);
  return files;
}

void make_demo(benchmark::State& state) {
  for (auto _ : state) {
    const Kit kit = read_kit_file(bench::kit_path("north-bench"), {});
    const Layout layout = settle(kit);
    const std::vector<Part> derived = keyed_parts(kit, layout, bench::on_two);
    std::vector<MadePart> parts(derived.size());
    std::vector<Task> making, comparing;
    for (std::size_t i = 0; i < derived.size(); ++i) {
      making.push_back([&, i] { parts[i] = make_part(kit, layout, derived[i]); });
      comparing.push_back([&, i] { compare_made(parts, i); });
    }
    bench::on_two(making);
    bench::on_two(comparing);
    const Report report = assemble(kit, layout, parts, {}, nullptr, bench::on_two);
    write_set(folder, files_to_make_from(report, parts));
  }
  std::filesystem::remove_all(folder);
}

void solids_of_demo(benchmark::State& state) {
  const Kit kit = read_kit_file(bench::kit_path("north-bench"), {});
  const std::vector<Part> parts = keyed_parts(kit, settle(kit));
  for (auto _ : state)
    for (const Part& part : parts) {
      const Mesh mesh = build_solid(part);
      benchmark::DoNotOptimize(mesh.triangles.data());
    }
}

}  // namespace

BENCHMARK(make_demo)->Unit(benchmark::kMillisecond);
BENCHMARK(solids_of_demo)->Unit(benchmark::kMillisecond);
