// Files in: a million facets read, welded, checked and measured.
#include <benchmark/benchmark.h>

#include "gauge/measure_apart.h"
#include "gauge/read_mesh.h"
#include "output/write_stl.h"
#include "solid/build.h"
#include "on_two.h"
#include "subjects.h"

using namespace bedwright;

namespace {

/// What `bedwright_subject large` writes.
std::string large_file() {
  const char* path = std::getenv("BENCH_LARGE_STL");
  return path ? path : "";
}

void read_large(benchmark::State& state) {
  if (large_file().empty()) return state.SkipWithError("BENCH_LARGE_STL is not set");
  for (auto _ : state) {
    const Mesh mesh = read_stl_file(large_file(), bench::on_two);
    state.counters["triangles"] = static_cast<double>(mesh.triangles.size());
  }
}

void gauge_large(benchmark::State& state) {
  if (large_file().empty()) return state.SkipWithError("BENCH_LARGE_STL is not set");
  for (auto _ : state) {
    // As `bedwright gauge` does it on two cores.
    const Measurement m = measure_apart(read_stl_file(large_file(), bench::on_two), bench::on_two);
    state.counters["features"] = static_cast<double>(m.features.size());
  }
}

}  // namespace

BENCHMARK(read_large)->Unit(benchmark::kMillisecond);
BENCHMARK(gauge_large)->Unit(benchmark::kMillisecond)->Iterations(3);
