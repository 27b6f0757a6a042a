// JSON pointers (RFC 6901) as text.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

/// The pointer to a member of what `pointer` points to.
std::string child(const std::string& pointer, const std::string& key);
std::string child(const std::string& pointer, std::size_t index);

/// The pointer's steps, unescaped; nothing if the text is no pointer.
std::optional<std::vector<std::string>> pointer_steps(const std::string& pointer);

/// The array index that a step means, or nothing ("-" and "01" are none).
std::optional<std::size_t> array_index(const std::string& step);

/// What the pointer points to, or nullptr.
const Json* find_at(const Json& document, const std::string& pointer);

}  // namespace bedwright
