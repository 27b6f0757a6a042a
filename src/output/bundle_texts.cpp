#include "output/bundle_texts.h"

#include <algorithm>

#include "base/csv.h"
#include "base/numbers.h"
#include "joints/clamp.h"
#include "output/steps.h"
#include "output/trials.h"

namespace bedwright {
namespace {

constexpr double needs_support_mm3 = 20;  // less than a thimble's bottom droops without harm; common practice, no source
constexpr double brim_share = 6;          // as the finding tall-thin has it

/// On one line, and no table's bar or heading's sign of somebody else's making.
std::string flat(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '|' || c == '<' || c == '`' || c == '#') out += '\\';
    out += c == '\n' || c == '\r' || c == '\t' ? ' ' : c;
  }
  return out;
}

std::string sentence(const std::string& text) {
  if (text.empty()) return "";
  const std::string one = flat(text);
  return one + (one.back() == '.' || one.back() == '!' || one.back() == '?' ? "" : ".");
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& w : words) text += (text.empty() ? "" : ", ") + w;
  return text;
}

std::string way_text(Way way) {
  switch (way) {
    case Way::as_installed:
      return "as installed";
    case Way::upside_down:
      return "upside down";
    case Way::on_front:
      return "on its front edge";
    case Way::on_rear:
      return "on its rear edge";
    case Way::on_left:
      return "on its left edge";
    default:
      return "on its right edge";
  }
}

std::string support_text(const PartReport& p) {
  return p.pose.support_mm3 > needs_support_mm3 ? decimal(p.pose.support_mm3 / 1000, 1) + " cm3" : "none";
}

std::string brim_text(const PartReport& p) {
  return p.pose.contact_width_mm > 0 && p.pose.height_mm / p.pose.contact_width_mm > brim_share ? "5 mm" : "none";
}

std::string size_text(Vec3 box) {
  return decimal(box.x, 1) + " x " + decimal(box.y, 1) + " x " + decimal(box.z, 1);
}

std::size_t measured(const PartReport& p, bool only_good) {
  return static_cast<std::size_t>(std::count_if(p.dimensions.begin(), p.dimensions.end(), [&](const auto& d) {
    return d.measured_mm && (!only_good || d.ok);
  }));
}

std::size_t count_of(const Report& r, Severity severity) {
  return static_cast<std::size_t>(std::count_if(r.findings.begin(), r.findings.end(),
                                                [&](const Finding& f) { return f.severity == severity; }));
}

std::string name_of(const Kit& kit) {
  return kit.name + " revision " + kit.revision;
}

/// "2 x adapter-a, 2 x adapter-b".
std::string parts_text(const Report& r) {
  std::string text;
  for (const PartReport& p : r.parts)
    text += (text.empty() ? "" : ", ") + std::to_string(p.part.quantity) + " x " + p.part.id;
  return text;
}

std::size_t untested(const Kit& kit) {
  return static_cast<std::size_t>(std::count_if(
      trials().begin(), trials().end(), [&](const Trial& t) { return result_of_trial(kit, t.id) == nullptr; }));
}

std::string open_values(const Kit& kit) {
  if (kit.open.empty()) return "";
  std::string text = "\nValues that are meant to be changed:\n\n| value | what it is | range | how to measure |\n|---|---|---|---|\n";
  for (const Json& o : kit.open) {
    const Json range = o.value("range", Json());
    text += "| `" + o.value("pointer", "") + "` | " + flat(o.value("label", "")) +
            (o.contains("help") ? ": " + flat(o.value("help", "")) : "") + " | " +
            (range.is_array() && range.size() == 2 && range[0].is_number() && range[1].is_number()
                 ? decimal(range[0].get<double>(), 4) + " to " + decimal(range[1].get<double>(), 4)
                 : "") +
            " | " + flat(o.value("measure", "")) + " |\n";
  }
  return text;
}

}  // namespace

