// bedwright calibrate: a printed coupon's sizes to what must be added to drawings.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "base/json_edit.h"
#include "base/numbers.h"
#include "cli/run.h"
#include "kit/day.h"
#include "output/calibrate_report.h"
#include "output/write_set.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

using Ordered = nlohmann::ordered_json;

struct CalibrateOptions {
  std::string kit, table, sheet, write, on, printer;
  double nozzle_mm = 0;
};

constexpr std::size_t longest_name = 80;  // docs/kit.schema.json
constexpr std::size_t largest_profile_bytes = largest_kit_bytes;

const PartRequest& coupon_of(const Kit& kit, const std::string& source) {
  const auto found = std::find_if(kit.parts.begin(), kit.parts.end(),
                                  [](const PartRequest& p) { return p.family == "fit_coupon"; });
  if (found == kit.parts.end())
    throw BadInput(source, {{"/parts", "", "the kit has no fit coupon, so there is nothing to measure",
                             "add { \"id\": \"coupon\", \"family\": \"fit_coupon\" } and print it"}});
  return *found;
}

Part coupon_printed_with(Kit kit, const PartRequest& request, const Compensation& compensation) {
  kit.printer.compensation = compensation;
  return derive_fit_coupon(kit, Layout{}, request).front();
}

/// A table that says "printed with the profile" of a coupon that was not.
void refuse_twice(const Compensation& printed_with, const Calibration& c, const std::string& source) {
  const std::tuple<const char*, double, const std::optional<CouponEstimate>*> kinds[] = {
      {"hole", printed_with.hole_mm, &c.hole_mm},
      {"outline", printed_with.outline_mm, &c.outline_mm},
      {"height", printed_with.height_mm, &c.height_mm}};
  std::vector<Problem> problems;
  for (const auto& [name, before, result] : kinds)
    if (would_correct_twice(before, *result))
      problems.push_back({std::string("printed-with ") + name, decimal(before, 4),
                          "the coupon looks as if it had been printed without it: " + decimal((*result)->value, 3) +
                              " mm, twice that, would be the correction",
                          "if it was printed without, write 0; if not, print the coupon again with all compensation 0"});
  if (!problems.empty()) throw BadInput(source, problems);
}

void require_in_range(const char* key, double value, double most, const std::string& source) {
  if (std::fabs(value) > most)
    throw BadInput(source, {{std::string("/compensation/") + key, decimal(value, 3),
                             "is more than a profile may add, " + decimal(most, 2) + " mm",
                             "set the printer right first: it is off by far more than usual"}});
}

double step(double mm) {
  return std::round(mm * 1000) / 1000 + 0.0;
}

Ordered calibrated_json(const CalibrateOptions& o, const std::string& material, const Calibration& c) {
  Ordered j = {{"on", o.on}, {"material", material}, {"nozzle_mm", o.nozzle_mm}};
  const auto u = [&](const char* key, const std::optional<CouponEstimate>& e, int freedom) {
    if (e && freedom > 0) j[key] = step(e->u);
  };
  u("hole_u_mm", c.hole_mm, c.freedom_plan);
  u("outline_u_mm", c.outline_mm, c.freedom_plan);
  u("height_u_mm", c.height_mm, c.freedom_height);
  const auto percent = [&](const char* key, const std::optional<CouponEstimate>& e) {
    if (e) j[key] = step(100 * e->value);
  };
  percent("scale_x_percent", c.scale_x);
  percent("scale_y_percent", c.scale_y);
  percent("scale_z_percent", c.scale_z);
  return j;
}

/// The profile as it stands, or a new one of the kit's printer.
std::string profile_text(const CalibrateOptions& o, const Kit& kit, const std::string& material) {
  std::error_code ignored;
  if (std::filesystem::exists(o.write, ignored)) return read_file(o.write, largest_profile_bytes);
  const PrinterProfile& p = kit.printer;
  const Ordered profile = {{"bed_mm", {p.bed_mm.x, p.bed_mm.y, p.bed_mm.z}},
                           {"layer_mm", p.layer_mm},
                           {"first_layer_mm", p.first_layer_mm},
                           {"line_mm", p.line_mm},
                           {"material", material}};
  return profile.dump(2) + "\n";
}

