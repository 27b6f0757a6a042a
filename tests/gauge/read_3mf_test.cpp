// 3MF packages in: the core specification's rules one by one (3MF Core Specification 1.4.0; section numbers in the
// names), and what is made to harm.
#include <catch2/catch.hpp>

#include "base/error.h"
#include "gauge/read_mesh.h"
#include "output/zip.h"

using namespace bedwright;

namespace {

const std::string types =
    "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">"
    "<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
    "<Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/></Types>";
const std::string start_type = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";

std::string relationship(const std::string& target, const std::string& type = start_type,
                         const std::string& more = "") {
  return "<Relationship Target=\"" + target + "\" Id=\"r" + target.substr(target.size() - 1) + "\" Type=\"" + type +
         "\" " + more + "/>";
}

std::string relationships(const std::string& inside) {
  return "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">" + inside +
         "</Relationships>";
}

std::string package(const std::string& model) {
  return to_zip({{"[Content_Types].xml", types},
                 {"_rels/.rels", relationships(relationship("/3D/3dmodel.model"))},
                 {"3D/3dmodel.model", model}});
}

const std::string vertices =
    "<vertices><vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"10\" y=\"0\" z=\"0\"/>"
    "<vertex x=\"0\" y=\"20\" z=\"0\"/><vertex x=\"0\" y=\"0\" z=\"30\"/></vertices>";
const std::string triangles =
    "<triangles><triangle v1=\"0\" v2=\"2\" v3=\"1\"/><triangle v1=\"0\" v2=\"1\" v3=\"3\"/>"
    "<triangle v1=\"0\" v2=\"3\" v3=\"2\"/><triangle v1=\"1\" v2=\"2\" v3=\"3\"/></triangles>";
const std::string mesh = "<mesh>" + vertices + triangles + "</mesh>";

std::string object(int id, const std::string& body, const std::string& more = "") {
  return "<object id=\"" + std::to_string(id) + "\" " + more + ">" + body + "</object>";
}

std::string model(const std::string& resources, const std::string& build, const std::string& attributes = "",
                  const std::string& before = "") {
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model " + attributes +
         " xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" "
         "xmlns:m=\"http://schemas.microsoft.com/3dmanufacturing/material/2015/02\">" +
         before + "<resources>" + resources + "</resources><build>" + build + "</build></model>";
}

const std::string item1 = "<item objectid=\"1\"/>";

std::vector<MeshItem> items_of(const std::string& markup) {
  return read_3mf(package(markup), "x.3mf");
}

std::string why(const std::string& bytes) {
  try {
    read_3mf(bytes, "x.3mf");
  } catch (const BadInput& e) {
    return to_text(e.problems.at(0));
  }
  return "";
}

std::string why_model(const std::string& markup) {
  return why(package(markup));
}

}  // namespace

TEST_CASE("3mf in: a tetrahedron in each unit of 3.4 has its volume in cubic millimetres", "[3mf]") {
  // 10 x 20 x 30 / 6 = 1000, times the cube of the unit.
  for (const auto& [unit, mm] : {std::pair<const char*, double>{"micron", 1e-3},
                                 {"millimeter", 1},
                                 {"centimeter", 10},
                                 {"inch", 25.4},
                                 {"foot", 304.8},
                                 {"meter", 1000}}) {
    CAPTURE(unit);
    const auto items = items_of(model(object(1, mesh), item1, std::string("unit=\"") + unit + "\""));
    REQUIRE(items.size() == 1);
    CHECK(volume(items[0].mesh) == Approx(1000 * mm * mm * mm).epsilon(1e-12));
  }
  CHECK(volume(items_of(model(object(1, mesh), item1))[0].mesh) == Approx(1000));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "unit=\"Millimeter\"")), Catch::Contains("unit"));
}

