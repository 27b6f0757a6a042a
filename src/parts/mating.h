// A short code of what a part's mates rely on: parts of one group fit each other when their codes are equal.
#pragma once

#include <string>

#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

/// "frame" for parts that hold the frame together (adapter plates, spacers that follow the frame), else the id that the
/// part was asked for under: spacers of one kind must be alike, and mate with nothing printed.
std::string mating_group(const Part& part);

/// What the group's mates rely on, canonical: lengths in micrometres, rounded. Frame: carriage places and pattern,
/// frame holes, the seat's heights at them (H and dome), screws with their grip, holes with their play. An end
/// bracket, both halves alike: pads, contour, what joins the halves. Loose parts: thickness, taper, holes. Not in it: outlines, chamfers, marks, material, printer, names, revision.
Json mating_interface(const Kit& kit, const Layout& layout, const Part& part);

/// Four characters without look-alikes, from the SHA-256 of the interface. Chance that two that differ share one: 1 in
/// 331 776.
std::string mating_code(const Kit& kit, const Layout& layout, const Part& part);

inline constexpr const char* mating_alphabet = "ACDEFHJKLMNPRTUVWXY34679";

}  // namespace bedwright
