#include "kit/view.h"

#include "kit/pointer.h"
#include "kit/slips.h"

namespace bedwright {
namespace {

/// Whether a is b or lies inside it.
bool within(const std::string& a, const std::string& b) {
  return a.compare(0, b.size(), b) == 0 && (a.size() == b.size() || a[b.size()] == '/');
}

}  // namespace

View::View(const Json& document, const std::vector<Problem>& problems) : document_(document) {
  for (const Problem& problem : problems) bad_.push_back(problem.pointer);
}

bool View::sound(const std::string& pointer) const {
  for (const std::string& bad : bad_) {
    if (within(bad, pointer) || within(pointer, bad)) return false;
  }
  return true;
}

const Json* View::find(const std::string& pointer) const {
  const Json* found = find_at(document_, pointer);
  return found && sound(pointer) ? found : nullptr;
}

std::optional<double> View::number(const std::string& pointer) const {
  const Json* found = find(pointer);
  if (!found || !found->is_number()) return std::nullopt;
  return found->get<double>();
}

std::optional<std::string> View::text(const std::string& pointer) const {
  const Json* found = find(pointer);
  if (!found || !found->is_string()) return std::nullopt;
  return found->get<std::string>();
}

std::optional<Vec2> View::pair(const std::string& pointer) const {
  const Json* found = find(pointer);
  if (!found || !found->is_array() || found->size() != 2) return std::nullopt;
  return Vec2{(*found)[0].get<double>(), (*found)[1].get<double>()};
}

std::size_t View::count(const std::string& pointer) const {
  const Json* found = find_at(document_, pointer);
  return found && found->is_array() ? found->size() : 0;
}

std::string pair_text(Vec2 pair) {
  return "[" + number_text(pair.x) + ", " + number_text(pair.y) + "]";
}

void add_problem(std::vector<Problem>& problems, const Json& document, const std::string& pointer,
                 const std::string& message, const std::string& hint) {
  const Json* found = find_at(document, pointer);
  std::string value;
  if (found && found->is_number()) value = number_text(found->get<double>());
  if (found && found->is_string()) value = found->get<std::string>();
  if (found && found->is_array() && found->size() == 2 && (*found)[0].is_number() && (*found)[1].is_number()) {
    value = pair_text({(*found)[0].get<double>(), (*found)[1].get<double>()});
  }
  problems.push_back({pointer, value, value.empty() ? message : value + ": " + message, hint});
}

}  // namespace bedwright
