// Which parts are the same shape: the smallest set of distinct parts, their quantities and hands.
#pragma once

#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Shapes equal within this everywhere are one part.
inline constexpr double same_shape_mm = 0.001;

/// Whether `b`, moved by `t` (a quarter turn about Z, or a mirror and a quarter turn), is the shape of `a`, marks left
/// out: profiles, levels and the seat, each within same_shape_mm.
bool same_shape(const Part& a, const Part& b, const Transform& t);

/// The quarter turns about Z that carry the shape of `part` to that of `other`; the least first; empty if none.
std::vector<int> turns_between(const Part& part, const Part& other);
/// Whether a mirror image of `part`, turned about Z by quarters, is the shape of `other`.
bool mirror_images(const Part& part, const Part& other);

/// Candidates are one request's parts, one a placement, in placement order. Ids get -a, -b, ...; a part's frame is
/// that of its first placement. Of a mirror pair the one whose first placement is on the left is the left hand
/// (the earlier one where that does not tell), and the later names the earlier as mirror_of.
std::vector<Part> grouped(std::vector<Part> candidates);

}  // namespace bedwright
