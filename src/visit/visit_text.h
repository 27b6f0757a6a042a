// A visitor's values as a short text that can be copied, mailed and pasted: which kit, each value that was changed, and
// what it was measured with. Lines, plain ASCII but for what people type; quote marks and white space of mail are coped
// with, and a check at the end tells a cut text from a whole one.
#pragma once

#include <string>
#include <vector>

#include "kit/read_kit.h"

namespace bedwright {

inline constexpr std::size_t largest_visit_bytes = std::size_t(16) << 10, most_visit_values = 60;

struct VisitText {
  std::string kit, revision, inputs;  ///< of the published kit; inputs: the first 12 digits of its input_sha256
  std::vector<Setting> values;
  std::vector<std::string> taken;  ///< "/frame/dome/radius_mm: straightedge 200 mm, gap 1.92 mm": how it was measured
};

std::string to_text(const VisitText& visit);

/// Throws BadInput naming `source`: no such text, cut or changed on the way, too long, a line that says nothing known.
VisitText read_visit(const std::string& text, const std::string& source);

}  // namespace bedwright
