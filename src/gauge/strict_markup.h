// XML as the 3MF core specification allows it: UTF-8, no document type, namespaces, bounded depth. Private to the
// gauge.
#pragma once

#include <functional>
#include <string>
#include <vector>

namespace bedwright {

struct MarkupName {
  std::string space, name;  ///< namespace, local name
};

struct MarkupAttribute {
  MarkupName name;
  std::string value;
};

struct MarkupHandler {
  std::function<void(const MarkupName&, const std::vector<MarkupAttribute>&)> start;
  std::function<void(const MarkupName&)> end;
  std::function<void(const std::string& prefix, const std::string& space)> declared = nullptr;
};

/// Reads the whole text. `line` holds the current line while a handler runs. Throws BadInput for what is no well-formed
/// XML, or is not allowed (2.3.2, 2.3.4 of the specification), and lets through what a handler throws.
void read_markup(const std::string& xml, const std::string& source, const MarkupHandler& handler, std::size_t& line);

}  // namespace bedwright
