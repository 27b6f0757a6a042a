#include "parts/adapter_plate.h"
#include "parts/family.h"

namespace bedwright {

const std::vector<Family>& families() {
  static const std::vector<Family> list = {
      {"adapter_plate", derive_adapter_plates, mark_adapter_plate},
  };
  return list;
}

}  // namespace bedwright
