#include "output/make_set.h"

#include "base/sha256.h"
#include "checks/checks.h"
#include "checks/measured_grip.h"
#include "gauge/read_mesh.h"
#include "layout/bracket_plan.h"
#include "mechanics/moving_mass.h"
#include "mechanics/support_stiffness.h"
#include "output/beds.h"
#include "output/checksums.h"
#include "output/drawings.h"
#include "output/hardware.h"
#include "output/page.h"
#include "output/print_first.h"
#include "output/steps.h"
#include "output/write_3mf.h"
#include "output/write_stl.h"
#include "output/wrong_ways_report.h"
#include "parts/bed_edges.h"
#include "parts/digest.h"
#include "parts/mating.h"
#include "parts/part_joints.h"
#include "parts/pointed_holes.h"
#include "print/print_findings.h"
#include "solid/build.h"

namespace bedwright {
namespace {

constexpr double least_wall_lines = 2;  // a wall of one line is no wall: common practice, no source

Candidate candidate(const MadePart& p) {
  return {&p.report.part, &p.solid, p.report.pose.print_to_part};
}

Part pointed(const Part& part, const Pose& pose, const PrinterProfile& printer) {
  const std::optional<Vec2> up = up_in_plan(pose);
  return up ? with_pointed_holes(part, *up, least_wall_lines * printer.line_mm) : part;
}

/// Its solid without the bed edges that no valid solid is left with (a corner may happen to lie in line with others):
/// they are easily scraped, and named in `sharp`.
Mesh built(Part& part, std::vector<std::string>& sharp) {
  for (;;) {
    try {
      return build_solid(part);
    } catch (const CannotBuild& problem) {
      const std::size_t before = sharp.size();
      for (const std::string& id : problem.features)
        if (is_bed_edge(part, id)) sharp.push_back(id);
      if (sharp.size() == before) throw;
      part = without_features(part, sharp);
    }
  }
}

/// The part as its pose wants it; the same again from a pose that was kept.
Part suited(const Part& drawn, const Pose& pose, const PrinterProfile& printer) {
  const Part part = without_features(drawn, pose.sharp);
  Part better = pose.pointed ? pointed(part, pose, printer) : part;
  if (pose.eased_mm <= 0) return better;
  return pose.way == Way::upside_down ? with_eased_top(better)
                                      : with_eased_edge(better, *up_in_plan(pose), pose.eased_mm);
}

void take(MadePart& made, const Part& better, Mesh solid, const PrinterProfile& printer) {
  PartReport& r = made.report;
  made.solid = std::move(solid);
  r.pose = weighed_again(r.pose, better, made.solid, printer);
  r.part = better;
}

/// The part with its edge on the bed eased by that much; nothing where it has no such edge, or no solid comes of it
/// (the chamfer's line runs too near to a corner).
std::optional<Mesh> eased_solid(Part& part, const Pose& pose, double width_mm) {
  const std::optional<Vec2> up = up_in_plan(pose);
  const Part eased = up ? with_eased_edge(part, *up, width_mm) : with_eased_top(part);
  if (eased.statements.size() == part.statements.size()) return std::nullopt;
  try {
    Mesh solid = build_solid(eased);
    part = eased;
    return solid;
  } catch (const CannotBuild&) {
    return std::nullopt;
  }
}

/// In a part that stands on an edge, holes lie: where points can be built above them, the part gets them. The edge that
/// it stands on is eased; in one that lies upside down, the upper edge.
void suit_to_pose(MadePart& made, const PrinterProfile& printer) {
  PartReport& r = made.report;
  Part better = r.part;
  if (r.pose.way == Way::upside_down) {
    if (std::optional<Mesh> solid = eased_solid(better, r.pose, 0)) {
      r.pose.eased_mm = better.features.front().chamfer_mm;
      take(made, better, std::move(*solid), printer);
    }
    return;
  }
  if (!up_in_plan(r.pose)) return;
  better = pointed(r.part, r.pose, printer);
  r.pose.pointed = better.statements.size() != r.part.statements.size();
  for (const double width_mm : edge_chamfers_mm)
    if (std::optional<Mesh> solid = eased_solid(better, r.pose, width_mm)) {
      r.pose.eased_mm = width_mm;
      return take(made, better, std::move(*solid), printer);
    }
  if (r.pose.pointed) take(made, better, build_solid(better), printer);
}

std::vector<JointSolution> solved_joints(const Kit& kit, const std::vector<KnownPart>& parts, int rail_screws,
                                         const AtOnce& at_once) {
  std::vector<std::vector<JointSolution>> of_parts(parts.size());
  std::vector<Task> tasks;
  for (std::size_t i = 0; i < parts.size(); ++i)
    tasks.push_back([&, i] {
      for (const Joint& joint : joints_of_part(kit, *parts[i].part))
        of_parts[i].push_back(solve_window(with_measured_grip(kit, parts[i], joint)));
    });
  at_once(tasks);
  std::vector<JointSolution> solutions;
  for (const std::vector<JointSolution>& part : of_parts) solutions.insert(solutions.end(), part.begin(), part.end());
  if (const auto joint = rail_joint(kit, rail_screws)) solutions.push_back(solve_window(*joint));
  for (const Joint& joint : joints_of_kit(kit)) solutions.push_back(solve_window(joint));
  return solutions;
}

}  // namespace

MadePart make_part(const Kit& kit, const Part& part) {
  return make_part(kit, settle(kit), part);
}

MadePart make_part(const Kit& kit, const Layout& layout, const Part& part, const KeptParts* kept) {
  MadePart made;
  PartReport& r = made.report;
  r.part = part;
  r.file = "stl/" + part.id + ".stl";
  r.mating_code = mating_code(kit, layout, part);
  r.mating_group = mating_group(part);
  made.inputs_sha256 = inputs_digest(kit, part, r.mating_code);
  const auto old = kept ? kept->find(made.inputs_sha256) : KeptParts::const_iterator();
  made.reused = kept && old != kept->end();
  if (made.reused) {
    r.pose = old->second.pose;
    r.part = suited(part, r.pose, kit.printer);
    made.bytes = old->second.stl;
  } else {
    std::vector<std::string> sharp;
    made.solid = built(r.part, sharp);
    r.pose = choose_pose(r.part, made.solid, kit.printer);
    r.pose.sharp = sharp;
    suit_to_pose(made, kit.printer);
    made.bytes = to_stl(in_print_frame(made.solid, r.pose), kit.name, part.id, kit.revision, r.mating_code);
  }
  if (const std::string note = flare_note(r.part, r.pose); !note.empty()) r.part.statements.push_back(note);
  r.sha256 = sha256(made.bytes);
  r.shape_sha256 = shape_digest(r.part);
  r.bytes = made.bytes.size();
  // From here on only the file counts.
  made.measured = made.reused && old->second.measured ? *old->second.measured : measure(read_stl(made.bytes, r.file));
  r.triangles = made.measured.mesh.triangles.size();
  r.volume_mm3 = made.measured.volume_mm3;
  r.area_mm2 = made.measured.area_mm2;
  r.mass_g = printed_mass_g(r.volume_mm3, r.area_mm2, r.part.material, kit.printer);
  r.box_mm = made.measured.box.high - made.measured.box.low;
  r.mesh = made.measured.health;
  // Quarter turns and shifts on the lattice: the very coordinates that were built.
  if (made.reused) made.solid = transformed(made.measured.mesh, r.pose.print_to_part);
  return made;
}

void compare_made(std::vector<MadePart>& parts, std::size_t index) {
  std::vector<Candidate> others;
  for (std::size_t i = 0; i < parts.size(); ++i)
    if (i != index) others.push_back(candidate(parts[i]));
  MadePart& made = parts.at(index);
  made.comparison = compare(made.measured, candidate(made), others);
  made.report.dimensions = made.comparison.dimensions;
}

Finding finding_of(const CannotBuild& error, const std::string& part) {
  Finding f;
  f.code = error.code;
  f.severity = Severity::error;
  f.part = part;
  f.feature = error.features.empty() ? "" : error.features.front();
  f.message = (part.empty() ? "" : part + ": ") + error.what();
  f.remedy = error.remedy;
  return f;
}

Report assemble(const Kit& kit, const Layout& layout, const std::vector<MadePart>& parts,
                const std::vector<Finding>& failures, const OldSet* old, const AtOnce& at_once) {
  Report r;
  r.kit = kit.name;
  r.revision = kit.revision;
  r.title = kit.title;
  r.input_sha256 = kit.input_sha256;
  r.layout = layout;
  r.notes = kit.notes;
  r.assumed = kit.assumed;
  for (const MadePart& p : parts) r.parts.push_back(p.report);
  std::vector<Part> derived;
  for (const MadePart& p : parts) derived.push_back(p.report.part);
  std::vector<const Part*> made;
  std::vector<PrintedPart> printed;
  for (const PartReport& p : r.parts) {
    made.push_back(&p.part);
    printed.push_back({p.part.id, p.part.family, p.part.material, p.part.quantity, p.volume_mm3, p.area_mm2});
  }
  Known known{kit, layout, {}, {}, {}};
  for (const MadePart& p : parts)
    known.parts.push_back(
        {&p.report.part, &p.measured, &p.comparison, p.report.pose.print_to_part, p.report.pose.overhang_mm2});
  r.joints = known.joints = solved_joints(kit, known.parts, screws_in_base(kit, layout), at_once);
  std::vector<std::vector<Finding>> of_printing(parts.size());
  // What takes longest begins first.
  std::vector<Task> tasks = {
      [&] { known.wrong_ways = wrong_ways(kit, layout, derived); },
      [&] { r.envelope = Envelope(kit, layout, derived, r.joints).rows(); },
      [&] { r.machine = machine_answers(kit, layout, printed); },
      [&] { known.interferences = interferences(kit, layout, known.parts, known.joints); },
      [&] { known.seat_gaps = seat_gaps(layout, known.parts); },
      [&] { known.floats = hole_floats(kit, layout, known.parts, known.joints); },
      [&] {
        if (old) known.old_ways = old_ways(kit, layout, derived, *old);
      },
  };
  for (std::size_t i = 0; i < parts.size(); ++i)
    tasks.push_back([&, i] {
      of_printing[i] = print_findings(kit, layout, parts[i].report.part, parts[i].solid, parts[i].report.pose);
    });
  at_once(tasks);
  std::vector<WrongWay> ways = known.wrong_ways;
  ways.insert(ways.end(), known.old_ways.begin(), known.old_ways.end());
  r.wrong_ways = wrong_ways_json(ways);
  r.seat_gaps = known.seat_gaps;
  r.floats = known.floats;
  r.interferences = known.interferences;
  r.findings = run_checks(known, at_once);
  r.findings.insert(r.findings.end(), failures.begin(), failures.end());
  std::vector<double> masses_g;
  for (const PartReport& p : r.parts) masses_g.push_back(p.mass_g);
  for (const std::vector<Finding>& found : of_printing) r.findings.insert(r.findings.end(), found.begin(), found.end());
  const std::vector<Finding> missing = print_first_findings(kit, r.parts);
  r.findings.insert(r.findings.end(), missing.begin(), missing.end());
  const std::vector<Finding> stiffness = stiffness_findings(kit, layout, made, masses_g);
  r.findings.insert(r.findings.end(), stiffness.begin(), stiffness.end());
  const std::vector<Finding> machine = machine_findings(r.machine);
  r.findings.insert(r.findings.end(), machine.begin(), machine.end());
  sort_findings(r.findings);
  r.hardware = hardware_list(kit, layout, r.parts, r.joints);
  r.steps = assembly_steps(r.parts, r.joints, driver_paths(kit, layout, made), &r.machine);
  r.service = service_card(kit, r.machine);
  r.cautions = cautions_for(kit, r.parts, r.joints);
  r.print_first = print_first(kit, r.parts);
  r.beds = bed_reports(kit, parts);
  r.bed_mm = {kit.printer.bed_mm.x, kit.printer.bed_mm.y};
  r.drawing = kit.drawing;
  r.drawing_general = kit.tolerance.general;
  r.files = {checksums_name, "hardware.csv", page_name, "report.json", reuse_name};
  if (!parts.empty()) r.files.insert(r.files.end(), {drawings_pdf_name, preview_name});
  for (const PartReport& p : r.parts) r.files.push_back(drawing_name(p.part.id));
  for (const BedReport& bed : r.beds) r.files.push_back(bed.file);
  for (const PartReport& p : r.parts) r.files.push_back(p.file);
  return r;
}

std::map<std::string, std::string> files_of(const Kit& kit, const Report& report, const std::vector<MadePart>& parts,
                                            const AtOnce& at_once) {
  std::map<std::string, std::string> files, drawings;
  for (const MadePart& p : parts) files[p.report.file] = p.bytes;
  files["hardware.csv"] = hardware_csv(report.hardware);
  std::vector<PagePart> shown;
  for (const MadePart& p : parts) shown.push_back({&p.report, &p.bytes});
  // Every task has its own place in the map, made before they begin.
  std::string &page = files[page_name], &json = files["report.json"];
  std::vector<Task> tasks = {[&] { page = page_html(kit, report, shown); },
                             [&] { drawings = drawing_files(report, parts); }, [&] { json = to_json(report); }};
  if (!parts.empty()) tasks.push_back([&, at = &files[preview_name]] { *at = preview_file(kit, report, parts); });
  std::vector<BedPieces> beds(report.beds.size());
  add_bed_tasks(report, parts, beds, tasks);
  at_once(tasks);
  for (std::size_t i = 0; i < beds.size(); ++i)
    files[report.beds[i].file] = to_3mf(beds[i].model, beds[i].picture);
  files.merge(drawings);
  std::vector<ReuseEntry> entries;
  for (const MadePart& p : parts) entries.push_back({p.report.file, p.inputs_sha256, p.report.sha256, &p.report.pose});
  files[reuse_name] = reuse_json(entries);
  files[checksums_name] = checksums_of(files);
  return files;
}

}  // namespace bedwright
