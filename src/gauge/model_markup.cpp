#include "gauge/model_markup.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <set>

#include "base/error.h"
#include "gauge/strict_markup.h"

namespace bedwright {
namespace {

constexpr const char* core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
constexpr const char* relationships_space = "http://schemas.openxmlformats.org/package/2006/relationships";
constexpr const char* content_space = "http://schemas.openxmlformats.org/package/2006/content-types";
constexpr std::uint64_t most_ids = std::uint64_t{1} << 31;  // core specification 4.1.3, 4.1.4, and ST_ResourceID

constexpr int deepest_components = 64;  // no real assembly is near it

struct Unit {
  const char* name;
  double mm;
};
constexpr Unit units[] = {{"micron", 0.001}, {"millimeter", 1}, {"centimeter", 10},
                          {"inch", 25.4},    {"foot", 304.8},   {"meter", 1000}};  // core specification 3.4
constexpr const char* object_types[] = {"model", "solidsupport", "support", "surface", "other"};  // 4

class ModelReader {
 public:
  explicit ModelReader(const std::string& source) : source_(source) {}

  Model read(const std::string& xml) {
    MarkupHandler handler;
    handler.start = [this](const MarkupName& name, const std::vector<MarkupAttribute>& a) { start(name, a); };
    handler.end = [this](const MarkupName&) { path_.pop_back(); };
    handler.declared = [this](const std::string& prefix, const std::string& space) { spaces_[prefix] = space; };
    read_markup(xml, source_, handler, line_);
    if (!seen_resources_) refuse("the model has no <resources> (core specification 3.4)");
    if (!seen_build_) refuse("the model has no <build> (core specification 3.4)");
    finish_object();
    return std::move(model_);
  }

 private:
  using Attributes = std::vector<MarkupAttribute>;

  [[noreturn]] void refuse(const std::string& why, const std::string& value = "") const {
    throw BadInput(source_, {Problem{"line " + std::to_string(line_), value.substr(0, 40), why, ""}});
  }
  static const std::string* find(const Attributes& list, const char* name) {
    for (const MarkupAttribute& a : list)
      if (a.name.space.empty() && a.name.name == name) return &a.value;
    return nullptr;
  }
  const std::string& need(const Attributes& list, const char* name) const {
    const std::string* value = find(list, name);
    if (!value) refuse("<" + path_.back() + "> has no " + name);
    return *value;
  }
  std::uint32_t index(const std::string& text, const char* what) const {
    std::uint64_t value = 0;
    const auto [end, status] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (status != std::errc() || end != text.data() + text.size() || value >= most_ids)
      refuse(std::string(what) + " is no whole number below 2^31", text);
    return static_cast<std::uint32_t>(value);
  }
  double number(const std::string& text) const {
    const char* from = text.data() + (!text.empty() && text[0] == '+');
    double value = 0;
    const auto [end, status] = std::from_chars(from, text.data() + text.size(), value);
    if (status != std::errc() || end != text.data() + text.size() || !std::isfinite(static_cast<float>(value)))
      refuse("is no finite number with a point (core specification 2.3.3)", text);
    return value;
  }
  /// Twelve numbers for row vectors, the last row the shift (3.3); here column vectors.
  Transform transform(const Attributes& list) const {
    Transform t;
    const std::string* text = find(list, "transform");
    if (!text) return t;
    std::vector<double> values;
    for (std::size_t from = 0; from < text->size();) {
      const std::size_t to = std::min(text->find_first_of(" \t\n\r", from), text->size());
      if (to > from) values.push_back(number(text->substr(from, to - from)));
      from = to + 1;
    }
    if (values.size() != 12) refuse("a transform has twelve numbers (core specification 3.3)", *text);
    for (std::size_t row = 0; row < 4; ++row)
      for (std::size_t column = 0; column < 3; ++column)
        t.m[4 * column + row] = values[3 * row + column] * (row == 3 ? scale_ : 1);
    if (!(std::fabs(determinant(t)) > 0)) refuse("a transform that flattens", *text);
    return t;
  }

