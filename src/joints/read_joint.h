// What a kit says of a screw's far end, as joints hold it; the reader has checked it already.
#pragma once

#include "joints/joints.h"

namespace bedwright {

Anchor anchor_of(const Json& from);
/// Anything but an object: unknown.
Behind behind_of(const Json& from);

}  // namespace bedwright
