#include <algorithm>
#include <map>

#include "base/error.h"
#include "base/unzip.h"
#include "gauge/model_markup.h"
#include "gauge/read_mesh.h"

namespace bedwright {
namespace {

constexpr const char* model_type = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml";
constexpr const char* start_part = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";
constexpr const char* thumbnail_part =
    "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail";
constexpr const char* print_ticket = "http://schemas.microsoft.com/3dmanufacturing/2013/01/printticket";

class Package {
 public:
  Package(const std::string& bytes, const std::string& source)
      : bytes_(bytes), source_(source), entries_(list_zip(bytes, source)) {}

  Model model() {
    const std::string* types = text("[Content_Types].xml");
    if (!types) refuse("", "holds no [Content_Types].xml: not a 3MF package");
    const ContentTypes content = read_content_types(*types, source_ + ": [Content_Types].xml");
    const std::string* roots = text("_rels/.rels");
    if (!roots) refuse("", "holds no _rels/.rels: not a 3MF package");
    std::string start;
    for (const Relationship& r : read_relationships(*roots, source_ + ": _rels/.rels")) {
      if (r.type != start_part && r.type != thumbnail_part) continue;
      if (r.external) refuse(r.target, "lies outside the package (core specification 2.1)");
      const std::string name = resolved("", r.target);
      if (!entry(name)) refuse(r.target, "is named by the package and not in it (core specification 2.1)");
      if (r.type != start_part) continue;
      if (!start.empty()) refuse(r.target, "is a second start part (core specification 2.1.1)");
      start = name;
    }
    if (start.empty()) refuse("", "names no start part: not a 3MF package (core specification 2.1)");
    if (type_of(content, start) != model_type)
      refuse(start, "is not declared as a 3D model in [Content_Types].xml (core specification C.1)");
    check_links(start);
    return read_model_markup(*text(start), source_ + ": " + start);
  }

 private:
  [[noreturn]] void refuse(const std::string& where, const std::string& why) const {
    throw BadInput(source_, {Problem{where.substr(0, 80), "", why, ""}});
  }
  const ZipEntry* entry(const std::string& name) const {
    const auto at = std::find_if(entries_.begin(), entries_.end(),
                                 [&](const ZipEntry& e) { return small_letters(e.name) == small_letters(name); });
    return at == entries_.end() ? nullptr : &*at;
  }
  const std::string* text(const std::string& name) {
    const ZipEntry* found = entry(name);
    if (!found) return nullptr;
    const auto known = texts_.find(found->name);
    if (known != texts_.end()) return &known->second;
    return &texts_.emplace(found->name, unzip(bytes_, *found, source_)).first->second;
  }
  /// A target's name in the archive, from the folder of what names it.
  std::string resolved(const std::string& folder, const std::string& target) const {
    if (!target.empty() && target[0] == '/') return target.substr(1);
    return folder + target;
  }
  std::string type_of(const ContentTypes& content, const std::string& name) const {
    const auto exact = content.by_name.find(small_letters("/" + name));
    if (exact != content.by_name.end()) return exact->second;
    const std::size_t dot = name.rfind('.');
    const auto by_extension = content.by_extension.find(dot == name.npos ? "" : small_letters(name.substr(dot + 1)));
    return by_extension == content.by_extension.end() ? "" : by_extension->second;
  }
  /// What the model itself points to: within the package, and one print ticket at most.
  void check_links(const std::string& start) {
    const std::size_t slash = start.rfind('/');
    const std::string folder = slash == start.npos ? "" : start.substr(0, slash + 1);
    const std::string* own = text(folder + "_rels/" + start.substr(folder.size()) + ".rels");
    if (!own) return;
    int tickets = 0;
    for (const Relationship& r : read_relationships(*own, source_ + ": " + folder + "_rels")) {
      if (r.external || r.target.find(':') != r.target.npos)
        refuse(r.target, "lies outside the package (core specification 2.1)");
      tickets += r.type == print_ticket;
    }
    if (tickets > 1) refuse(start, "has two print tickets (core specification 2.1.4)");
  }

  const std::string& bytes_;
  const std::string& source_;
  std::vector<ZipEntry> entries_;
  std::map<std::string, std::string> texts_;
};

/// Facets of each object with all that it is put together of; its components are earlier objects, never itself.
class Assembler {
 public:
  Assembler(const Model& model, const std::string& source) : model_(model), source_(source) {}

  Mesh placed(std::uint32_t id, const Transform& place) {
    facets_ += count(id);
    if (facets_ > most_items_facets) too_many();
    Mesh mesh;
    append(mesh, id, place);
    return mesh;
  }
  bool is_solid(std::uint32_t id) const { return model_.objects.at(id).type == "model"; }

 private:
  [[noreturn]] void too_many() const {
    throw BadInput(
        source_,
        {Problem{"", "", "its components multiply to more than " + std::to_string(most_items_facets) + " triangles",
                 "export the parts one by one"}});
  }
  std::size_t count(std::uint32_t id) {
    const auto known = counts_.find(id);
    if (known != counts_.end()) return known->second;
    const ModelObject& object = model_.objects.at(id);
    std::size_t sum = object.mesh.triangles.size();
    for (const ModelComponent& c : object.components) {
      sum += count(c.object);
      if (sum > most_items_facets) too_many();
    }
    return counts_[id] = sum;
  }
  void append(Mesh& mesh, std::uint32_t id, const Transform& place) const {
    const ModelObject& object = model_.objects.at(id);
    const Mesh own = transformed(object.mesh, place);
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), own.vertices.begin(), own.vertices.end());
    for (const auto& t : own.triangles) mesh.triangles.push_back({first + t[0], first + t[1], first + t[2]});
    for (const ModelComponent& c : object.components) append(mesh, c.object, compose(place, c.place));
  }

  const Model& model_;
  const std::string& source_;
  std::map<std::uint32_t, std::size_t> counts_;
  std::size_t facets_ = 0;
};

}  // namespace

std::vector<MeshItem> read_3mf(const std::string& bytes, const std::string& source) {
  const Model model = Package(bytes, source).model();
  Assembler assembler(model, source);
  std::vector<MeshItem> items;
  for (const ModelItem& item : model.items) {
    if (!assembler.is_solid(item.object)) continue;
    const ModelObject& object = model.objects.at(item.object);
    items.push_back({object.name, object.part_number.empty() ? item.part_number : object.part_number,
                     assembler.placed(item.object, item.place)});
  }
  if (items.empty()) throw BadInput(source, {Problem{"", "", "builds nothing: no solid is placed", ""}});
  return items;
}

}  // namespace bedwright
