// Holes that print lying get a point: a round ceiling sags, one of two 45 degree flanks does not.
#pragma once

#include "parts/part.h"

namespace bedwright {

/// The part with its clearance holes, slots and counterbores along Z drawn with a roof of two 45 degree flanks, their
/// points along the unit direction `up` of the part's plan (what is up while it prints). A hole stays as drawn where
/// its point would come nearer than spare_mm > 0 to the outline, to another cut or to the mark, where an insert shares
/// its axis (a notch in an insert's wall is worse than a sagged ceiling), and where a slot lies neither along `up` nor
/// across it; and with it all of its kind and size, so that one pattern prints alike. A statement names what became of
/// them; a part without such holes comes back as it was.
Part with_pointed_holes(const Part& part, Vec2 up, double spare_mm);

}  // namespace bedwright