  void start(const MarkupName& name, const Attributes& list) {
    const std::string parent = path_.empty() ? "" : path_.back();
    const bool foreign = name.space != core;
    path_.push_back(foreign ? "" : name.name);
    if (path_.size() > 1 && parent.empty()) return;  // inside what another namespace owns
    if (foreign) {
      if (path_.size() == 1) refuse("the root is no core <model>", name.name);
      if (parent == "resources") claim_id(list);
      return;
    }
    const std::string& e = name.name;
    if (e == "model" && parent.empty()) return start_model(list);
    if (parent == "model" && e == "metadata") return metadata(list);
    if (parent == "model" && e == "resources") return once(seen_resources_, "resources");
    if (parent == "model" && e == "build") {
      if (!seen_resources_) refuse("<build> comes before <resources>");
      finish_object();
      return once(seen_build_, "build");
    }
    if (parent == "resources" && e == "basematerials") return claim_id(list);
    if (parent == "basematerials" && e == "base") {
      need(list, "name");
      need(list, "displaycolor");
      return;
    }
    if (parent == "resources" && e == "object") return start_object(list);
    if (parent == "object" && e == "mesh") return start_body("mesh");
    if (parent == "object" && e == "components") return start_body("components");
    if ((parent == "object" || parent == "item") && e == "metadatagroup") return;
    if (parent == "metadatagroup" && e == "metadata") return;
    if (parent == "mesh" && (e == "vertices" || e == "triangles")) return;
    if (parent == "vertices" && e == "vertex") return vertex(list);
    if (parent == "triangles" && e == "triangle") return triangle(list);
    if (parent == "components" && e == "component") return component(list);
    if (parent == "build" && e == "item") return item(list);
    refuse("<" + e + "> does not belong inside <" + parent + "> (core specification, schema)");
  }

  void once(bool& seen, const char* what) const {
    if (seen) refuse(std::string("the model has two <") + what + "> (core specification 3.4)");
    seen = true;
  }
  void start_model(const Attributes& list) {
    if (const std::string* unit = find(list, "unit")) {
      scale_ = 0;
      for (const Unit& u : units)
        if (*unit == u.name) scale_ = u.mm;
      if (scale_ == 0) refuse("is no unit of the core specification (3.4)", *unit);
    }
    if (const std::string* needed = find(list, "requiredextensions"))
      for (std::size_t from = 0; from < needed->size();) {
        const std::size_t to = std::min(needed->find(' ', from), needed->size());
        const std::string prefix = needed->substr(from, to - from);
        const auto space = spaces_.find(prefix);
        if (!prefix.empty() && (space == spaces_.end() || space->second != core))
          refuse("says that it cannot be understood without an extension that is not read here", prefix);
        from = to + 1;
      }
  }
  void metadata(const Attributes& list) {
    const std::string& name = need(list, "name");
    if (!metadata_.insert(name).second) refuse("two metadata of one name (core specification 3.4.1)", name);
    const std::size_t colon = name.find(':');
    if (colon != name.npos && !spaces_.count(name.substr(0, colon)))
      refuse("metadata whose namespace is not declared (core specification 3.4.1)", name);
  }
  void claim_id(const Attributes& list) {
    const std::string* id = find(list, "id");
    if (!id) return;
    if (!ids_.insert(index(*id, "an id")).second) refuse("two resources of one id (core specification 3.4.2)", *id);
  }
  void start_object(const Attributes& list) {
    finish_object();
    const std::uint32_t id = index(need(list, "id"), "an id");
    if (id == 0) refuse("an id is 1 or more");
    claim_id(list);
    ModelObject object;
    if (const std::string* name = find(list, "name")) object.name = *name;
    if (const std::string* number = find(list, "partnumber")) object.part_number = *number;
    if (const std::string* type = find(list, "type")) object.type = *type;
    bool known = false;
    for (const char* type : object_types) known = known || object.type == type;
    if (!known) refuse("is no object type (core specification 4)", object.type);
    const std::string* property = find(list, "pid");
    if (property && !ids_.count(index(*property, "pid"))) refuse("pid names no earlier resource", *property);
    if (!property && find(list, "pindex")) refuse("pindex without pid (core specification 4)");
    open_ = id;
    has_body_ = false;
    current_ = &model_.objects.emplace(id, std::move(object)).first->second;
  }
  void start_body(const char* what) {
    if (has_body_) refuse(std::string("an object has one <mesh> or one <components>, not another <") + what + ">");
    has_body_ = true;
  }
  void vertex(const Attributes& list) {
    if (current_->mesh.vertices.size() + 1 >= most_ids) refuse("too many vertices");
    const double x = number(need(list, "x")), y = number(need(list, "y")), z = number(need(list, "z"));
    current_->mesh.vertices.push_back(scale_ * Vec3{x, y, z});
  }
  void triangle(const Attributes& list) {
    const std::array<std::uint32_t, 3> t = {index(need(list, "v1"), "v1"), index(need(list, "v2"), "v2"),
                                            index(need(list, "v3"), "v3")};
    for (const std::uint32_t v : t)
      if (v >= current_->mesh.vertices.size())
        refuse("a triangle names vertex " + std::to_string(v) + " of " +
               std::to_string(current_->mesh.vertices.size()));
    if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0])
      refuse("a triangle names one vertex twice (core specification 4.1.4.1)");
    const std::string* property = find(list, "pid");
    if (property && !ids_.count(index(*property, "pid"))) refuse("pid names no earlier resource", *property);
    current_->mesh.triangles.push_back(t);
  }
  void component(const Attributes& list) {
    const std::uint32_t id = index(need(list, "objectid"), "objectid");
    if (id == open_ || !model_.objects.count(id)) refuse("a component names no earlier object", std::to_string(id));
    current_->depth = std::max(current_->depth, model_.objects.at(id).depth + 1);
    if (current_->depth > deepest_components) refuse("components lie deeper in each other than is read here");
    current_->components.push_back({id, transform(list)});
  }
  void item(const Attributes& list) {
    const std::uint32_t id = index(need(list, "objectid"), "objectid");
    const auto object = model_.objects.find(id);
    if (object == model_.objects.end()) refuse("a build item names no object", std::to_string(id));
    if (object->second.type == "other")
      refuse("a build item names an object of type other (core specification 3.4.3.1)");
    const std::string* number = find(list, "partnumber");
    model_.items.push_back({id, number ? *number : "", transform(list)});
  }
  void finish_object() {
    if (!current_) return;
    const ModelObject& o = *current_;
    const std::size_t least = o.type == "model" || o.type == "solidsupport" ? 4 : 1;
    if (!has_body_) refuse("object " + std::to_string(open_) + " has neither mesh nor components");
    if (o.components.empty() && o.mesh.triangles.size() < least)
      refuse("object " + std::to_string(open_) + " has " + std::to_string(o.mesh.triangles.size()) +
             " triangles; no solid has fewer than 4 (core specification 4.1.4)");
    current_ = nullptr;
  }