std::string bundle_readme(const Kit& kit, const Report& r) {
  std::string text = "# " + flat(kit.title.empty() ? kit.name : kit.title) + "\n\n" + name_of(kit) +
                     ": parts that turn a moving-bed printer from round rods to profile rails (" + kit.rails.size.id +
                     ", carriages " + kit.carriages.size.id + ").\n\nParts: " + parts_text(r) + ".\n\n";
  if (const std::size_t n = untested(kit))
    text += "**UNTESTED: " + std::to_string(n) + " of " + std::to_string(trials().size()) +
            " trials. See TESTED.md before you print.**\n\n";
  text += "Read CAUTIONS.md first. This work can hurt you: mains, a hot bed, a moving bed, fine particles. " +
          std::string(last_word) + "\n\n";
  text += "These parts fit one machine. Compare yours with the numbers in kit.json before you print: rails "
          "(pitch " + decimal(kit.rails.pitch_mm, 3) + " mm), carriage spacing (" + decimal(kit.carriages.spacing_mm, 3) +
          " mm), the frame's sheet (" + decimal(kit.frame.sheet_thickness_mm, 3) + " mm), its dome and its holes.\n\n";
  text += "| file | what it is |\n|---|---|\n"
          "| `CAUTIONS.md` | what can hurt you, and where |\n"
          "| `TESTED.md` | what was checked and tried, and what was not |\n"
          "| `set/` | part files (STL), print beds (3MF), drawings, report (open `set/report.html` in a browser), list of what to buy; `bedwright check set` looks whether it is whole |\n"
          "| `PRINTING.md`, `print-settings.csv` | layer, walls, infill, material and pose of each part |\n"
          "| `ASSEMBLY.md` | the order of work |\n"
          "| `RUN-IN.md` | a card to tick, once it runs |\n"
          "| `pictures/` | places for the pictures that prove it |\n"
          "| `CHANGES.md` | what each revision changed |\n"
          "| `kit.json` | the numbers that all of it follows from |\n"
          "| `" + flat(kit.publish.licence_file) + "` | the terms" +
          (kit.publish.licence.empty() ? "" : ": " + flat(kit.publish.licence)) + " |\n"
          "| `SHA256SUMS` | `sha256sum --check SHA256SUMS` says whether a file was changed |\n\n";
  text += "## Make it again, or make it yours\n"
          "The whole set follows from kit.json, byte by byte:\n\n"
          "    bedwright make " + kit.name + "-" + kit.revision + ".zip\n\n"
          "Another machine is another number, for one run or in kit.json for good:\n\n"
          "    bedwright make " + kit.name + "-" + kit.revision + ".zip --set /frame/dome/radius_mm=2450\n" +
          open_values(kit);
  return text;
}

std::string assembly_page(const Report& r) {
  std::string text = "# Assembly\n\n" + r.kit + " revision " + r.revision + ". Read CAUTIONS.md first.\n";
  for (const Step& s : r.steps) {
    text += "\n" + std::to_string(s.n) + ". [ ] " + sentence(s.what) + "\n";
    const auto line = [&](const char* what, const std::string& said) {
      if (!said.empty()) text += std::string("   - ") + what + ": " + sentence(said) + "\n";
    };
    line("Machine", s.machine);
    line("Parts", joined(s.parts));
    line("Screws", joined(s.joints));
    line("Tight", s.tightness);
    line("Feel", s.feel);
    for (const std::string& at : s.cautions) {
      const auto told = std::find_if(r.cautions.begin(), r.cautions.end(), [&](const Caution& c) { return c.at == at; });
      text += "   - **" + flat(at) + (told == r.cautions.end() ? "**\n" : ":** " + sentence(told->text) + "\n");
    }
  }
  if (!r.joints.empty()) {
    text += "\n## Screws\n\n| where | pieces | take | grip mm | lengths that suit mm | N.m |\n|---|---|---|---|---|---|\n";
    for (const JointSolution& s : r.joints) {
      const Clamp clamp = clamp_of(s.joint);
      text += "| " + flat(s.joint.id) + " | " + std::to_string(s.joint.count) + " | " +
              (s.pick_mm ? s.joint.thread + "x" + decimal(*s.pick_mm, 1) : "**" + flat(s.why) + "**") + " | " +
              decimal(s.grip_least_mm, 2) + " to " + decimal(s.grip_greatest_mm, 2) + " | " +
              decimal(s.window_least_mm, 2) + " to " +
              (s.window_greatest_mm ? decimal(*s.window_greatest_mm, 2) : std::string("any")) + " | " +
              decimal(clamp.torque_least_nm, 2) + " to " + decimal(clamp.torque_greatest_nm, 2) + " |\n";
    }
  }
  return text + "\n" + last_word + "\n";
}