/// Compensation of one printer, material and nozzle never goes into the profile of another.
void require_same(const Json& profile, const CalibrateOptions& o, const std::string& material) {
  std::vector<Problem> problems;
  const auto differs = [&](const char* key, const Json& now) {
    if (profile.contains(key) && profile[key] != now)
      problems.push_back({std::string("/") + key, profile[key].dump(),
                          "the profile is of another; the coupon is of " + now.dump(),
                          "write to a profile of its own: --write with a new name"});
  };
  differs("name", o.printer);
  differs("material", material);
  differs("nozzle_mm", o.nozzle_mm);
  if (!problems.empty()) throw BadInput(o.write, problems);
}

void write_profile(const CalibrateOptions& o, const Kit& kit, const std::string& material, const Compensation& before,
                   const Calibration& c) {
  std::string text = profile_text(o, kit, material);
  const Json document = Json::parse(text, nullptr, false);
  if (!document.is_object())
    throw BadInput(o.write, {{"", "", "is no profile: it holds no JSON object", "name another file"}});
  const bool in_kit = document.value("format", Json()) == "bedwright/kit/1";
  if (!in_kit && (document.contains("format") || document.contains("parts")))
    throw BadInput(o.write, {{"", "", "is neither a printer's profile nor a kit", "name another file"}});
  const std::string at = in_kit ? "/printer" : "";
  const Json profile = in_kit ? document.value("printer", Json::object()) : document;
  if (!profile.is_object())
    throw BadInput(o.write, {{at, profile.dump(), "is no printer's profile: it holds no JSON object",
                              "run bedwright check on the kit"}});
  require_same(profile, o, material);
  // What the coupon could not tell stays as the coupon was printed.
  const Compensation after{c.hole_mm ? step(c.hole_mm->value) : before.hole_mm,
                           c.outline_mm ? step(c.outline_mm->value) : before.outline_mm,
                           c.height_mm ? step(c.height_mm->value) : before.height_mm};
  require_in_range("hole_mm", after.hole_mm, 1, o.write);
  require_in_range("outline_mm", after.outline_mm, 2, o.write);
  require_in_range("height_mm", after.height_mm, 0.5, o.write);
  text = with_value_at(text, at + "/name", o.printer);
  text = with_value_at(text, at + "/nozzle_mm", o.nozzle_mm);
  text = with_value_at(text, at + "/material", material);
  text = with_value_at(text, at + "/compensation",
                       Ordered{{"hole_mm", after.hole_mm}, {"outline_mm", after.outline_mm}, {"height_mm", after.height_mm}});
  text = with_value_at(text, at + "/calibrated", calibrated_json(o, material, c));
  write_file(o.write, text);
}

void require_for_writing(CalibrateOptions& o, const Kit& kit) {
  if (o.printer.empty()) o.printer = kit.printer.name;
  if (o.nozzle_mm == 0 && kit.printer.nozzle_mm) o.nozzle_mm = *kit.printer.nozzle_mm;
  std::string missing;
  const auto need = [&](bool there, const char* what) {
    if (!there) missing += (missing.empty() ? "" : ", ") + std::string(what);
  };
  need(!o.printer.empty(), "--printer NAME");
  need(o.nozzle_mm > 0, "--nozzle MM");
  need(!o.on.empty(), "--on YEAR-MONTH-DAY");
  if (!missing.empty())
    throw BadUsage("--write: a profile states its printer, nozzle and day; add " + missing);
  if (!is_day(o.on)) throw BadUsage("--on " + o.on + ": is no day of the calendar; write year-month-day, as 2026-03-28");
  if (o.printer.size() > longest_name) throw BadUsage("--printer: at most " + std::to_string(longest_name) + " bytes");
}

