// The same readers under libFuzzer: FUZZ_TARGET names one.
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>

#include "targets.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const fuzz::Target* target = [] {
    const char* name = std::getenv("FUZZ_TARGET");
    const fuzz::Target* found = name ? fuzz::find_target(name) : nullptr;
    if (!found) {
      std::fprintf(stderr, "set FUZZ_TARGET\n");
      std::exit(2);
    }
    return found;
  }();
  target->feed(std::string(reinterpret_cast<const char*>(data), size));
  return 0;
}