TEST_CASE("3mf in: transforms are for row vectors (3.3), and a shift has the model's unit", "[3mf]") {
  const auto items = items_of(
      model(object(1, mesh), "<item objectid=\"1\" transform=\"0 1 0 -1 0 0 0 0 1 5 6 7\"/>", "unit=\"centimeter\""));
  // A quarter turn takes (10, 0, 0) cm to (0, 10, 0) cm; then the shift.
  CHECK(items[0].mesh.vertices[1] == Vec3{50, 160, 70});
  CHECK(volume(items[0].mesh) > 0);
  CHECK_THAT(why_model(model(object(1, mesh), "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 0 0\"/>")),
             Catch::Contains("twelve"));
  CHECK_THAT(why_model(model(object(1, mesh), "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 0 0 0 0\"/>")),
             Catch::Contains("flattens"));
}

TEST_CASE("3mf in: a mirroring transform keeps the outside outside (3.3)", "[3mf]") {
  const auto items = items_of(model(object(1, mesh), "<item objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 0 0 0\"/>"));
  CHECK(volume(items[0].mesh) == Approx(1000));
}

TEST_CASE("3mf in: components are put together, also mirrored and nested (4.2)", "[3mf]") {
  const std::string two =
      "<components><component objectid=\"1\"/><component objectid=\"1\" "
      "transform=\"-1 0 0 0 1 0 0 0 1 -1 0 0\"/></components>";
  const auto items = items_of(model(object(1, mesh, "name=\"a\" partnumber=\"n\"") + object(2, two, "name=\"pair\""),
                                    "<item objectid=\"2\"/><item objectid=\"1\" partnumber=\"other\"/>"));
  REQUIRE(items.size() == 2);
  CHECK(items[0].name == "pair");
  CHECK(volume(items[0].mesh) == Approx(2000));
  CHECK(bounding_box(items[0].mesh).low.x == -11);
  CHECK(items[1].name == "a");
  CHECK(items[1].part_number == "n");
}

TEST_CASE("3mf in: support is not measured, and an object of type other cannot be built (4, 3.4.3.1)", "[3mf]") {
  const std::string both = object(1, mesh) + object(2, mesh, "type=\"support\"");
  CHECK(items_of(model(both, item1 + "<item objectid=\"2\"/>")).size() == 1);
  CHECK_THAT(why_model(model(both, "<item objectid=\"2\"/>")), Catch::Contains("builds nothing"));
  CHECK_THAT(why_model(model(object(1, mesh, "type=\"other\""), item1)), Catch::Contains("other"));
  CHECK_THAT(why_model(model(object(1, mesh, "type=\"solid\""), item1)), Catch::Contains("object type"));
}

TEST_CASE("3mf in: structure of the model (3.4, 3.4.1, 3.4.2)", "[3mf]") {
  const std::string head = "<model xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">";
  CHECK_THAT(why_model(head + "<build/></model>"), Catch::Contains("<build> comes before <resources>"));
  CHECK_THAT(why_model(head + "</model>"), Catch::Contains("the model has no <resources> (core specification 3.4)"));
  CHECK_THAT(why_model(head + "<resources>" + object(1, mesh) + "</resources></model>"), Catch::Contains("no <build>"));
  CHECK_THAT(why_model(head + "<resources/><resources/><build/></model>"), Catch::Contains("two <resources>"));
  CHECK_THAT(why_model("<model><resources/><build/></model>"), Catch::Contains("root"));
  CHECK_THAT(why_model(model(object(1, mesh) + object(1, mesh), item1)), Catch::Contains("two resources of one id"));
  CHECK_THAT(why_model(model("<m:colorgroup id=\"1\"/>" + object(1, mesh), item1)), Catch::Contains("one id"));
  CHECK_THAT(why_model(model(object(0, mesh), "<item objectid=\"0\"/>")), Catch::Contains("1 or more"));
  CHECK_THAT(why_model(model(object(1, mesh), "<item objectid=\"2\"/>")), Catch::Contains("names no object"));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "", "<metadata name=\"Title\"/><metadata name=\"Title\"/>")),
             Catch::Contains("two metadata"));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "", "<metadata>x</metadata>")), Catch::Contains("no name"));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "", "<metadata name=\"q:x\">x</metadata>")),
             Catch::Contains("namespace"));
  CHECK(why_model(model(object(1, mesh), item1, "", "<metadata name=\"m:x\">x</metadata><metadata name=\"New\"/>"))
            .empty());
  CHECK_THAT(why_model(model(object(1, mesh) + "<wall/>", item1)), Catch::Contains("does not belong"));
  CHECK(why_model(model(object(1, mesh) + "<m:wall><m:vertex x=\"q\"/></m:wall>", item1)).empty());
}

