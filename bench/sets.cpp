// A whole set: everything that `make` does with the demo kit, against the sum of its solids.
#include <benchmark/benchmark.h>

#include <filesystem>

#include "checks/keyed_parts.h"
#include "kit/read_kit.h"
#include "output/make_set.h"
#include "output/write_set.h"
#include "solid/build.h"
#include "subjects.h"

using namespace bedwright;

namespace {

const char* folder = "/dev/shm/bedwright-bench-set";

void make_demo(benchmark::State& state) {
  for (auto _ : state) {
    const Kit kit = read_kit_file(bench::kit_path("north-bench"), {});
    const Layout layout = settle(kit);
    std::vector<MadePart> parts;
    for (const Part& part : keyed_parts(kit, layout)) parts.push_back(make_part(kit, layout, part));
    for (std::size_t i = 0; i < parts.size(); ++i) compare_made(parts, i);
    const Report report = assemble(kit, layout, parts, {});
    write_set(folder, files_of(kit, report, parts));
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
