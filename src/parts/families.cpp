#include "parts/adapter_plate.h"
#include "parts/family.h"
#include "parts/shim.h"
#include "parts/spacer.h"

namespace bedwright {

const std::vector<Family>& families() {
  static const std::vector<Family> list = {
      {"adapter_plate", derive_adapter_plates, mark_adapter_plate},
      {"spacer", derive_spacers, mark_spacer},
      {"shim", derive_shims, mark_shim},
  };
  return list;
}

}  // namespace bedwright
