#include "output/write_3mf.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "base/error.h"
#include "base/markup.h"
#include "base/numbers.h"
#include "output/thumbnail.h"
#include "output/zip.h"

namespace bedwright {
namespace {

// The thumbnail goes without an extension: assimp 5.2 takes every .png for a texture and frees it wrongly.
constexpr const char* content_types =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">"
    "<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
    "<Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>"
    "<Override PartName=\"/Metadata/thumbnail\" ContentType=\"image/png\"/>"
    "</Types>\n";
constexpr const char* relationships =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">"
    "<Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" "
    "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>"
    "<Relationship Target=\"/Metadata/thumbnail\" Id=\"rel1\" "
    "Type=\"http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail\"/>"
    "</Relationships>\n";
// Row vectors: p' = p M, so that a quarter turn maps x to y.
constexpr const char* turns[] = {"1 0 0 0 1", "0 1 0 -1 0", "-1 0 0 0 -1", "0 -1 0 1 0"};
// Names of metadata that the core specification does not know need a namespace of their own (3.4.1).
constexpr const char* own_namespace = "urn:bedwright:kit:1";

void write_object(std::string& xml, int id, const BedObject& object) {
  auto out = std::back_inserter(xml);
  fmt::format_to(out, "  <object id=\"{}\" type=\"model\" name=\"{}\" partnumber=\"{}\">\n   <mesh>\n    <vertices>\n",
                 id, escaped_markup(object.part), escaped_markup(object.part));
  // fmt writes the shortest text that reads back as the same float.
  for (const Vec3& v : object.mesh->vertices)
    fmt::format_to(out, "     <vertex x=\"{}\" y=\"{}\" z=\"{}\"/>\n", static_cast<float>(v.x) + 0.0f,
                   static_cast<float>(v.y) + 0.0f, static_cast<float>(v.z) + 0.0f);
  fmt::format_to(out, "    </vertices>\n    <triangles>\n");
  for (const auto& t : object.mesh->triangles)
    fmt::format_to(out, "     <triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>\n", t[0], t[1], t[2]);
  fmt::format_to(out, "    </triangles>\n   </mesh>\n  </object>\n");
}

void write_metadata(std::string& xml, const char* name, const std::string& value) {
  if (value.empty()) return;
  xml += fmt::format(" <metadata name=\"{}\">{}</metadata>\n", name, escaped_markup(value));
}

/// The objects that some item shows, and which one each item does.
struct Used {
  std::vector<const BedObject*> objects;
  std::vector<std::size_t> of_item;
};
Used used_on(const Bed& bed, const std::vector<BedObject>& objects) {
  Used used;
  for (const BedObject& object : objects)
    if (std::any_of(bed.items.begin(), bed.items.end(), [&](const OnBed& i) { return i.part == object.part; }))
      used.objects.push_back(&object);
  for (const OnBed& item : bed.items) {
    const auto at = std::find_if(used.objects.begin(), used.objects.end(),
                                 [&](const BedObject* o) { return o->part == item.part; });
    if (at == used.objects.end()) throw Error("no mesh for " + item.part);
    used.of_item.push_back(static_cast<std::size_t>(at - used.objects.begin()));
  }
  return used;
}

}  // namespace

std::string bed_model(const Bed& bed, const std::vector<BedObject>& objects, const BedLabels& labels) {
  const Used used = used_on(bed, objects);
  std::string xml =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<model unit=\"millimeter\" xml:lang=\"en-US\" "
      "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"";
  xml += fmt::format(" xmlns:bw=\"{}\">\n", own_namespace);
  write_metadata(xml, "Title", labels.title);
  write_metadata(xml, "Description", labels.description);
  write_metadata(xml, "Application", "bedwright");
  write_metadata(xml, "bw:kit", labels.kit);
  write_metadata(xml, "bw:revision", labels.revision);
  write_metadata(xml, "bw:input_sha256", labels.input_sha256);
  xml += " <resources>\n";
  for (std::size_t i = 0; i < used.objects.size(); ++i) write_object(xml, static_cast<int>(i) + 1, *used.objects[i]);
  xml += " </resources>\n <build>\n";
  for (std::size_t i = 0; i < bed.items.size(); ++i) {
    const OnBed& item = bed.items[i];
    xml += fmt::format("  <item objectid=\"{}\" transform=\"{} 0 0 0 1 {} {} 0\" partnumber=\"{}-{}\"/>\n",
                       used.of_item[i] + 1, turns[static_cast<std::size_t>(item.quarters)], shortest(item.at.x),
                       shortest(item.at.y), escaped_markup(item.part), item.copy);
  }
  return xml + " </build>\n</model>\n";
}

std::string bed_picture(const Bed& bed, const std::vector<BedObject>& objects, Vec2 bed_mm) {
  const Used used = used_on(bed, objects);
  std::vector<Shown> shown;
  for (std::size_t i = 0; i < bed.items.size(); ++i)
    shown.push_back({used.objects[used.of_item[i]]->mesh,
                     compose(shift({bed.items[i].at.x, bed.items[i].at.y, 0}), quarter_turn(2, bed.items[i].quarters)),
                     used.of_item[i]});
  return to_png(thumbnail(shown, bed_mm));
}

std::string to_3mf(const std::string& model, const std::string& picture) {
  return zip_of({{"[Content_Types].xml", content_types},
                 {"_rels/.rels", relationships},
                 {"3D/3dmodel.model", model},
                 {"Metadata/thumbnail", picture}});
}

}  // namespace bedwright
