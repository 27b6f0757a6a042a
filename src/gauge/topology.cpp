#include "gauge/topology.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <utility>

#include "base/large_pages.h"

namespace bedwright {
namespace {

struct Key {
  std::uint32_t x, y, z;
};
bool operator==(const Key& a, const Key& b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}

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

Key key_of(Vec3 v) {
  return {bits_of(v.x), bits_of(v.y), bits_of(v.z)};
}

std::size_t power_of_two_above(std::size_t n) {
  std::size_t p = 16;
  while (p < n) p *= 2;
  return p;
}

constexpr std::size_t shares = 2;  // of what is done at once; places fall to one or the other by their hash

/// For each vertex of the share the first one at its place.
void find_first(const Mesh& soup, std::size_t share, std::vector<std::uint32_t>& first) {
  // Open addressing; a slot holds the vertex + 1. About half of them are taken, never all.
  std::vector<std::uint32_t> table;
  assign_large(table, power_of_two_above(2 * soup.vertices.size() / shares + 1), 0u);
  const auto slot_of = [&](const Key& key, std::uint64_t hash) {
    std::size_t slot = hash & (table.size() - 1);
    while (table[slot] != 0 && !(key_of(soup.vertices[table[slot] - 1]) == key)) slot = (slot + 1) & (table.size() - 1);
    return slot;
  };
  struct Ahead {
    Key key;
    std::uint64_t hash = 0;
    std::uint32_t vertex = 0;
  };
  std::array<Ahead, 32> ahead;  // their slots are asked for before they are needed
  for (std::uint32_t v = 0; v < soup.vertices.size();) {
    std::size_t count = 0;
    for (; v < soup.vertices.size() && count < ahead.size(); ++v) {
      Ahead& next = ahead[count];
      next = {key_of(soup.vertices[v]), 0, v};
      next.hash = hash_of(next.key);
      if ((next.hash >> 63) != share) continue;
      __builtin_prefetch(&table[next.hash & (table.size() - 1)]);
      ++count;
    }
    for (std::size_t i = 0; i < count; ++i) {
      std::uint32_t& there = table[slot_of(ahead[i].key, ahead[i].hash)];
      if (there == 0) there = ahead[i].vertex + 1;
      first[ahead[i].vertex] = there - 1;
    }
  }
}

}  // namespace

Mesh welded(const Mesh& soup, const AtOnce& at_once) {
  std::vector<std::uint32_t> first, number;
  assign_large(first, soup.vertices.size(), 0u);
  each_at_once(at_once, shares, [&](std::size_t share) { find_first(soup, share, first); });

  Mesh mesh;
  reserve_large(mesh.triangles, soup.triangles.size());
  reserve_large(mesh.vertices, soup.triangles.size() / 2 + 3);  // about what a closed body has (Euler)
  assign_large(number, soup.vertices.size(), no_edge);
  for (const auto& corners : soup.triangles) {
    std::array<std::uint32_t, 3> t;
    for (std::size_t k = 0; k < 3; ++k) {
      std::uint32_t& n = number[first[corners[k]]];
      if (n == no_edge) {
        n = static_cast<std::uint32_t>(mesh.vertices.size());
        const Key key = key_of(soup.vertices[corners[k]]);
        mesh.vertices.push_back({value_of(key.x), value_of(key.y), value_of(key.z)});
      }
      t[k] = n;
    }
    mesh.triangles.push_back(t);
  }
  return mesh;
}

// A counting sort by the lower vertex.
EdgeBuckets edge_buckets(const Mesh& mesh) {
  EdgeBuckets buckets;
  std::vector<std::uint32_t>& first = buckets.first;
  first.assign(mesh.vertices.size() + 1, 0);
  for (const auto& t : mesh.triangles) {
    if (has_repeated_vertex(t)) continue;
    for (int k = 0; k < 3; ++k) ++first[std::min(t[k], t[(k + 1) % 3]) + 1];
  }
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) first[v + 1] += first[v];
  reserve_large(buckets.edges, first.back());
  buckets.edges.resize(first.back());
  std::vector<std::uint32_t> fill(first.begin(), first.end() - 1);
  for (std::uint32_t f = 0; f < mesh.triangles.size(); ++f) {
    const auto& t = mesh.triangles[f];
    if (has_repeated_vertex(t)) continue;
    for (std::uint32_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3];
      buckets.edges[fill[std::min(a, b)]++] = {std::max(a, b), 3 * f + k};
    }
  }
  const std::size_t half_edges = 3 * mesh.triangles.size();
  assign_large(buckets.unpaired.other, half_edges, no_edge);
  assign_large(buckets.unpaired.against, half_edges, std::uint8_t{0});
  return buckets;
}

Topology topology_of(const Mesh& mesh, EdgeBuckets buckets, const AtOnce& at_once) {
  Topology topology = std::move(buckets.unpaired);
  struct Count {
    int edges = 0, unpaired = 0, same_way = 0;
  };
  std::array<Count, shares> counts;
  // Each small bucket is paired by its upper vertex; no half edge is in two of them.
  each_at_once(at_once, shares, [&](std::size_t share) {
    using Entry = EdgeBuckets::Edge;
    const std::size_t vertices = mesh.vertices.size();
    Count count;
    for (std::size_t v = share * vertices / shares; v < (share + 1) * vertices / shares; ++v) {
      Entry* begin = buckets.edges.data() + buckets.first[v];
      Entry* end = buckets.edges.data() + buckets.first[v + 1];
      std::sort(begin, end, [](const Entry& a, const Entry& b) {
        return a.upper != b.upper ? a.upper < b.upper : a.half_edge < b.half_edge;
      });
      for (Entry* e = begin; e != end;) {
        Entry* same = e;
        while (same != end && same->upper == e->upper) ++same;
        ++count.edges;
        if (same - e == 2) {
          const std::uint32_t g = e[0].half_edge, h = e[1].half_edge;
          topology.other[g] = h;
          topology.other[h] = g;
          if (start_of(mesh, g) == start_of(mesh, h)) {
            topology.against[g] = topology.against[h] = 1;
            ++count.same_way;
          }
        } else {
          ++count.unpaired;
        }
        e = same;
      }
    }
    counts[share] = count;
  });
  for (const Count& count : counts) {
    topology.edges += count.edges;
    topology.unpaired += count.unpaired;
    topology.same_way += count.same_way;
  }
  return topology;
}

Topology topology_of(const Mesh& mesh) {
  return topology_of(mesh, edge_buckets(mesh), one_by_one);
}

}  // namespace bedwright