std::string print_settings_csv(const Kit& kit, const Report& r) {
  const PrinterProfile& printer = kit.printer;
  std::string text = "part,file,quantity,material,nozzle_mm,first_layer_mm,layer_mm,line_mm,walls,infill_percent,pose,"
                     "support,brim,size_mm,mass_g\n";
  for (const PartReport& p : r.parts)
    text += p.part.id + ",set/" + p.file + "," + std::to_string(p.part.quantity) + "," + csv_cell(p.part.material) + "," +
            (printer.nozzle_mm ? decimal(*printer.nozzle_mm, 3) : "") + "," + decimal(printer.first_layer_mm, 3) + "," +
            decimal(printer.layer_mm, 3) + "," + decimal(printer.line_mm, 3) + "," + std::to_string(printer.walls) + "," +
            decimal(printer.infill_percent, 1) + "," + way_text(p.pose.way) + "," + support_text(p) + "," +
            brim_text(p) + "," + size_text(p.box_mm) + "," + decimal(p.mass_g, 2) + "\n";
  return text;
}

std::string printing_page(const Kit& kit, const Report& r) {
  const PrinterProfile& printer = kit.printer;
  const Compensation& c = printer.compensation;
  std::string text = "# Printing\n\n" + name_of(kit) + ". Every file lies as it is to be printed; do not turn it over.\n\n";
  text += "- First layer " + decimal(printer.first_layer_mm, 3) + " mm, layers " + decimal(printer.layer_mm, 3) +
          " mm, lines " + decimal(printer.line_mm, 3) + " mm" +
          (printer.nozzle_mm ? ", nozzle " + decimal(*printer.nozzle_mm, 3) + " mm" : "") + ".\n";
  text += "- " + std::to_string(printer.walls) + " walls, " + decimal(printer.infill_percent, 1) + " % infill, " +
          printer.material + " unless the table says otherwise.\n";
  text += "- The files were made for one printer: holes " + decimal(c.hole_mm, 3) + " mm, outlines " +
          decimal(c.outline_mm, 3) + " mm, heights " + decimal(c.height_mm, 3) +
          " mm are added in them" +
          (printer.calibrated ? " (coupon of " + printer.calibrated->on + ", " + printer.calibrated->material + ")" : "") +
          ". Your printer is another: print a coupon, calibrate, make the set again. Set the slicing program's own "
          "corrections of holes, outlines and the first layer's squash to zero: both together would correct twice.\n\n";
  text += "| part | pieces | material | pose | support | brim | size mm |\n|---|---|---|---|---|---|---|\n";
  for (const PartReport& p : r.parts)
    text += "| " + p.part.id + " | " + std::to_string(p.part.quantity) + " | " + p.part.material + " | " +
            way_text(p.pose.way) + " | " + support_text(p) + " | " + brim_text(p) + " | " + size_text(p.box_mm) + " |\n";
  text += "\nWhy so:\n\n";
  for (const PartReport& p : r.parts) text += "- " + p.part.id + " " + sentence(p.pose.why) + "\n";
  text += "\nPrint beds:\n\n";
  for (const BedReport& bed : r.beds)
    text += "- `set/" + bed.file + "`" + (bed.bed.rank < 2 ? " (print first)" : "") + ": " +
            std::to_string(bed.bed.items.size()) + (bed.bed.items.size() == 1 ? " piece\n" : " pieces\n");
  return text;
}

std::string run_in_card(const Report& r) {
  std::string text = "# Run-in and service card\n\n" + r.kit + " revision " + r.revision +
                     ". Hang it beside the machine. Machine: ______________  Since: ______________\n\n"
                     "| | when | what | day | by |\n|---|---|---|---|---|\n";
  for (const ServiceLine& line : r.service)
    text += "| [ ] | " + flat(line.when) + " | " + sentence(line.what) + " | | |\n";
  return text + "\n" + last_word + "\n";
}

