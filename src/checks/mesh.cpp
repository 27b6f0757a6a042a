#include "checks/checks.h"

namespace bedwright {
namespace {

std::string faults(const MeshHealth& m) {
  std::string text;
  const auto add = [&](bool bad, const std::string& what) {
    if (bad) text += (text.empty() ? "" : ", ") + what;
  };
  add(!m.closed, "it is not closed (" + std::to_string(m.open_edges) + " open edges)");
  add(m.closed && !m.oriented, "facets are inside out (" + std::to_string(m.flipped) + " turned)");
  add(m.self_intersections > 0, std::to_string(m.self_intersections) + " facets cut through others");
  add(!m.all_asked, "too many facets lie across each other to try them all");
  add(m.degenerate > 0, std::to_string(m.degenerate) + " facets have no area");
  add(m.pieces != 1, "it is " + std::to_string(m.pieces) + " pieces");
  return text;
}

}  // namespace

void check_mesh(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    const std::string text = faults(p.measured->health);
    if (text.empty()) continue;
    findings.push_back({"mesh-invalid", Severity::error, p.part->id, "",
                        "the file of " + p.part->id + " is not a sound solid: " + text, 0, 0, "",
                        "change the value you edited last a little; if that does not help, report this kit"});
  }
}

}  // namespace bedwright
