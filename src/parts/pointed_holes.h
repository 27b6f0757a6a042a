// Holes that print lying get a point: a round ceiling sags, one of two 45 degree flanks does not.
#pragma once

#include "parts/part.h"

namespace bedwright {

/// The part with its round clearance holes and counterbores along Z drawn as teardrops, their points along the unit
/// direction `up` of the part's plan (what is up while it prints). A hole stays round where its point would come nearer
/// than spare_mm > 0 to the outline, to another cut or to the mark, and where an insert shares its axis: a notch in an
/// insert's wall is worse than a sagged ceiling. A statement names what became of them; a part without such holes comes
/// back as it was.
Part with_pointed_holes(const Part& part, Vec2 up, double spare_mm);

}  // namespace bedwright
