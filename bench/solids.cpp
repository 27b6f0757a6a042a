// One part: from its features to a mesh, to checked STL bytes, to a file.
#include <benchmark/benchmark.h>

#include <cstdio>

#include "output/write_stl.h"
#include "solid/build.h"
#include "solid/topology.h"
#include "subjects.h"

using namespace bedwright;

namespace {

void solid(benchmark::State& state, const char* name) {
  const bench::Subject s = bench::subject(name);
  std::size_t triangles = 0, vertices = 0;
  for (auto _ : state) {
    const Mesh mesh = build_solid(s.part);
    triangles = mesh.triangles.size();
    vertices = mesh.vertices.size();
    benchmark::DoNotOptimize(mesh.triangles.data());
  }
  state.counters["triangles"] = static_cast<double>(triangles);
  state.counters["vertices"] = static_cast<double>(vertices);
  state.counters["forced_vertices"] = static_cast<double>(bench::forced_vertices(s.part));
}

void solid_to_stl(benchmark::State& state) {
  const bench::Subject s = bench::subject("plate");
  for (auto _ : state) {
    const Mesh mesh = build_solid(s.part);
    if (find_defect(mesh, least_height_mm)) state.SkipWithError("a defect");
    const std::string bytes = to_stl(mesh, "bench", s.part.id, "A");
    benchmark::DoNotOptimize(bytes.data());
  }
}

void bare_write(benchmark::State& state) {
  const bench::Subject s = bench::subject("plate");
  const std::string bytes = to_stl(build_solid(s.part), "bench", s.part.id, "A");
  const char* path = "/dev/shm/bedwright-bench.stl";
  for (auto _ : state) {
    std::FILE* file = std::fopen(path, "wb");
    if (!file || std::fwrite(bytes.data(), 1, bytes.size(), file) != bytes.size()) state.SkipWithError("cannot write");
    if (file) std::fclose(file);
  }
  std::remove(path);
  state.counters["bytes"] = static_cast<double>(bytes.size());
}

}  // namespace

BENCHMARK_CAPTURE(solid, plate, "plate")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(solid, plate_r800, "plate-r800")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(solid, overlapping, "overlapping")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(solid, crossing, "crossing")->Unit(benchmark::kMillisecond);
BENCHMARK(solid_to_stl)->Unit(benchmark::kMillisecond);
BENCHMARK(bare_write)->Unit(benchmark::kMillisecond);