int run_calibrate(Streams& streams, CalibrateOptions o) {
  if (o.table.empty() == o.sheet.empty())
    throw BadUsage("give the table of what you measured, or --sheet FILE.csv for one to fill in");
  KitOptions options;
  options.kit_path = o.kit;
  const Kit kit = read_kit_with(options);
  const PartRequest& request = coupon_of(kit, o.kit);
  if (!o.sheet.empty()) {
    std::error_code ignored;
    if (std::filesystem::exists(o.sheet, ignored))
      throw FileError(o.sheet, "is there already, and what was measured may stand in it; choose another name");
    const auto sizes = coupon_sizes(coupon_printed_with(kit, request, kit.printer.compensation));
    write_file(o.sheet, coupon_sheet(kit, request, sizes));
    if (streams.json)
      streams.out << Json{{"format", "bedwright/calibrate/1"}, {"sheet", o.sheet}, {"rows", sizes.size()}}.dump(2) << "\n";
    else
      streams.out << o.sheet << ": " << sizes.size() << " sizes of " << request.id
                  << " to measure, in order. Fill in found_1_mm, then: bedwright calibrate " << o.kit << " " << o.sheet
                  << "\n";
    return exit_done;
  }
  if (!o.write.empty()) require_for_writing(o, kit);
  const CouponTable table = read_coupon_table(read_file(o.table, largest_coupon_table_bytes), o.table);
  const Part part = coupon_printed_with(kit, request, table.printed_with);
  CalibrationReport report{kit.name, kit.revision, request.id, part.material, table.printed_with, {}};
  report.result = calibrate(coupon_readings(table, coupon_sizes(part), o.table), o.table);
  refuse_twice(table.printed_with, report.result, o.table);
  const bool doubtful = std::any_of(report.result.readings.begin(), report.result.readings.end(),
                                    [](const CheckedReading& r) { return r.doubtful; });
  if (!o.write.empty() && !doubtful) write_profile(o, kit, part.material, table.printed_with, report.result);
  if (streams.json) {
    streams.out << calibration_document(report).dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else {
    streams.out << calibration_text(report);
    if (!o.write.empty())
      streams.out << (doubtful ? "Nothing was written: measure again first, or take the row out.\n" : "Profile: " + o.write + "\n");
  }
  return doubtful ? exit_findings : exit_done;
}

}  // namespace

Command add_calibrate(CLI::App& program) {
  auto o = std::make_shared<CalibrateOptions>();
  CLI::App* app = program.add_subcommand("calibrate", "From a measured fit coupon to what must be added to drawings");
  app->add_option("KIT.json", o->kit, "The kit that the coupon is of")->required();
  app->add_option("MEASURED.csv", o->table, "The sheet, filled in");
  app->add_option("--sheet", o->sheet, "Write the table to fill in: what to measure, in which order")->type_name("FILE.csv");
  app->add_option("--write", o->write, "Put the result into this printer profile (made if absent) or kit")
      ->type_name("PROFILE.json");
  app->add_option("--printer", o->printer, "With --write: what the workshop calls the printer")->type_name("NAME");
  app->add_option("--nozzle", o->nozzle_mm, "With --write: bore of the nozzle, mm")->type_name("MM")->check(CLI::Range(0.1, 2.0));
  app->add_option("--on", o->on, "With --write: the day of measuring, 2026-03-28")->type_name("DAY");
  app->footer(
      "Examples:\n"
      "  bedwright calibrate my-machine.json --sheet coupon.csv\n"
      "  bedwright calibrate my-machine.json coupon.csv\n"
      "  bedwright calibrate my-machine.json coupon.csv --write my-printer.json --printer bench --nozzle 0.4 --on 2026-03-28\n\n"
      "The table says what the coupon was printed with; without that word, or where the slicing program corrects as\n"
      "well, the result could correct twice and is refused. Exit status 1: a reading contradicts the others.");
  return {app, [o](Streams& streams) { return run_calibrate(streams, *o); }};
}

}  // namespace bedwright
