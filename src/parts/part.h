// A part's intent: a list of features, before any solid exists.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/feature.h"
#include "layout/layout.h"
#include "survey/surface.h"

namespace bedwright {

enum class Hand { none, left, right };
const char* to_text(Hand hand);

struct BoughtItem {
  std::string item;  ///< "dowel pin ISO 8734 4x20"
  int quantity = 1;
  std::string purpose;
};

struct Part {
  std::string id, family;
  int quantity = 1;
  Hand hand = Hand::none;
  std::string mirror_of;                ///< id of the other hand, or empty
  std::vector<std::string> placements;  ///< in placement order
  std::vector<int> quarter_turns;       ///< for each placement: turns of 90 degrees about Z, part frame to machine axes
  std::vector<Feature> features;        ///< the outline first; features act in this order
  Surface seat;                         ///< what Bound::at_seat means, part frame; a plane where the top is flat
  double chord_mm = 0.01;
  std::string material;
  bool visible_mark = false;
  std::string mark_face;                ///< "seat (up)": where the mark is, in words; empty if none
  std::string mark_text;                ///< what it says, arrow in words
  /// Of a part that is fixed on the machine's base: where its origin stands, machine frame, axes alike.
  std::optional<Vec3> stands_at;
  std::vector<BoughtItem> bought;       ///< what it takes beside screws, nuts and inserts, for one copy
  std::vector<std::string> statements;  ///< defaults used and things computed that the report states
  Json settings;                        ///< the request's settings
};

/// Every part of the kit, distinct parts only, with quantities, hands and placements.
/// Throws CannotBuild naming the features where a part contradicts itself.
std::vector<Part> derive_parts(const Kit& kit, const Layout& layout);

}  // namespace bedwright
