// The author's side of a published page: a folder of visitors' texts, and how many of those machines the set fits.
#pragma once

#include <string>

#include "cli/commands.h"

namespace bedwright {

struct VisitsOptions {
  std::string folder;  ///< every plain file in it is a text that a page wrote
  std::string kit;     ///< the published kit, or a bundle of it
  std::string out;     ///< folder for visitors.csv
  int jobs = 0;
};

/// Exit status 1 where a text could not be read. Throws as a run of `make` does for a kit that cannot be made.
int run_visits(Streams& streams, const VisitsOptions& options);

}  // namespace bedwright
