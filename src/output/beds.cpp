#include "output/beds.h"

#include "output/write_3mf.h"

namespace bedwright {

std::vector<BedReport> bed_reports(const Kit& kit, const std::vector<MadePart>& parts) {
  std::vector<Printed> things;
  for (const MadePart& p : parts) things.push_back({p.report.part.id, p.report.part.quantity, p.report.box_mm});
  const Packed result = packed(things, {kit.printer.bed_mm.x, kit.printer.bed_mm.y});
  std::vector<BedReport> beds;
  for (const Bed& bed : result.beds) {
    const std::string number = result.beds.size() > 1 ? "-bed-" + std::to_string(beds.size() + 1) : "";
    beds.push_back({kit.name + number + ".3mf", bed});
  }
  return beds;
}

std::string bed_file(const Report& report, std::size_t bed, const std::vector<MadePart>& parts) {
  std::vector<BedObject> objects;
  for (const MadePart& p : parts) objects.push_back({p.report.part.id, &p.measured.mesh});
  const std::string of =
      report.beds.size() > 1 ? ", bed " + std::to_string(bed + 1) + " of " + std::to_string(report.beds.size()) : "";
  return to_3mf(report.beds[bed].bed, objects,
                {report.kit + " revision " + report.revision + of, report.title, report.kit, report.revision,
                 report.input_sha256, report.bed_mm});
}

}  // namespace bedwright
