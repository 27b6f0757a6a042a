// The model part of a 3MF package as plain values. Private to the gauge.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

struct ModelComponent {
  std::uint32_t object = 0;
  Transform place;
};

struct ModelObject {
  std::string name, part_number, type = "model";
  Mesh mesh;  ///< millimetres
  std::vector<ModelComponent> components;
  int depth = 0;  ///< of components within components
};

struct ModelItem {
  std::uint32_t object = 0;
  std::string part_number;
  Transform place;
};

struct Model {
  std::map<std::uint32_t, ModelObject> objects;
  std::vector<ModelItem> items;
};

/// Throws BadInput, naming line and rule, for whatever the core specification says MUST be otherwise.
Model read_model_markup(const std::string& xml, const std::string& source);

/// What an OPC relationships part says.
struct Relationship {
  std::string id, type, target;
  bool external = false;
};
std::vector<Relationship> read_relationships(const std::string& xml, const std::string& source);

/// Content types by extension and by part name.
struct ContentTypes {
  std::map<std::string, std::string> by_extension, by_name;  ///< keys in small letters
};
ContentTypes read_content_types(const std::string& xml, const std::string& source);

/// ASCII capitals to small letters: part names and extensions are alike whichever they use.
std::string small_letters(std::string text);

}  // namespace bedwright
