// Reads a kit file: strict, and kind. All problems of one file are found in one run.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "kit/beside.h"
#include "kit/kit.h"

namespace bedwright {

inline constexpr std::size_t largest_kit_bytes = 1 << 20;

/// `--set`: JSON pointer and value as text. The schema's type at that pointer decides how the text is read:
/// strings as they stand, all else as JSON.
using Setting = std::pair<std::string, std::string>;

/// Reads and checks the text of a kit file. `source` is the name used in messages; `folder` is where files
/// named in the kit are looked for (they must stay inside it).
/// Throws BadInput with every problem: pointer, value, allowed range or nearest valid key, likely slip.
Kit read_kit(const std::string& text, const std::string& source, const std::string& folder,
             const std::vector<Setting>& settings = {});

/// Same, where the files that it names may be in memory.
Kit read_kit(const std::string& text, const std::string& source, const Beside& beside,
             const std::vector<Setting>& settings = {});

/// Same, from a file. Throws FileError if it cannot be read, BadInput if it is over the limit.
Kit read_kit_file(const std::string& path, const std::vector<Setting>& settings = {});

/// "PTR=VALUE" from the command line; throws BadUsage.
Setting parse_setting(const std::string& text);

/// The schema that docs/kit.schema.json holds, as built into the program.
const Json& kit_schema();

}  // namespace bedwright
