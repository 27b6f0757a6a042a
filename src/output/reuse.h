// Nothing is made twice: what an earlier run left in a set's folder is used again where it would come out the same.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "gauge/gauge.h"
#include "kit/kit.h"
#include "print/pose.h"

namespace bedwright {

inline constexpr const char* reuse_name = "reuse.json";

/// A part as an earlier run made it.
struct KeptPart {
  std::string stl;  ///< the file's bytes
  Pose pose;
  std::shared_ptr<const Measurement> measured;  ///< of those bytes, where this very run has it; may be null
};

/// By inputs_digest.
using KeptParts = std::map<std::string, KeptPart>;

/// SHA-256 of all that a part's STL and pose follow from: how it is drawn, the printer, what stands in the file's
/// header, and the program itself.
std::string inputs_digest(const Kit& kit, const Part& part, const std::string& mating_code);

struct ReuseEntry {
  std::string file, inputs_sha256, sha256;
  const Pose* pose = nullptr;
};
/// The file that lets a later run do so. Numbers are written to the last bit.
std::string reuse_json(const std::vector<ReuseEntry>& entries);

/// The parts of a set that may be used again: those whose STL is the one that reuse.json names, if reuse.json itself
/// is the one that SHA256SUMS names. Anything damaged, cut short, foreign or made by another program is left out, never
/// an error: such parts are made anew. (Whoever rewrites all three alike is not found out here; the file is measured
/// against the drawing all the same.)
KeptParts kept_parts(const std::map<std::string, std::string>& files);

/// Whether a set was made by this very program.
bool made_by_this_program(const std::map<std::string, std::string>& files);

}  // namespace bedwright
