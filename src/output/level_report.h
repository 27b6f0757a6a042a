// What `level` prints: one struct, two printers, and the way back from a result of an earlier run.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"
#include "survey/level.h"
#include "survey/soft_foot.h"

namespace bedwright {

struct MapReading {
  MapConvention convention;
  std::string how;  ///< "the kit says so", or how it was found
};

struct LevelReport {
  std::string kit, revision, map_date;
  MapReading reading;
  std::string shim_at;  ///< bed_mounts, carriages
  LevelInput input;
  LevelResult result;
  std::optional<LoopResult> loop;
  std::vector<FootAdvice> soft_foot;
  std::vector<std::string> assumptions;
  double layer_mm = 0, first_layer_mm = 0;
};

Json level_document(const LevelReport& report);
std::string level_text(const LevelReport& report);
Json reading_document(const MapReading& reading);
std::string reading_text(const MapReading& reading);
std::string soft_foot_text(const std::vector<FootAdvice>& advice);
Json soft_foot_json(const std::vector<FootAdvice>& advice);

/// What the result of an earlier run foretold, its mounts in the order of `mounts`; `shims_mm` gets what it advised.
/// Throws BadInput where the text is no such result, or one of other mounts.
Foretold read_foretold(const std::string& text, const std::string& source, const std::vector<Mount>& mounts,
                       std::vector<double>& shims_mm);

}  // namespace bedwright
