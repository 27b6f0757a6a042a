// Whether a welded mesh is a solid, and how its facets must be turned to make it one. Private to the gauge.
#pragma once

#include <cstddef>
#include <optional>

#include "gauge/facing.h"
#include "gauge/gauge.h"
#include "gauge/sheets.h"
#include "gauge/topology.h"

namespace bedwright {

struct Shells {
  std::vector<std::uint32_t> shell;     ///< per facet: which edge-connected shell
  std::vector<std::uint8_t> turned;     ///< per facet: 1 where it must be turned over to face out of the material
  std::vector<double> volume_mm3;       ///< per shell, after turning its minority, before turning the whole shell
  std::vector<std::uint8_t> wrong_way;  ///< per shell: 1 where the whole shell faces the wrong way
  std::vector<int> minority;            ///< per shell: facets turned against its majority
  bool all_asked = true;                ///< false: which shells lie in which was given up; they count as beside others
};

/// `questions`: how many facets may be asked for shells in shells, most_questions where left out.
Shells shells_of(const Mesh& mesh, const Topology& topology, const Sheets& sheets,
                 std::optional<std::size_t> questions = std::nullopt);
/// All of it but `self_intersections`; `all_asked` as the shells say.
MeshHealth health_of(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings,
                     const Shells& shells);

}  // namespace bedwright
