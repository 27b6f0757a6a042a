// What the author of a kit lets others change (`/open`), as fields that a stranger can fill in.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/read_kit.h"

namespace bedwright {

struct OpenField {
  std::string pointer, label, help, measure;
  std::string kind;  ///< number, whole, choice, yes-no, text, list (numbers), other (JSON)
  std::string unit;  ///< "mm", "°", ...; empty: none
  std::vector<std::string> choices;
  std::string value;                      ///< the published one, as a setting has it
  std::optional<double> least, greatest;  ///< what the author opens, within what a kit may have at all
};

/// In the author's order. `kit`: what `kit_text` reads as. Where the author gave no label or help, the schema's.
std::vector<OpenField> open_fields(const Kit& kit, const std::string& kit_text);

/// As a page takes them; null for a limit that is not there.
Json fields_json(const std::vector<OpenField>& fields);

/// Problems of values that others chose: a pointer that is not open, a value beyond what the author opens.
std::vector<Problem> problems_of(const std::vector<OpenField>& fields, const std::vector<Setting>& values);

/// The kit's text with the values in their places, every other byte as the author wrote it. Values must have been read
/// without problems.
std::string kit_text_with(const std::string& kit_text, const std::vector<Setting>& values);

}  // namespace bedwright
