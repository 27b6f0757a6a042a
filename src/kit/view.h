// Looks into a document that may still have problems: only sound values are handed out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "kit/kit.h"

namespace bedwright {

class View {
 public:
  View(const Json& document, const std::vector<Problem>& problems);

  const Json& document() const { return document_; }
  /// Whether nothing at, above or below the pointer has a problem.
  bool sound(const std::string& pointer) const;
  /// The value, or nullptr if it is missing or not sound.
  const Json* find(const std::string& pointer) const;
  std::optional<double> number(const std::string& pointer) const;
  std::optional<std::string> text(const std::string& pointer) const;
  std::optional<Vec2> pair(const std::string& pointer) const;
  /// Entries of a list, 0 if there is none; single entries may be unsound.
  std::size_t count(const std::string& pointer) const;

 private:
  const Json& document_;
  std::vector<std::string> bad_;
};

/// Adds a problem whose message begins with the value found at the pointer, as the schema's problems do.
void add_problem(std::vector<Problem>& problems, const Json& document, const std::string& pointer,
                 const std::string& message, const std::string& hint = "");

/// "[196, 150]".
std::string pair_text(Vec2 pair);

}  // namespace bedwright
