// A chain of lengths, each with its plus or minus: worst case and root sum of squares.
#pragma once

#include <vector>

namespace bedwright {

struct StackLink {
  double mm = 0, plus_minus_mm = 0;
};

struct Stack {
  double mm = 0;
  double worst_mm = 0;  ///< sum of the plus or minus
  double rss_mm = 0;    ///< root of the sum of their squares: likely when they are independent
};

Stack stack_of(const std::vector<StackLink>& links);

}  // namespace bedwright
