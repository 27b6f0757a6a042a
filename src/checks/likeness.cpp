#include "checks/checks.h"

namespace bedwright {

void check_likeness(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts)
    for (std::size_t i = 0; i < p.comparison->mistakes.size(); ++i) {
      const std::string words = i < p.comparison->words.size() ? p.comparison->words[i] : p.comparison->mistakes[i];
      findings.push_back({"not-as-drawn", Severity::error, p.part->id, p.comparison->mistakes[i],
                          "the written file of " + p.part->id + " does not measure as drawn: " + words, 0, 0, "",
                          "do not print it; report this kit"});
    }
}

}  // namespace bedwright