  const std::string& source_;
  std::size_t line_ = 1;
  Model model_;
  ModelObject* current_ = nullptr;
  std::uint32_t open_ = 0;
  std::vector<std::string> path_;
  std::map<std::string, std::string> spaces_;
  std::set<std::uint32_t> ids_;
  std::set<std::string> metadata_;
  double scale_ = 1;
  bool seen_resources_ = false, seen_build_ = false, has_body_ = false;
};

std::string value_of(const std::vector<MarkupAttribute>& list, const char* name) {
  for (const MarkupAttribute& a : list)
    if (a.name.space.empty() && a.name.name == name) return a.value;
  return "";
}

}  // namespace

std::string small_letters(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

Model read_model_markup(const std::string& xml, const std::string& source) {
  return ModelReader(source).read(xml);
}

std::vector<Relationship> read_relationships(const std::string& xml, const std::string& source) {
  std::vector<Relationship> list;
  std::size_t line = 1;
  MarkupHandler handler;
  handler.start = [&](const MarkupName& name, const std::vector<MarkupAttribute>& a) {
    if (name.space == relationships_space && name.name == "Relationship")
      list.push_back(
          {value_of(a, "Id"), value_of(a, "Type"), value_of(a, "Target"), value_of(a, "TargetMode") == "External"});
  };
  handler.end = [](const MarkupName&) {};
  read_markup(xml, source, handler, line);
  return list;
}

ContentTypes read_content_types(const std::string& xml, const std::string& source) {
  ContentTypes types;
  std::size_t line = 1;
  MarkupHandler handler;
  handler.start = [&](const MarkupName& name, const std::vector<MarkupAttribute>& a) {
    if (name.space != content_space) return;
    if (name.name == "Default")
      types.by_extension[small_letters(value_of(a, "Extension"))] = value_of(a, "ContentType");
    if (name.name == "Override") types.by_name[small_letters(value_of(a, "PartName"))] = value_of(a, "ContentType");
  };
  handler.end = [](const MarkupName&) {};
  read_markup(xml, source, handler, line);
  return types;
}

}  // namespace bedwright