TEST_CASE("3mf in: an extension that the file cannot do without is refused, any other is passed over", "[3mf]") {
  CHECK_THAT(why_model(model(object(1, mesh), item1, "requiredextensions=\"m\"")), Catch::Contains("extension"));
  CHECK(why_model(model(object(1, mesh), item1, "recommendedextensions=\"m\"")).empty());
}

TEST_CASE("3mf in: objects and meshes (4, 4.1)", "[3mf]") {
  const auto with = [](const std::string& from, const std::string& to) {
    std::string changed = mesh;
    changed.replace(changed.find(from), from.size(), to);
    return why_model(model(object(1, changed), item1));
  };
  CHECK(with("v1=\"0\"", "v1=\"0\"").empty());
  CHECK_THAT(with("v1=\"0\"", "v1=\"4\""), Catch::Contains("vertex 4 of 4"));
  CHECK_THAT(with("v1=\"0\"", "v1=\"2\""), Catch::Contains("twice"));
  CHECK_THAT(with("v1=\"0\"", "v1=\"-1\""), Catch::Contains("whole number"));
  CHECK_THAT(with("v1=\"0\"", ""), Catch::Contains("no v1"));
  CHECK_THAT(with("v1=\"0\"", "pid=\"7\" v1=\"0\""), Catch::Contains("pid names no earlier resource"));
  CHECK_THAT(with("x=\"10\"", "x=\"1,5\""), Catch::Contains("finite number"));
  CHECK_THAT(with("x=\"10\"", "x=\"nan\""), Catch::Contains("finite number"));
  CHECK_THAT(with("x=\"10\"", "x=\"1e39\""), Catch::Contains("finite number"));
  CHECK(with("x=\"10\"", "x=\"+1.0e1\"").empty());
  CHECK_THAT(with("<triangle v1=\"1\" v2=\"2\" v3=\"3\"/>", ""), Catch::Contains("fewer than 4"));
  CHECK_THAT(why_model(model(object(1, mesh + mesh), item1)), Catch::Contains("not another"));
  CHECK_THAT(why_model(model(object(1, ""), item1)), Catch::Contains("neither mesh"));
  CHECK_THAT(why_model(model(object(1, mesh, "pid=\"7\""), item1)), Catch::Contains("no earlier resource"));
  CHECK_THAT(why_model(model(object(1, mesh, "pindex=\"0\""), item1)), Catch::Contains("pindex"));
  CHECK_THAT(why_model(model(object(1, "<components><component objectid=\"1\"/></components>"), item1)),
             Catch::Contains("earlier object"));
}

TEST_CASE("3mf in: markup that 2.3 forbids", "[3mf]") {
  const std::string good = model(object(1, mesh), item1);
  const auto after_declaration = [&](const std::string& more) {
    std::string changed = good;
    return changed.insert(changed.find('\n') + 1, more);
  };
  CHECK_THAT(why_model(after_declaration("<!DOCTYPE model [<!ENTITY a \"b\">]>")), Catch::Contains("document type"));
  std::string latin = good;
  latin.replace(latin.find("UTF-8"), 5, "ISO-8859-1");
  CHECK_THAT(why_model(latin), Catch::Contains("UTF-8"));
  CHECK_THAT(why_model("\xff\xfe" + good), Catch::Contains("UTF-8"));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "xml:space=\"preserve\"")), Catch::Contains("xml:space"));
  CHECK_THAT(why_model(model(object(1, mesh), item1, "q:a=\"1\"")), Catch::Contains("well-formed"));
  CHECK_THAT(why_model(good.substr(0, good.size() - 3)), Catch::Contains("well-formed"));
  CHECK(why_model("\xef\xbb\xbf" + good).empty());
}

