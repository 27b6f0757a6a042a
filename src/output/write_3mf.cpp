#include "output/write_3mf.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "base/error.h"
#include "base/markup.h"
#include "base/numbers.h"
#include "output/zip.h"

namespace bedwright {
namespace {

constexpr const char* content_types =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">"
    "<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
    "<Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>"
    "</Types>\n";
constexpr const char* relationships =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">"
    "<Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" "
    "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>"
    "</Relationships>\n";

void write_object(std::string& xml, int id, const BedObject& object) {
  auto out = std::back_inserter(xml);
  fmt::format_to(out, "  <object id=\"{}\" type=\"model\" name=\"{}\" partnumber=\"{}\">\n   <mesh>\n    <vertices>\n",
                 id, escaped_markup(object.part), escaped_markup(object.part));
  // fmt writes the shortest text that reads back as the same float.
  for (const Vec3& v : object.mesh->vertices)
    fmt::format_to(out, "     <vertex x=\"{}\" y=\"{}\" z=\"{}\"/>\n", static_cast<float>(v.x) + 0.0f,
                   static_cast<float>(v.y) + 0.0f, static_cast<float>(v.z) + 0.0f);
  xml += "    </vertices>\n    <triangles>\n";
  for (const auto& t : object.mesh->triangles)
    fmt::format_to(out, "     <triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>\n", t[0], t[1], t[2]);
  xml += "    </triangles>\n   </mesh>\n  </object>\n";
}

}  // namespace

std::string to_3mf(const Bed& bed, const std::vector<BedObject>& objects, const BedLabels& labels) {
  std::vector<const BedObject*> used;
  const auto id_of = [&](const std::string& part) {
    const auto at = std::find_if(used.begin(), used.end(), [&](const BedObject* o) { return o->part == part; });
    return at == used.end() ? 0 : static_cast<int>(at - used.begin()) + 1;
  };
  for (const BedObject& object : objects)
    if (std::any_of(bed.items.begin(), bed.items.end(), [&](const OnBed& i) { return i.part == object.part; }))
      used.push_back(&object);

  std::string xml =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<model unit=\"millimeter\" xml:lang=\"en-US\" "
      "xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n";
  xml += fmt::format(
      " <metadata name=\"Title\">{}</metadata>\n <metadata name=\"Description\">{}</metadata>\n"
      " <metadata name=\"Application\">bedwright</metadata>\n <resources>\n",
      escaped_markup(labels.title), escaped_markup(labels.description));
  for (std::size_t i = 0; i < used.size(); ++i) write_object(xml, static_cast<int>(i) + 1, *used[i]);
  xml += " </resources>\n <build>\n";
  for (const OnBed& item : bed.items) {
    const int id = id_of(item.part);
    if (id == 0) throw Error("no mesh for " + item.part);
    // Row vectors: p' = p M, so that a quarter turn maps x to y.
    xml += fmt::format("  <item objectid=\"{}\" transform=\"{} 0 0 0 1 {} {} 0\" partnumber=\"{}-{}\"/>\n", id,
                       item.quarter ? "0 1 0 -1 0" : "1 0 0 0 1", decimal(item.at.x, 3), decimal(item.at.y, 3),
                       escaped_markup(item.part), item.copy);
  }
  xml += " </build>\n</model>\n";
  return to_zip({{"[Content_Types].xml", content_types}, {"_rels/.rels", relationships}, {"3D/3dmodel.model", xml}});
}

}  // namespace bedwright
