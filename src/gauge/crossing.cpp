#include "gauge/crossing.h"

#include <algorithm>

#include "base/close_pairs.h"
#include "base/facets_cross.h"
#include "base/float_box.h"
#include "base/large_pages.h"

namespace bedwright {

FacetPairs crossing_among(const Mesh& welded, const Sheets& sheets, const Suspects& suspects, std::size_t first,
                          std::size_t last, std::size_t most, std::size_t& questions) {
  const Blocks& blocks = suspects.blocks;
  FacetPairs found;
  std::vector<BoxedFacet> near;
  const auto ask = [&questions](std::size_t count) { questions -= std::min(questions, count); };
  for (std::size_t p = first; p < last && found.size() < most && questions > 0; ++p) {
    const auto [a, b] = suspects.pairs[p];
    near.clear();
    for (std::uint32_t i = blocks.first[a]; i < blocks.first[a + 1]; ++i)
      if (const BoxedFacet f = boxed(welded, sheets.facets[i]); !apart(f.box, blocks.boxes[b])) near.push_back(f);
    for (std::uint32_t i = blocks.first[b]; i < blocks.first[b + 1] && !near.empty(); ++i) {
      const BoxedFacet g = boxed(welded, sheets.facets[i]);
      if (apart(g.box, blocks.boxes[a])) continue;
      ask(near.size());
      for (const BoxedFacet& f : near) {
        if (apart(f.box, g.box)) continue;
        ask(facet_questions);
        if (facets_cross(welded, f.facet, g.facet)) found.push_back(std::minmax(f.facet, g.facet));
      }
    }
  }
  return found;
}

Suspects suspects_of(const Mesh& welded, const Sheets& sheets, std::size_t most, std::size_t kept) {
  Suspects suspects;
  suspects.blocks = blocks_of(welded, sheets);
  suspects.questions = most_questions(welded.triangles.size());
  const Blocks& blocks = suspects.blocks;
  BoxedGroups groups;
  reserve_large(groups.items, blocks.boxes.size());
  for (std::uint32_t b = 0; b < blocks.boxes.size(); ++b)
    groups.items.push_back({box_of({blocks.boxes[b].low, blocks.boxes[b].high}), b});
  groups.first = blocks.first_of_sheet;
  groups.apart = sheets.proven;
  for_each_close_pair(std::move(groups), [&](std::uint32_t a, std::uint32_t b) {
    suspects.pairs.emplace_back(a, b);
    --suspects.questions;
    if (suspects.pairs.size() < kept) return suspects.questions > 0;
    const FacetPairs found = crossing_among(welded, sheets, suspects, 0, suspects.pairs.size(),
                                            most - suspects.found.size(), suspects.questions);
    suspects.found.insert(suspects.found.end(), found.begin(), found.end());
    suspects.pairs.clear();
    return suspects.found.size() < most && suspects.questions > 0;
  });
  return suspects;
}

Crossings crossing_facets(const Mesh& welded, const Sheets& sheets, std::size_t most) {
  Suspects suspects = suspects_of(welded, sheets, most);
  FacetPairs pairs = std::move(suspects.found);
  const FacetPairs rest = crossing_among(welded, sheets, suspects, 0, suspects.pairs.size(),
                                         most - std::min(most, pairs.size()), suspects.questions);
  pairs.insert(pairs.end(), rest.begin(), rest.end());
  std::sort(pairs.begin(), pairs.end());
  if (pairs.size() > most) pairs.resize(most);
  return {std::move(pairs), suspects.questions > 0};
}

}  // namespace bedwright
