#include "base/large_pages.h"

#include <cstdint>

#ifdef __linux__
#include <sys/mman.h>
#endif

namespace bedwright {
namespace {

constexpr std::size_t worth_it = std::size_t{4} << 20, page = 4096;

}  // namespace

void want_large_pages(void* begin, std::size_t bytes) {
  if (bytes < worth_it) return;
#if defined(__linux__) && defined(MADV_HUGEPAGE)
  const std::size_t over = reinterpret_cast<std::uintptr_t>(begin) % page, skipped = over == 0 ? 0 : page - over;
  madvise(static_cast<char*>(begin) + skipped, (bytes - skipped) / page * page, MADV_HUGEPAGE);
#else
  (void)begin;
#endif
}

}  // namespace bedwright
