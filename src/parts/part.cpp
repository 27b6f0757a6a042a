#include "parts/part.h"

namespace bedwright {

const char* to_text(Hand hand) {
  switch (hand) {
    case Hand::left:
      return "left";
    case Hand::right:
      return "right";
    default:
      return "none";
  }
}

}  // namespace bedwright
