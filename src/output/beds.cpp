#include "output/beds.h"

#include "output/print_first.h"
#include "output/write_3mf.h"

namespace bedwright {
namespace {

BedRules rules_of(const PrinterProfile& printer) {
  const PrintWishes& wishes = printer.wishes;
  const BedPlan plan = wishes.beds == "sets"    ? BedPlan::sets
                       : wishes.beds == "kinds" ? BedPlan::kinds
                                                : BedPlan::fewest;
  return {{printer.bed_mm.x, printer.bed_mm.y}, wishes.bed_edge_mm, wishes.part_gap_mm, plan, wishes.sets};
}

std::vector<BedObject> objects_of(const std::vector<MadePart>& parts) {
  std::vector<BedObject> objects;
  for (const MadePart& p : parts) objects.push_back({p.report.part.id, &p.measured.mesh});
  return objects;
}

}  // namespace

std::vector<BedReport> bed_reports(const Kit& kit, const std::vector<MadePart>& parts) {
  std::vector<Printed> things;
  for (const MadePart& p : parts) {
    const Part& part = p.report.part;
    things.push_back({part.id, part.quantity + spares(kit, part, p.report.box_mm.z), p.report.box_mm, &p.measured.mesh,
                      p.report.pose.turned_to_cooling, print_rank(kit, part)});
  }
  const Packed result = packed(things, rules_of(kit.printer));
  std::vector<BedReport> beds;
  for (const Bed& bed : result.beds) {
    const std::string number = result.beds.size() > 1 ? "-bed-" + std::to_string(beds.size() + 1) : "";
    beds.push_back({kit.name + number + ".3mf", bed});
  }
  return beds;
}

void add_bed_tasks(const Report& report, const std::vector<MadePart>& parts, std::vector<BedPieces>& pieces,
                   std::vector<Task>& tasks) {
  for (std::size_t i = 0; i < report.beds.size(); ++i) {
    tasks.push_back([&report, &parts, i, own = &pieces.at(i)] {
      own->picture = bed_picture(report.beds[i].bed, objects_of(parts), report.bed_mm);
    });
    tasks.push_back([&report, &parts, i, own = &pieces.at(i)] {
      const std::string of =
          report.beds.size() > 1 ? ", bed " + std::to_string(i + 1) + " of " + std::to_string(report.beds.size()) : "";
      own->model = bed_model(report.beds[i].bed, objects_of(parts),
                             {report.kit + " revision " + report.revision + of, report.title, report.kit,
                              report.revision, report.input_sha256});
    });
  }
}

}  // namespace bedwright
