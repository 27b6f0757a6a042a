// What a set must go through on a machine before anybody may call it tested, and what its pictures must show.
#pragma once

#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

struct Trial {
  const char* id;       ///< as /publish/tested/0/what names it; also the picture's file name
  const char* title;
  const char* take;     ///< what to do
  const char* good;     ///< what must come of it
  const char* picture;  ///< what the picture must show; empty: none is needed
};

/// In the order in which they are done.
const std::vector<Trial>& trials();

/// The kit's own word on a trial of this very revision; nullptr: untested.
const TestedThing* result_of_trial(const Kit& kit, const std::string& trial);

}  // namespace bedwright
