// What is different between two sets, told from their reports: which parts to print again, which screws to change, and
// which of the old parts still fit the new ones.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace bedwright {

/// A dimension that differs by less is the same, mm: the set's own equality of parts.
inline constexpr double same_dimension_mm = 0.001;

struct ChangedDimension {
  std::string feature, quantity;
  double old_mm = 0, new_mm = 0;  ///< as modelled; of a feature that only one has, the other is not there
  bool in_old = true, in_new = true;
};

struct ChangedPart {
  std::string id;
  std::string change;  ///< same, changed, added, removed
  bool reprint = false;
  std::string why;  ///< one sentence
  int old_quantity = 0, new_quantity = 0;
  std::string old_id;          ///< the old set's part of the same solid under another name, or empty
  bool old_still_fits = false; ///< an old one goes together with the new set's parts
  std::vector<ChangedDimension> dimensions;
};

struct ChangedScrew {
  std::string joint, before, after;  ///< "M3x8"; empty: no such joint, or no length
};

struct ChangedItem {
  std::string item;
  int before = 0, after = 0;
};

struct Changes {
  std::string old_kit, old_revision, new_kit, new_revision;
  std::vector<ChangedPart> parts;
  std::vector<ChangedScrew> screws;   ///< those that differ
  std::vector<ChangedItem> hardware;  ///< those whose number differs
};

/// Both are reports (report.json). Throws BadInput (`old_source`, `new_source`) for a document that is none.
Changes changes_between(const nlohmann::json& old_report, const std::string& old_source, const nlohmann::json& new_report,
                        const std::string& new_source);

nlohmann::json changes_document(const Changes& changes);
std::string changes_text(const Changes& changes);

}  // namespace bedwright
