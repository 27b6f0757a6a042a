#include "output/drawings.h"

#include "drawing/part_drawing.h"
#include "output/machine_bodies.h"
#include "output/preview.h"

namespace bedwright {
namespace {

/// From the files as read back: the same meshes whether the parts were built or used again.
std::vector<Mesh> read_back(const std::vector<MadePart>& parts) {
  std::vector<Mesh> solids;
  for (const MadePart& made : parts) solids.push_back(transformed(made.measured.mesh, made.report.pose.print_to_part));
  return solids;
}

}  // namespace

std::string drawing_name(const std::string& part) {
  return "drawings/" + part + ".svg";
}

std::map<std::string, std::string> drawing_files(const Report& report, const std::vector<MadePart>& parts) {
  std::map<std::string, std::string> files;
  std::vector<Page> pages;
  const std::vector<Mesh> solids = read_back(parts);
  for (const MadePart& made : parts) {
    const Mesh& solid = solids[pages.size()];
    const Part& part = made.report.part;
    TitleBlock title;
    title.kit = report.kit;
    title.revision = report.revision;
    title.title = report.title;
    title.part = part.id;
    std::string family = part.family;
    for (char& c : family) c = c == '_' ? ' ' : c;
    title.what = family + (part.hand == Hand::none ? "" : std::string(", ") + to_text(part.hand) + " hand") + ", " +
                 std::to_string(part.quantity) + (part.quantity == 1 ? " piece" : " pieces");
    title.material = part.material;
    title.general = report.drawing_general;
    title.date = report.drawing.on;
    title.third_angle = report.drawing.third_angle;
    title.sheet = static_cast<int>(pages.size()) + 1;
    title.sheets = static_cast<int>(parts.size());
    pages.push_back(
        part_drawing({&part, &solid, &made.report.dimensions}, title, report.drawing.a3 ? sheet_a3 : sheet_a4));
    files[drawing_name(part.id)] = to_svg(pages.back());
  }
  if (!pages.empty()) files[drawings_pdf_name] = to_pdf(pages, report.kit + " " + report.revision + ": drawings");
  return files;
}

std::string preview_file(const Kit& kit, const Report& report, const std::vector<MadePart>& parts) {
  const std::vector<Mesh> solids = read_back(parts);
  std::vector<PreviewPart> shown;
  for (std::size_t i = 0; i < parts.size(); ++i) shown.push_back({&solids[i], parts[i].report.part.id});
  return to_png(preview(shown, machine_bodies(kit, report, solids)));
}

}  // namespace bedwright
