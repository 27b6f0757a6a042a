// What `check` does with folders that `make` wrote.
#pragma once

#include <string>
#include <vector>

#include "cli/run.h"

namespace bedwright {

struct SetOptions {
  std::vector<std::string> folders;
  std::vector<std::string> pieces;  ///< ID=N
};

/// Reads every folder, checks each by itself, all together, and against the kit's parts (may be null); prints.
/// Throws FileError for a folder that cannot be read or has no report, BadUsage for a --have that cannot be read.
int check_sets(Streams& streams, const SetOptions& options, const MadeSet* made);

}  // namespace bedwright