std::string cautions_page(const Report& r) {
  std::string text = "# Cautions\n\n";
  for (const Caution& c : r.cautions)
    if (c.text != last_word) text += "- **" + flat(c.at) + ":** " + sentence(c.text) + "\n";
  return text + "\n" + last_word + "\n";
}

std::string tested_page(const Kit& kit, const Report& r) {
  std::string text = "# What was tested, and what was not\n\n" + name_of(kit) + ".\n\n## Tried on a machine\n\n";
  text += "| trial | how | good when | result |\n|---|---|---|---|\n";
  for (const Trial& t : trials()) {
    const TestedThing* done = result_of_trial(kit, t.id);
    text += std::string("| ") + t.title + " | " + t.take + " | " + t.good + " | " +
            (done ? sentence(done->result) + (done->on.empty() ? "" : " (" + done->on + ")") : "**UNTESTED**") + " |\n";
  }
  std::string earlier;
  for (const TestedThing& t : kit.publish.tested)
    if (!t.revision.empty() && t.revision != kit.revision)
      earlier += "- revision " + flat(t.revision) + ", " + flat(t.what) + ": " + sentence(t.result) + "\n";
  if (!earlier.empty()) text += "\nTried with other revisions, which says little of this one:\n\n" + earlier;
  text += "\n## Checked in the written files\n\nEvery file was read back and measured; no machine has seen it for that.\n\n"
          "| part | closed, outward, no crossings | dimensions as drawn |\n|---|---|---|\n";
  for (const PartReport& p : r.parts) {
    const bool sound = p.mesh.closed && p.mesh.oriented && p.mesh.self_intersections == 0 && p.mesh.all_asked &&
                       p.mesh.degenerate == 0;
    text += "| " + p.part.id + " | " + (sound ? "yes" : "**no**") + " | " + std::to_string(measured(p, true)) + " of " +
            std::to_string(measured(p, false)) + " |\n";
  }
  text += "\nFindings: " + std::to_string(count_of(r, Severity::error)) + " errors, " +
          std::to_string(count_of(r, Severity::warning)) + " warnings, " + std::to_string(count_of(r, Severity::note)) +
          " notes.\n\n";
  for (const Finding& f : r.findings)
    if (f.severity != Severity::note)
      text += std::string("- ") + to_text(f.severity) + " `" + f.code + "`: " + sentence(f.message) +
              (f.remedy.empty() ? "" : " Remedy: " + sentence(f.remedy)) + "\n";
  return text;
}

std::string changes_page(const Kit& kit) {
  std::string text = "# Changes\n\n" + kit.name + ", newest first.\n";
  const auto& changes = kit.publish.changes;
  const bool told = std::any_of(changes.begin(), changes.end(),
                                [&](const RevisionNote& c) { return c.revision == kit.revision; });
  if (!told) text += "\n## Revision " + kit.revision + "\nNobody wrote down what it changed.\n";
  std::string last;
  for (auto c = changes.rbegin(); c != changes.rend(); ++c) {
    if (c->revision != last) text += "\n## Revision " + flat(c->revision) + "\n";
    last = c->revision;
    text += "- " + sentence(c->what) + "\n";
  }
  return text;
}

std::string pictures_page(const Kit& kit, const std::vector<std::string>& have) {
  std::string text = "# Pictures\n\nA picture proves more than a sentence. JPEG or PNG, named as the first column says.\n\n"
                     "| file | shows | |\n|---|---|---|\n";
  for (const Trial& t : trials()) {
    if (*t.picture == '\0') continue;
    const bool there = std::find(have.begin(), have.end(), t.id) != have.end();
    text += std::string("| `") + t.id + ".jpg` | " + t.picture + " | " +
            (there ? "here" : result_of_trial(kit, t.id) ? "missing" : "missing, UNTESTED") + " |\n";
  }
  return text;
}

}  // namespace bedwright
