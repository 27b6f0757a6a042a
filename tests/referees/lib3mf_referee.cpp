// Reads a 3MF package with lib3mf in its strict mode and prints unit, warnings and placed meshes as JSON.
#include <lib3mf/Model/COM/NMR_DLLInterfaces.h>

#include "bed_items.h"

namespace {

int fail(NMR::PLib3MFBase* at, const char* what) {
  DWORD code = 0;
  LPCSTR message = nullptr;
  NMR::lib3mf_getlasterror(at, &code, &message);
  std::printf("{\"error\": \"%s: %s\"}\n", what, message ? message : "?");
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace NMR;
  if (argc != 2) return 2;
  PLib3MFModel* model = nullptr;
  PLib3MFModelReader* reader = nullptr;
  if (lib3mf_createmodel(&model) != 0 || lib3mf_model_queryreader(model, "3mf", &reader) != 0) return 3;
  lib3mf_reader_setstrictmodeactive(reader, true);
  if (lib3mf_reader_readfromfileutf8(reader, argv[1]) != 0) return fail(reader, "cannot read");
  DWORD warnings = 0, unit = 0;
  lib3mf_reader_getwarningcount(reader, &warnings);
  lib3mf_model_getunit(model, &unit);
  std::printf("{\"warnings\": %u, \"unit\": %u, \"items\": [\n", static_cast<unsigned>(warnings),
              static_cast<unsigned>(unit));
  PLib3MFModelBuildItemIterator* items = nullptr;
  if (lib3mf_model_getbuilditems(model, &items) != 0) return fail(model, "no items");
  BOOL more = false;
  bool first = true;
  while (lib3mf_builditemiterator_movenext(items, &more) == 0 && more) {
    PLib3MFModelBuildItem* item = nullptr;
    PLib3MFModelObjectResource* object = nullptr;
    if (lib3mf_builditemiterator_getcurrent(items, &item) != 0 ||
        lib3mf_builditem_getobjectresource(item, &object) != 0)
      return fail(items, "no object");
    BedItem out;
    char text[1024];
    ULONG needed = 0;
    if (lib3mf_object_getnameutf8(object, text, sizeof text, &needed) == 0) out.name = text;
    if (lib3mf_builditem_getpartnumberutf8(item, text, sizeof text, &needed) == 0) out.part_number = text;
    MODELTRANSFORM t{};
    lib3mf_builditem_getobjecttransform(item, &t);
    DWORD vertices = 0, triangles = 0;
    BOOL manifold = false;
    if (lib3mf_meshobject_getvertexcount(object, &vertices) != 0 ||
        lib3mf_meshobject_gettrianglecount(object, &triangles) != 0)
      return fail(object, "no mesh");
    lib3mf_meshobject_ismanifoldandoriented(object, &manifold);
    if (!manifold) out.name += " (not manifold and oriented)";
    for (DWORD i = 0; i < vertices; ++i) {
      MODELMESHVERTEX v{};
      lib3mf_meshobject_getvertex(object, i, &v);
      std::array<double, 3> p{};
      for (unsigned row = 0; row < 3; ++row) {
        p[row] = t.m_fFields[row][3];
        for (unsigned k = 0; k < 3; ++k) p[row] += double{t.m_fFields[row][k]} * v.m_fPosition[k];
      }
      out.points.push_back(p);
    }
    for (DWORD i = 0; i < triangles; ++i) {
      MODELMESHTRIANGLE f{};
      lib3mf_meshobject_gettriangle(object, i, &f);
      out.facets.push_back({f.m_nIndices[0], f.m_nIndices[1], f.m_nIndices[2]});
    }
    print_item(out, first);
    first = false;
    lib3mf_release(object);
    lib3mf_release(item);
  }
  std::printf("]}\n");
  lib3mf_release(items);
  lib3mf_release(reader);
  lib3mf_release(model);
}
