#include "kit/pointer.h"

namespace bedwright {

std::string child(const std::string& pointer, const std::string& key) {
  std::string text = pointer + "/";
  for (const char c : key) {
    if (c == '~') {
      text += "~0";
    } else if (c == '/') {
      text += "~1";
    } else {
      text += c;
    }
  }
  return text;
}

std::string child(const std::string& pointer, std::size_t index) {
  return pointer + "/" + std::to_string(index);
}

std::optional<std::vector<std::string>> pointer_steps(const std::string& pointer) {
  std::vector<std::string> steps;
  if (pointer.empty()) return steps;
  if (pointer[0] != '/') return std::nullopt;
  for (std::size_t i = 0; i < pointer.size(); ++i) {
    if (pointer[i] == '/') {
      steps.emplace_back();
    } else if (pointer[i] != '~') {
      steps.back() += pointer[i];
    } else if (i + 1 < pointer.size() && (pointer[i + 1] == '0' || pointer[i + 1] == '1')) {
      steps.back() += pointer[++i] == '0' ? '~' : '/';
    } else {
      return std::nullopt;
    }
  }
  return steps;
}

std::optional<std::size_t> array_index(const std::string& step) {
  if (step.empty() || step.size() > 6 || (step.size() > 1 && step[0] == '0')) return std::nullopt;
  std::size_t index = 0;
  for (const char c : step) {
    if (c < '0' || c > '9') return std::nullopt;
    index = index * 10 + static_cast<std::size_t>(c - '0');
  }
  return index;
}

const Json* find_at(const Json& document, const std::string& pointer) {
  const auto steps = pointer_steps(pointer);
  if (!steps) return nullptr;
  const Json* at = &document;
  for (const std::string& step : *steps) {
    if (at->is_object()) {
      const auto found = at->find(step);
      if (found == at->end()) return nullptr;
      at = &*found;
    } else if (at->is_array()) {
      const auto index = array_index(step);
      if (!index || *index >= at->size()) return nullptr;
      at = &(*at)[*index];
    } else {
      return nullptr;
    }
  }
  return at;
}

}  // namespace bedwright