TEST_CASE("3mf in: the package (2.1)", "[3mf]") {
  const std::string markup = model(object(1, mesh), item1);
  const auto with = [&](const std::string& rels, const std::string& content = types) {
    return why(to_zip({{"[Content_Types].xml", content},
                       {"_rels/.rels", relationships(rels)},
                       {"3D/a.model", markup},
                       {"3D/b.model", markup}}));
  };
  const std::string thumbnail = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail";
  CHECK(with(relationship("/3D/a.model")).empty());
  CHECK(with(relationship("3D/A.model")).empty());
  CHECK_THAT(with(relationship("/3D/none.model")), Catch::Contains("not in it"));
  CHECK_THAT(with(relationship("/3D/a.model", start_type, "TargetMode=\"External\"")), Catch::Contains("outside"));
  CHECK_THAT(with(relationship("/3D/a.model") + relationship("/3D/b.model")), Catch::Contains("second start part"));
  CHECK_THAT(with(relationship("/3D/a.model") + relationship("/t.png", thumbnail)), Catch::Contains("not in it"));
  CHECK_THAT(with(""), Catch::Contains("no start part"));
  CHECK_THAT(with(relationship("/3D/a.model"),
                  "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"/>"),
             Catch::Contains("declared"));
  const auto with_links = [&](const std::string& links) {
    return why(to_zip({{"[Content_Types].xml", types},
                       {"_rels/.rels", relationships(relationship("/3D/a.model"))},
                       {"3D/a.model", markup},
                       {"3D/_rels/a.model.rels", relationships(links)}}));
  };
  const std::string ticket = "http://schemas.microsoft.com/3dmanufacturing/2013/01/printticket";
  CHECK(with_links(relationship("/t.xml", ticket)).empty());
  CHECK_THAT(with_links(relationship("/t.xml", ticket) + relationship("/u.xml", ticket)), Catch::Contains("two print"));
  CHECK_THAT(with_links(relationship("C:/t.png", "x")), Catch::Contains("outside"));
  CHECK_THAT(why(to_zip({{"a", "b"}})), Catch::Contains("holds no [Content_Types].xml: not a 3MF package"));
  CHECK_THAT(why(to_zip({{"[Content_Types].xml", types}})), Catch::Contains("holds no _rels/.rels: not a 3MF package"));
  CHECK_THAT(why("no zip"), Catch::Contains("no ZIP archive"));
}

TEST_CASE("3mf in: what is made to harm is refused with words, not with a crash", "[3mf]") {
  // Each level twice the one below: 2^40 tetrahedra from three kilobytes.
  std::string doubled = object(1, mesh);
  for (int i = 2; i <= 40; ++i) {
    const std::string c = "<component objectid=\"" + std::to_string(i - 1) + "\"/>";
    doubled += object(i, "<components>" + c + c + "</components>");
  }
  CHECK_THAT(why_model(model(doubled, "<item objectid=\"40\"/>")), Catch::Contains("multiply"));
  std::string chain = object(1, mesh);
  for (int i = 2; i <= 100; ++i)
    chain += object(i, "<components><component objectid=\"" + std::to_string(i - 1) + "\"/></components>");
  CHECK_THAT(why_model(model(chain, "<item objectid=\"100\"/>")), Catch::Contains("deeper"));
  std::string nested;
  for (int i = 0; i < 100000; ++i) nested += "<m:a>";
  CHECK_THAT(why_model(model(nested, item1)), Catch::Contains("nested"));
}
