// What `make` and `check` share: from a kit to made, measured parts and a report.
#pragma once

#include <string>
#include <vector>

#include "cli/commands.h"
#include "kit/read_kit.h"
#include "output/make_set.h"

namespace bedwright {

/// Options that both commands take.
struct KitOptions {
  std::string kit_path;
  std::vector<std::string> settings;  ///< PTR=VALUE
  std::vector<std::string> only;      ///< part ids; empty: all
  std::string against;                ///< another kit's file; its parts are tried in this one's places
  int jobs = 0;                       ///< 0: as many as the machine has cores
};

void add_kit_options(CLI::App& app, KitOptions& options);

Kit read_kit_with(const KitOptions& options);

/// A whole run before anything is written.
struct MadeSet {
  Kit kit;
  Layout layout;
  std::vector<MadePart> parts;       ///< all that could be built, in the kit's order
  std::vector<MadePart> only_parts;  ///< of these, the ones that --only names (all without it)
  Report report;                     ///< of only_parts
};

/// Progress goes to streams.err when it is a terminal. Throws BadUsage for an unknown --only.
MadeSet make_all(const KitOptions& options, Streams& streams);

}  // namespace bedwright
