// From a kit's parts to a report and the files of a set. Each part is made by itself, so that a caller may make
// several at once; the results do not depend on the order.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "checks/wrong_ways.h"
#include "base/error.h"
#include "base/tasks.h"
#include "output/report.h"
#include "output/reuse.h"

namespace bedwright {

struct MadePart {
  PartReport report;
  std::string bytes;  ///< of its STL
  Mesh solid;         ///< part frame
  Measurement measured;
  Comparison comparison;
  std::string inputs_sha256;  ///< output/reuse.h
  bool reused = false;        ///< `bytes` and pose are an earlier run's
};

/// Builds, poses, writes to STL bytes, reads those bytes back and measures them. Throws CannotBuild.
/// A part that `kept` holds is not built: its bytes are read back and measured all the same, so that what follows does
/// not differ by a bit.
MadePart make_part(const Kit& kit, const Layout& layout, const Part& part, const KeptParts* kept = nullptr);
/// The same where the layout is not at hand.
MadePart make_part(const Kit& kit, const Part& part);
/// Holds one part's file against its own features (and the others', for mistakes between parts).
void compare_made(std::vector<MadePart>& parts, std::size_t index);

/// An error finding for a part that cannot be built.
Finding finding_of(const CannotBuild& error, const std::string& part);

/// Runs all checks and lists joints, hardware, steps and cautions. `failures`: findings for parts not in `parts`.
/// `old`: another kit's parts, tried in this one's places. The same report however `at_once` does what it is given.
Report assemble(const Kit& kit, const Layout& layout, const std::vector<MadePart>& parts,
                const std::vector<Finding>& failures, const OldSet* old = nullptr, const AtOnce& at_once = one_by_one);

/// Every file of the set by relative path: those that report.files lists.
std::map<std::string, std::string> files_of(const Kit& kit, const Report& report, const std::vector<MadePart>& parts,
                                            const AtOnce& at_once = one_by_one);

}  // namespace bedwright
