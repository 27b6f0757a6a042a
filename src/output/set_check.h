// Whether a folder is one whole set: every part of its report there, of one revision, fitting its mates, both hands,
// the right number, each file the one that the report names.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/finding.h"
#include "output/make_set.h"

namespace bedwright {

/// What an STL's header says of itself; empty where it is not one of ours or was cut short.
struct StlHeader {
  std::string kit, part, revision, mating_code;
};
StlHeader read_stl_header(const std::string& bytes);

struct SetFolder {
  std::string name;                          ///< as the person gave it
  Json report;                               ///< its report.json
  std::map<std::string, std::string> files;  ///< bytes of every STL by path within the folder
  std::string sums;                          ///< its SHA256SUMS; empty: none, as sets of old have it
  std::map<std::string, std::string> others;  ///< bytes of the other files that SHA256SUMS names, as far as they are there
};

/// Pieces that someone has printed, by part id.
using Pieces = std::map<std::string, int>;

/// set-part-missing, set-hand-missing, set-quantity, set-revision-mixed, set-code-differs, set-wrong-file,
/// set-file-changed, set-stray-file.
std::vector<Finding> check_folder(const SetFolder& folder);
/// Two folders whose parts are to be used together.
std::vector<Finding> check_together(const SetFolder& a, const SetFolder& b);
/// A folder against what the kit makes now: set-out-of-date besides.
std::vector<Finding> check_against_kit(const SetFolder& folder, const std::vector<MadePart>& made, const Kit& kit);
/// What is there against what the report asks for.
std::vector<Finding> check_pieces(const SetFolder& folder, const Pieces& pieces);

}  // namespace bedwright
