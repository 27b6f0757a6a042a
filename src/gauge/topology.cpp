#include "gauge/topology.h"

#include <algorithm>
#include <cstring>

#include "base/large_pages.h"

namespace bedwright {
namespace {

struct Key {
  std::uint32_t x, y, z;
};

std::uint32_t bits_of(double v) {
  const float f = static_cast<float>(v) + 0.0f;  // makes -0 into +0
  std::uint32_t bits;
  std::memcpy(&bits, &f, 4);
  return bits;
}

double value_of(std::uint32_t bits) {
  float f;
  std::memcpy(&f, &bits, 4);
  return f;
}

std::uint64_t hash_of(const Key& k) {
  std::uint64_t h = k.x * 0x9E3779B97F4A7C15ull;
  h = (h ^ (h >> 29) ^ k.y) * 0xBF58476D1CE4E5B9ull;
  h = (h ^ (h >> 32) ^ k.z) * 0x94D049BB133111EBull;
  return h ^ (h >> 31);
}

std::size_t power_of_two_above(std::size_t n) {
  std::size_t p = 16;
  while (p < n) p *= 2;
  return p;
}

}  // namespace

Mesh welded(const Mesh& soup) {
  Mesh mesh;
  reserve_large(mesh.triangles, soup.triangles.size());
  mesh.triangles.resize(soup.triangles.size());
  // Open addressing: slots hold vertex number + 1; the order of first use decides the numbers, so it is deterministic.
  const std::size_t slots = power_of_two_above(2 * std::min(soup.vertices.size(), 3 * soup.triangles.size()) + 1);
  std::vector<std::uint32_t> table, number;
  assign_large(table, slots, 0u);
  assign_large(number, soup.vertices.size(), no_edge);
  std::vector<Key> keys;
  reserve_large(keys, soup.triangles.size() / 2 + 3);  // about what a closed body has (Euler)
  for (std::size_t f = 0; f < soup.triangles.size(); ++f)
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t v = soup.triangles[f][k];
      if (number[v] == no_edge) {
        const Key key{bits_of(soup.vertices[v].x), bits_of(soup.vertices[v].y), bits_of(soup.vertices[v].z)};
        std::size_t slot = hash_of(key) & (slots - 1);
        while (table[slot] != 0) {
          const Key& there = keys[table[slot] - 1];
          if (there.x == key.x && there.y == key.y && there.z == key.z) break;
          slot = (slot + 1) & (slots - 1);
        }
        if (table[slot] == 0) {
          keys.push_back(key);
          table[slot] = static_cast<std::uint32_t>(keys.size());
        }
        number[v] = table[slot] - 1;
      }
      mesh.triangles[f][k] = number[v];
    }
  reserve_large(mesh.vertices, keys.size());
  for (const Key& k : keys) mesh.vertices.push_back({value_of(k.x), value_of(k.y), value_of(k.z)});
  return mesh;
}

Topology topology_of(const Mesh& mesh) {
  Topology topology;
  const std::size_t half_edges = 3 * mesh.triangles.size();
  assign_large(topology.other, half_edges, no_edge);
  assign_large(topology.against, half_edges, std::uint8_t{0});

  // Half edges in buckets of their lower vertex: a counting sort, then each small bucket is paired by its upper vertex.
  std::vector<std::uint32_t> first(mesh.vertices.size() + 1, 0);
  for (const auto& t : mesh.triangles) {
    if (has_repeated_vertex(t)) continue;
    for (int k = 0; k < 3; ++k) ++first[std::min(t[k], t[(k + 1) % 3]) + 1];
  }
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) first[v + 1] += first[v];
  struct Entry {
    std::uint32_t upper, half_edge;
  };
  std::vector<Entry> entries;
  reserve_large(entries, first.back());
  entries.resize(first.back());
  std::vector<std::uint32_t> fill(first.begin(), first.end() - 1);
  for (std::uint32_t f = 0; f < mesh.triangles.size(); ++f) {
    const auto& t = mesh.triangles[f];
    if (has_repeated_vertex(t)) continue;
    for (std::uint32_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3];
      entries[fill[std::min(a, b)]++] = {std::max(a, b), 3 * f + k};
    }
  }
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
    Entry* begin = entries.data() + first[v];
    Entry* end = entries.data() + first[v + 1];
    std::sort(begin, end, [](const Entry& a, const Entry& b) {
      return a.upper != b.upper ? a.upper < b.upper : a.half_edge < b.half_edge;
    });
    for (Entry* e = begin; e != end;) {
      Entry* same = e;
      while (same != end && same->upper == e->upper) ++same;
      ++topology.edges;
      if (same - e == 2) {
        const std::uint32_t g = e[0].half_edge, h = e[1].half_edge;
        topology.other[g] = h;
        topology.other[h] = g;
        if (start_of(mesh, g) == start_of(mesh, h)) {
          topology.against[g] = topology.against[h] = 1;
          ++topology.same_way;
        }
      } else {
        ++topology.unpaired;
      }
      e = same;
    }
  }
  return topology;
}

}  // namespace bedwright
