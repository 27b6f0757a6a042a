// Parts with the keys that their requests ask for: derived, offered up in every wrong way, and given the smallest key
// that blocks all of them. What a key may be is parts/key.h's; whether it blocks is found here by trying.
#pragma once

#include <vector>

#include "base/tasks.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

/// How the statement on a part begins that says which key it got, or why none.
inline constexpr const char* key_statement = "key: ";
inline constexpr const char* no_key_statement = "no key: ";

/// As derive_parts where nothing asks for a key, or where no wrong way that matters bolts up. Of the keys that block
/// every such way, the one that leaves the fewest different parts, then the one that adds the least plastic; where none
/// blocks all, the one that leaves the fewest open (check_key then says which). Each part states what was done. The
/// proof offers one part at a time, beside plates that lie as they should. Throws as derive_parts does.
std::vector<Part> keyed_parts(const Kit& kit, const Layout& layout, const AtOnce& at_once = one_by_one);

}  // namespace bedwright
