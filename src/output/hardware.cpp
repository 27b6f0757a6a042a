#include "output/hardware.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_settings.h"

namespace bedwright {
namespace {

constexpr int rails = 2, carriages = 4;

void add(std::vector<HardwareLine>& lines, const std::string& item, int quantity, const std::string& purpose) {
  for (HardwareLine& line : lines)
    if (line.item == item) {
      line.quantity += quantity;
      if (line.purpose.find(purpose) == std::string::npos) line.purpose += "; " + purpose;
      return;
    }
  lines.push_back({item, quantity, purpose});
}

std::string screw_item(const JointSolution& s) {
  const std::string standard = s.joint.head == "button" ? "ISO 7380-1 " : "ISO 4762 ";
  return s.pick_mm ? standard + s.joint.thread + "x" + decimal(*s.pick_mm, 1)
                   : standard + s.joint.thread + ", no stock length fits";
}

void add_screws(std::vector<HardwareLine>& lines, const std::vector<JointSolution>& joints) {
  std::vector<HardwareLine> screws;
  for (const JointSolution& s : joints) {
    add(screws, screw_item(s), s.joint.count, s.joint.purpose);
    if (s.joint.washer_mm > 0)
      add(screws, "washer " + s.joint.thread + ", " + decimal(s.joint.washer_mm, 2) + " mm thick", s.joint.count,
          s.joint.purpose);
    if (s.joint.anchor.kind == "nut") add(screws, "ISO 4032 " + s.joint.thread, s.joint.count, s.joint.purpose);
  }
  std::stable_sort(screws.begin(), screws.end(),
                   [](const HardwareLine& a, const HardwareLine& b) { return a.item < b.item; });
  lines.insert(lines.end(), screws.begin(), screws.end());
}

void add_inserts(std::vector<HardwareLine>& lines, const Kit& kit, const std::vector<PartReport>& parts) {
  for (const PartReport& p : parts) {
    if (p.part.family != "adapter_plate") continue;
    PartRequest request;
    request.id = p.part.id;
    request.settings = p.part.settings;
    const InsertSize insert = plate_settings(kit, request).insert;
    const auto pockets = std::count_if(p.part.features.begin(), p.part.features.end(),
                                       [](const Feature& f) { return f.kind == FeatureKind::insert_pocket; });
    if (pockets > 0)
      add(lines,
          "heat-set insert " + insert.thread + ", " + decimal(insert.outer_mm, 2) + " x " +
              decimal(insert.length_mm, 2) + " mm (" + insert.id + ")",
          static_cast<int>(pockets) * p.part.quantity, p.part.id);
  }
}

void add_filament(std::vector<HardwareLine>& lines, const std::vector<PartReport>& parts) {
  std::map<std::string, double> grams;
  for (const PartReport& p : parts) grams[p.part.material] += p.mass_g * p.part.quantity;
  for (const auto& [material, mass] : grams)
    if (mass > 0)
      lines.push_back({"filament " + material + ", grams", static_cast<int>(std::ceil(mass)),
                       "all parts printed solid, without waste"});
}

std::string quoted(const std::string& field) {
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string text = "\"";
  for (char c : field) text += c == '"' ? std::string("\"\"") : std::string(1, c);
  return text + "\"";
}

}  // namespace

std::vector<HardwareLine> hardware_list(const Kit& kit, const Layout& layout, const std::vector<PartReport>& parts,
                                        const std::vector<JointSolution>& joints) {
  std::vector<HardwareLine> lines;
  add_screws(lines, joints);
  if (layout.rail_holes > 0)
    lines.push_back({"ISO 4762 " + kit.rails.size.screw + ", length to suit your base", rails * layout.rail_holes,
                     "rails to base, every hole"});
  add_inserts(lines, kit, parts);
  lines.push_back(
      {"profile rail " + kit.rails.size.id + ", " + decimal(kit.rails.length_mm, 1) + " mm", rails, "guideway"});
  lines.push_back({"carriage " + kit.carriages.size.id, carriages, "guideway"});
  add_filament(lines, parts);
  return lines;
}

std::string hardware_csv(const std::vector<HardwareLine>& lines) {
  std::string text = "item,quantity,for\r\n";
  for (const HardwareLine& line : lines)
    text += quoted(line.item) + "," + std::to_string(line.quantity) + "," + quoted(line.purpose) + "\r\n";
  return text;
}

}  // namespace bedwright
