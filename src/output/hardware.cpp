#include "output/hardware.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/csv.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/bracket_plan.h"
#include "parts/part_joints.h"

namespace bedwright {
namespace {

constexpr int rails = 2, carriages = 4;
constexpr int one_spare_in = 10, least_spares = 2;  // of what rolls under the bench; common practice, no source

void add(std::vector<HardwareLine>& lines, const std::string& kind, const std::string& item, int quantity,
         const std::string& purpose, const std::string& ask = "") {
  for (HardwareLine& line : lines)
    if (line.item == item) {
      line.quantity += quantity;
      if (line.purpose.find(purpose) == std::string::npos) line.purpose += "; " + purpose;
      return;
    }
  lines.push_back({item, quantity, purpose, kind, 0, ask});
}

void set_spares(std::vector<HardwareLine>& lines) {
  for (HardwareLine& line : lines)
    if (line.kind == "screw" || line.kind == "washer" || line.kind == "nut" || line.kind == "insert")
      line.spares = std::max(least_spares, (line.quantity + one_spare_in - 1) / one_spare_in);
}

std::string standard_of(const Joint& joint) {
  return (joint.head == "button" ? "ISO 7380-1 " : "ISO 4762 ") + joint.thread;
}

std::string screw_item(const JointSolution& s) {
  return s.pick_mm ? standard_of(s.joint) + "x" + decimal(*s.pick_mm, 1)
                   : standard_of(s.joint) + ", no stock length fits";
}

bool goes_back(const JointSolution& s) {
  return s.joint.existing && std::any_of(s.fits.begin(), s.fits.end(), [&](const StockLength& l) {
           return std::fabs(l.mm - s.joint.existing->length_mm) < 1e-6;
         });
}

/// Under the head, or under the nut.
void add_washer(std::vector<HardwareLine>& lines, const Joint& joint, double thickness_mm) {
  for (const Json& row : hardware_table("washers").at("rows")) {
    if (row.at("thread") != joint.thread) continue;
    const bool thick = std::fabs(row.at("thickness_mm").get<double>() - thickness_mm) < 1e-6;
    const bool wide =
        joint.washer_outer_mm == 0 || std::fabs(row.at("outer_mm").get<double>() - joint.washer_outer_mm) < 1e-6;
    if (!thick || !wide) break;
    add(lines, "washer", "ISO 7089 " + joint.thread, joint.count, joint.purpose);
    return;
  }
  add(lines, "washer",
      "washer " + joint.thread + ", " + decimal(thickness_mm, 2) + " mm thick" +
          (joint.washer_outer_mm > 0 ? ", " + decimal(joint.washer_outer_mm, 1) + " mm wide" : ""),
      joint.count, joint.purpose, "thickness: it decides how deep the screw reaches");
}

void add_screws(std::vector<HardwareLine>& lines, const std::vector<JointSolution>& joints) {
  std::vector<HardwareLine> screws;
  for (const JointSolution& s : joints) {
    if (!goes_back(s)) add(screws, "screw", screw_item(s), s.joint.count, s.joint.purpose);
    for (const double thickness_mm : {s.joint.washer_mm, s.joint.nut_washer_mm})
      if (thickness_mm > 0) add_washer(screws, s.joint, thickness_mm);
    if (s.joint.anchor.kind == "nut") add(screws, "nut", "ISO 4032 " + s.joint.thread, s.joint.count, s.joint.purpose);
  }
  std::stable_sort(screws.begin(), screws.end(),
                   [](const HardwareLine& a, const HardwareLine& b) { return a.item < b.item; });
  lines.insert(lines.end(), screws.begin(), screws.end());
}

void add_old_screws(std::vector<HardwareLine>& lines, const std::vector<JointSolution>& joints) {
  for (const JointSolution& s : joints) {
    if (!s.joint.existing) continue;
    const std::string old = "old " + standard_of(s.joint) + "x" + decimal(s.joint.existing->length_mm, 1);
    add(lines, "old screw", old + (goes_back(s) ? ", use again" : ", do not use again"), s.joint.count,
        s.joint.purpose);
  }
}

void add_inserts(std::vector<HardwareLine>& lines, const Kit& kit, const std::vector<PartReport>& parts) {
  for (const PartReport& p : parts) {
    const std::optional<InsertSize> own = insert_of_part(kit, p.part);
    if (!own) continue;
    const InsertSize& insert = *own;
    const auto pockets = std::count_if(p.part.features.begin(), p.part.features.end(),
                                       [](const Feature& f) { return f.kind == FeatureKind::insert_pocket; });
    add(lines, "insert",
        "heat-set insert " + insert.thread + ", " + decimal(insert.outer_mm, 2) + " x " + decimal(insert.length_mm, 2) +
            " mm (" + insert.id + ")",
        static_cast<int>(pockets) * p.part.quantity, p.part.id,
        "outer diameter " + decimal(insert.outer_mm, 2) + " and length " + decimal(insert.length_mm, 2) +
            " mm: one name is sold in several sizes");
  }
}

void add_bought(std::vector<HardwareLine>& lines, const std::vector<PartReport>& parts) {
  for (const PartReport& p : parts)
    for (const BoughtItem& b : p.part.bought) add(lines, "pin", b.item, b.quantity * p.part.quantity, b.purpose);
}

void add_guideway(std::vector<HardwareLine>& lines, const Kit& kit, const Layout& layout) {
  const std::string mm = " mm";
  if (layout.rail_holes > 0 && !kit.rails.base)
    add(lines, "screw", "ISO 4762 " + kit.rails.size.screw + ", length to suit your base", screws_in_base(kit, layout),
        "rails to base, every hole",
        "the length: " + decimal(kit.rails.under_head_mm, 2) +
            " mm stay in the rail, the rest goes into the base; measure its thread and write rails.base");
  add(lines, "rail", "profile rail " + kit.rails.size.id + ", " + decimal(kit.rails.length_mm, 1) + mm, rails,
      "guideway",
      "length " + decimal(kit.rails.length_mm, 1) + mm + ", first hole " + decimal(layout.rail_first_hole_mm, 2) + mm +
          " from the end, " + std::to_string(layout.rail_holes) + " holes every " +
          decimal(kit.rails.size.hole_pitch_mm, 1) + mm + ", " + std::to_string(carriages / rails) +
          " carriages on each rail");
  add(lines, "carriage", "carriage " + kit.carriages.size.id, carriages, "guideway",
      "height with rail " + decimal(kit.carriages.size.assembly_height_mm, 2) + mm + ", width " +
          decimal(kit.carriages.size.width_mm, 1) + mm + ", " + kit.carriages.size.thread + " threads " +
          decimal(kit.carriages.size.thread_depth_mm, 1) + mm + " deep, preload " +
          (kit.carriages.clearance_um > 0 ? "clearance (" + decimal(kit.carriages.clearance_um, 1) + " um)"
                                          : "zero or light") +
          ", both of a rail from one lot");
}

void add_filament(std::vector<HardwareLine>& lines, const std::vector<PartReport>& parts) {
  std::map<std::string, double> grams;
  for (const PartReport& p : parts) grams[p.part.material] += p.mass_g * p.part.quantity;
  for (const auto& [material, mass] : grams)
    if (mass > 0)
      add(lines, "filament", "filament " + material + ", grams", static_cast<int>(std::ceil(mass)),
          "all parts printed solid, without waste");
}

double key_mm(const Joint& joint) {
  const char* table = joint.head == "button" ? "button_screws" : "cap_screws";
  for (const Json& row : hardware_table(table).at("rows"))
    if (row.at("thread") == joint.thread) return row.at("key_mm").get<double>();
  return 0;
}

void add_tools(std::vector<HardwareLine>& lines, const Kit& kit, const std::vector<JointSolution>& joints) {
  std::map<double, std::string> keys;
  const auto need = [&](double key, const std::string& thread) {
    std::string& threads = keys[key];
    if (key > 0 && threads.find(thread) == std::string::npos) threads += (threads.empty() ? "" : ", ") + thread;
  };
  bool inserts = false;
  for (const JointSolution& s : joints) {
    need(key_mm(s.joint), s.joint.thread);
    inserts = inserts || s.joint.anchor.kind == "insert";
  }
  if (const CapScrew* screw = find_cap_screw(kit.rails.size.screw)) need(screw->key_mm, screw->thread);
  for (const auto& [key, threads] : keys)
    if (key > 0) add(lines, "tool", "hexagon key " + decimal(key, 1) + " mm", 1, threads);
  add(lines, "tool", "torque screwdriver", 1, "screws that clamp plastic: 0.05 to 1 N.m");
  if (inserts) add(lines, "tool", "hot iron with a tip for inserts", 1, "inserts");
  add(lines, "tool", "caliper", 1, "parts, screws and inserts before they are used");
  add(lines, "tool", "feeler gauges", 1, "the gap under the frame");
  add(lines, "tool", "stiff flat bar over both rails", 1, "second rail parallel to the first");
  add(lines, "oil", "light machine oil without solids", 1,
      "carriages, before the first run; keep it off plastic and belt");
}

}  // namespace

std::vector<HardwareLine> hardware_list(const Kit& kit, const Layout& layout, const std::vector<PartReport>& parts,
                                        const std::vector<JointSolution>& joints) {
  std::vector<HardwareLine> lines;
  add_screws(lines, joints);
  add_inserts(lines, kit, parts);
  add_bought(lines, parts);
  add_guideway(lines, kit, layout);
  set_spares(lines);
  add_filament(lines, parts);
  add_old_screws(lines, joints);
  add_tools(lines, kit, joints);
  return lines;
}

std::string hardware_csv(const std::vector<HardwareLine>& lines) {
  std::string text = "item,quantity,spares,for,ask the seller,kind\r\n";
  for (const HardwareLine& line : lines)
    text += csv_cell(line.item) + "," + std::to_string(line.quantity) + "," + std::to_string(line.spares) + "," +
            csv_cell(line.purpose) + "," + csv_cell(line.ask) + "," + csv_cell(line.kind) + "\r\n";
  return text;
}

}  // namespace bedwright
