// What `make` and `check` share: from a kit to made, measured parts and a report.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.h"
#include "kit/read_kit.h"
#include "output/bundle.h"
#include "output/make_set.h"

namespace bedwright {

/// Options that both commands take.
struct KitOptions {
  std::string kit_path;
  std::vector<std::string> settings;  ///< PTR=VALUE
  std::vector<std::string> only;      ///< part ids; empty: all
  std::string against;                ///< another kit's file; its parts are tried in this one's places
  int jobs = 0;                       ///< 0: as many as the machine has cores
  bool rebuild = false;               ///< whatever earlier runs left
};

void add_kit_options(CLI::App& app, KitOptions& options);

/// From a kit file, or from a bundle that publish wrote; `bundle` (may be null) then gets what is in it.
Kit read_kit_with(const KitOptions& options, std::optional<Bundle>* bundle = nullptr);

/// Whether there is such a file and it begins as an archive does.
bool begins_as_bundle(const std::string& path);

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
/// The same of a kit that was read already; `kept`: what may be used again.
MadeSet make_all(Kit kit, const KitOptions& options, Streams& streams, const KeptParts& kept = {});

/// Every file of the set in a folder that its report names and that is a plain file, by name; empty where there is no
/// such set. Throws FileError for one that cannot be read.
Files files_of_set(const std::string& folder);

}  // namespace bedwright
