// Whether a published set fits the machine that a stranger measured: as it is, with a shim or another screw, or only
// with parts made for it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/envelope.h"
#include "kit/kit.h"

namespace bedwright {

enum class SetFits { as_published, with_help, needs_parts };
const char* to_text(SetFits fits);  ///< "as-published", "with-help", "needs-parts"

struct VisitFit {
  SetFits fits = SetFits::as_published;
  std::string with;                ///< what makes the published parts fit
  std::string why;                 ///< what stands against them
  double gap_mm = 0;               ///< largest over the seats, where the envelope could judge
  std::vector<std::string> parts;  ///< of the visitor's set: those that come out differently from the published ones
};

/// How the visitor's frame differs in the measures that an envelope knows; nothing where it differs in others too.
std::optional<OtherMachine> machine_between(const Kit& published, const Kit& visitor);

/// `envelope`: the published set's. `parts`, `visitor_parts`: as derived, with their keys.
VisitFit fit_of(const Kit& published, const Envelope& envelope, const std::vector<Part>& parts, const Kit& visitor,
                const std::vector<Part>& visitor_parts);

}  // namespace bedwright
