// bedwright contour: a traced profile, or the cut of a scan, as lines and arcs.
#include <algorithm>
#include <memory>
#include <ostream>

#include "base/delimited.h"
#include "base/error.h"
#include "base/numbers.h"
#include "cli/commands.h"
#include "cli/units.h"
#include "gauge/read_mesh.h"
#include "gauge/topology.h"
#include "output/contour_report.h"
#include "output/write_set.h"
#include "survey/read_points.h"

namespace bedwright {
namespace {

struct ContourCommand {
  std::string profile, cut, units, out, picture;
  double within_mm = 0.1;
  bool open = false, in_order = false;
};

Outline traced(const ContourCommand& o) {
  const PointFile file = profile_of_table(read_file(o.profile, largest_table_bytes), o.profile);
  const double unit = mm_in(unit_of(o.units, file.unit));
  std::vector<Vec2> points;
  for (const Vec3& p : file.points) points.push_back(unit * Vec2{p.x, p.y});
  return o.in_order ? cleaned_outline(points, !o.open) : ordered_outline(points, !o.open);
}

/// "z=12": the plane's normal and its place.
Outline section(const ContourCommand& o, ContourReport& report) {
  double at = 0;
  if (o.cut.size() < 3 || o.cut[0] < 'x' || o.cut[0] > 'z' || o.cut[1] != '=' ||
      !read_number(o.cut.substr(2), false, at))
    throw BadUsage("--cut " + o.cut + ": write x=, y= or z= and a number in millimetres, for example z=12");
  if (o.open || o.in_order) throw BadUsage("--open and --in-order are for points; a cut knows its own order and ends");
  Mesh mesh = welded(read_stl_file(o.profile));
  for (Vec3& v : mesh.vertices) v = mm_in(o.units) * v;
  report.plane = o.cut.substr(0, 1) + " = " + decimal(at, 3);
  // The two axes that are left, in their order: y z, x z or x y.
  const Vec3 axes[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  const int cut = o.cut[0] - 'x';
  std::vector<Outline> chains =
      plane_section(mesh, at * axes[cut], axes[cut == 0 ? 1 : 0], axes[cut == 2 ? 1 : 2]);
  report.other_chains = chains.size() - 1;
  return cleaned_outline(chains.front().points, chains.front().closed);
}

int run_contour(Streams& streams, const ContourCommand& o) {
  if (o.within_mm < least_contour_tolerance_mm || o.within_mm > most_contour_tolerance_mm)
    throw BadUsage("--within: from " + decimal(least_contour_tolerance_mm, 3) + " to " +
                   decimal(most_contour_tolerance_mm, 0) + " mm");
  ContourReport report;
  report.source = o.profile;
  report.tolerance_mm = o.within_mm;
  report.outline = o.cut.empty() ? traced(o) : section(o, report);
  report.contour = lines_and_arcs(report.outline, o.within_mm);
  if (!o.picture.empty()) write_file(o.picture, contour_svg(report));
  if (!o.out.empty()) write_file(o.out, contour_points(report));
  streams.out << (streams.json ? contour_document(report).dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n"
                               : contour_text(report));
  return exit_done;
}

}  // namespace

Command add_contour(CLI::App& program) {
  auto o = std::make_shared<ContourCommand>();
  CLI::App* app = program.add_subcommand("contour", "A traced profile, or a cut through a scan, as lines and arcs");
  app->add_option("PROFILE", o->profile, "Points: two columns x, y; with --cut an STL scan")->required();
  app->add_option("--within", o->within_mm, "Every point lies this near to the lines and arcs, mm; default 0.1")
      ->type_name("MM");
  app->add_option("--cut", o->cut, "Cut the scan by this plane: x=, y= or z= and a number, mm")->type_name("AXIS=MM");
  app->add_flag("--open", o->open, "The profile's ends do not meet (a contour gauge's, for instance)");
  app->add_flag("--in-order", o->in_order, "The points are in the order of tracing; else each goes to its nearest");
  app->add_option("--units", o->units, "Of the file; default what its header says, else mm")
      ->check(CLI::IsMember(unit_names));
  app->add_option("--out", o->out, "Write the lines and arcs as points in order, for a kit's outline")
      ->type_name("FILE.csv");
  app->add_option("--picture", o->picture, "Draw points, lines and arcs")->type_name("FILE.svg");
  app->footer(
      "Examples:\n"
      "  bedwright contour base-edge.csv --within 0.2 --out base.csv\n"
      "  bedwright contour gauge-profile.csv --open --picture profile.svg\n"
      "  bedwright contour base-scan.stl --cut z=12 --units m");
  return {app, [o](Streams& streams) { return run_contour(streams, *o); }};
}

}  // namespace bedwright
