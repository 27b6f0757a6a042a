#include "joints/stack.h"

#include <cmath>

namespace bedwright {

Stack stack_of(const std::vector<StackLink>& links) {
  Stack stack;
  double squares = 0;
  for (const StackLink& link : links) {
    stack.mm += link.mm;
    stack.worst_mm += link.plus_minus_mm;
    squares += link.plus_minus_mm * link.plus_minus_mm;
  }
  stack.rss_mm = std::sqrt(squares);
  return stack;
}

}  // namespace bedwright
