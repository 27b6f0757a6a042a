// bedwright survey: from what a workshop can measure to the frame's shape, and into the kit if asked.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/delimited.h"
#include "base/error.h"
#include "base/json_edit.h"
#include "base/numbers.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "cli/units.h"
#include "joints/float.h"
#include "kit/hardware.h"
#include "output/dome_block.h"
#include "output/survey_picture.h"
#include "output/survey_report.h"
#include "output/write_set.h"
#include "survey/hole.h"
#include "survey/large_scan.h"
#include "survey/plausible.h"
#include "survey/read_points.h"
#include "survey/readings.h"
#include "survey/reference.h"
#include "survey/region.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct SurveyCommand {
  std::vector<double> edges, gaps, circles, readings;
  std::vector<std::string> along;
  double foot_radius = 0, gap_u = 0, known_u = known_length_u_mm;
  std::string points, scan, units, positive_is = "high", crown, measured_on, region, origin, on_x, on_plane, origin_at;
  std::vector<std::string> known, known_holes;
  bool level = false;
  std::string kit, write, picture;
};

/// "1,2.5,-3", or "1;2,5;-3" with decimal commas.
std::vector<double> numbers_of(const std::string& option, const std::string& text, std::size_t count) {
  const bool decimal_comma = text.find(';') != std::string::npos;
  std::vector<double> numbers;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find(decimal_comma ? ';' : ',', from), text.size());
    double value = 0;
    if (!read_number(text.substr(from, to - from), decimal_comma, value))
      throw BadUsage(option + " " + text + ": \"" + text.substr(from, to - from) + "\" is not a number");
    numbers.push_back(value);
    from = to + 1;
  }
  if (count > 0 && numbers.size() != count)
    throw BadUsage(option + " " + text + ": " + std::to_string(count) + " numbers with commas between them are wanted");
  return numbers;
}

Vec3 point_of(const std::string& option, const std::string& text) {
  const std::vector<double> v = numbers_of(option, text, 3);
  return {v[0], v[1], v[2]};
}

/// What the kit says that a survey needs.
struct KitFacts {
  bool given = false;
  std::optional<Vec2> pitch;
  std::optional<double> float_mm;
  std::string float_words;
  std::optional<bool> crown_up;
  bool upper = false;
  Vec2 apex{};
  bool has_apex = false;
};

KitFacts facts_of(const Kit& kit) {
  KitFacts facts;
  facts.given = true;
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  double hole = 0;
  for (const FrameHole& h : kit.frame.holes) {
    low = {std::min(low.x, h.at_mm.x), std::min(low.y, h.at_mm.y)};
    high = {std::max(high.x, h.at_mm.x), std::max(high.y, h.at_mm.y)};
    hole = hole == 0 ? h.diameter_mm : std::min(hole, h.diameter_mm);
  }
  if (high.x > low.x && high.y > low.y) facts.pitch = high - low;
  for (const PartRequest& part : kit.parts) {
    if (!part.settings.contains("frame_screw") || !part.settings["frame_screw"].is_string()) continue;
    const std::string screw = part.settings["frame_screw"].get<std::string>();
    double diameter = 0;
    if (screw.size() > 1 && screw[0] == 'M' && read_number(screw.substr(1), false, diameter) && hole > diameter) {
      facts.float_mm = fixed_zone_mm(hole, diameter);
      facts.float_words = screw + " held by an insert, in " + decimal(hole, 2) + " mm holes";
    }
    break;
  }
  const Dome& dome = kit.frame.dome;
  if (dome.shape == "sphere" || dome.shape == "cylinder" || dome.shape == "two_radius") {
    facts.crown_up = dome.crown_up;
    facts.apex = dome.apex_mm;
    facts.has_apex = true;
  }
  facts.upper = dome.measured_on_upper;
  return facts;
}

Survey of_readings(const SurveyCommand& o, const KitFacts& facts, SurveyReport& report) {
  if (!o.points.empty() || !o.scan.empty())
    throw BadUsage("give readings (--straightedge, --leg-circle), --points or --scan: one of the three");
  const auto like = [](const char* a, std::size_t na, const char* b, std::size_t nb) {
    throw BadUsage(std::string(a) + " is given " + std::to_string(na) + " times and " + b + " " + std::to_string(nb) +
                   " times: give them in pairs");
  };
  std::vector<StraightedgeReading> edges;
  for (std::size_t i = 0; i < o.gaps.size(); ++i) {
    if (o.edges.size() != o.gaps.size() && o.edges.size() != 1)
      like("--straightedge", o.edges.size(), "--gap", o.gaps.size());
    edges.push_back({o.edges.size() == 1 ? o.edges[0] : o.edges[i], o.gaps[i], ""});
  }
  if (o.edges.size() > o.gaps.size()) like("--straightedge", o.edges.size(), "--gap", o.gaps.size());
  if (!o.along.empty()) {
    if (o.along.size() != edges.size()) like("--along", o.along.size(), "--gap", edges.size());
    for (std::size_t i = 0; i < edges.size(); ++i) edges[i].along = o.along[i];
  }
  std::vector<ThreeLegReading> legs;
  for (std::size_t i = 0; i < o.readings.size(); ++i) {
    if (o.circles.size() != o.readings.size() && o.circles.size() != 1)
      like("--leg-circle", o.circles.size(), "--reading", o.readings.size());
    legs.push_back({o.circles.size() == 1 ? o.circles[0] : o.circles[i], o.readings[i], o.foot_radius});
  }
  if (o.circles.size() > o.readings.size()) like("--leg-circle", o.circles.size(), "--reading", o.readings.size());
  ReadingOptions options;
  options.crown_up = o.crown.empty() ? facts.crown_up.value_or(true) : o.crown == "up";
  options.gap_u_mm = o.gap_u;
  if (facts.pitch) options.pattern_half = 0.5 * *facts.pitch;
  report.source = SurveySource::readings;
  report.source_name = "readings";
  return survey_readings(edges, legs, options);
}

/// What was cut out, in the report; throws where nothing is left.
void tell_region(std::size_t left, std::size_t before, const SurveyCommand& o, SurveyReport& report) {
  report.done.push_back("Region: " + std::to_string(left) + " of " + std::to_string(before) + " points");
  if (left == 0) {
    throw BadInput(report.source_name, {{"--region", o.region, "no point lies inside it",
                                         "it is in millimetres, in the frame after scaling and --origin"}});
  }
}

void put_in_place(std::vector<Vec3>& points, const SurveyCommand& o, SurveyReport& report, double unit,
                  std::optional<Vec2> pitch) {
  std::vector<KnownLength> known;
  for (const std::string& text : o.known) {
    const std::vector<double> v = numbers_of("--known", text, 7);
    known.push_back({unit * Vec3{v[0], v[1], v[2]}, unit * Vec3{v[3], v[4], v[5]}, v[6]});
  }
  for (const std::string& text : o.known_holes) {
    const std::vector<double> v = numbers_of("--known-holes", text, 5);
    std::vector<Vec3> in_mm = points;
    for (Vec3& p : in_mm) p = unit * p;
    const ScanHole a = find_hole(in_mm, {unit * v[0], unit * v[1]}, report.source_name);
    const ScanHole b = find_hole(in_mm, {unit * v[2], unit * v[3]}, report.source_name);
    known.push_back({a.centre, b.centre, v[4]});
    report.done.push_back("Holes: " + decimal(a.diameter_mm, 2) + " mm at " + decimal(a.centre.x, 2) + ", " +
                          decimal(a.centre.y, 2) + " and " + decimal(b.diameter_mm, 2) + " mm at " +
                          decimal(b.centre.x, 2) + ", " + decimal(b.centre.y, 2) + " in the scan");
  }
  report.scale = scale_from(known, o.known_u);
  report.scaled = !known.empty();
  const double sense = o.positive_is == "low" ? -1 : 1;
  const auto scaled = [&](Vec3 p) { return apply(report.scale, Vec3{p.x, p.y, sense * p.z}); };
  Transform reference;
  const int features = !o.origin.empty() + !o.on_x.empty() + !o.on_plane.empty();
  if (features != 0 && features != 3)
    throw BadUsage("--origin, --on-x and --on-plane go together: three features fix a frame");
  if (features == 3) {
    const auto feature = [&](const char* option, const std::string& text) {
      return scaled(unit * point_of(option, text));
    };
    reference =
        reference_from(feature("--origin", o.origin), feature("--on-x", o.on_x), feature("--on-plane", o.on_plane));
    report.done.push_back("Frame of reference: from three features");
  }
  if (!o.origin_at.empty()) {
    const std::vector<double> at = numbers_of("--origin-at", o.origin_at, 2);
    reference = compose(shift({at[0], at[1], 0}), reference);
  }
  const bool stays =
      unit == 1 && sense == 1 && known.empty() && features == 0 && o.origin_at.empty();  // of millions of points
  if (!stays)
    for (Vec3& p : points) p = bedwright::apply(reference, scaled(unit * p));
  require_plausible_size(points, pitch, !o.region.empty(), report.source_name);
  if (!o.region.empty()) {
    const Region region = region_of(numbers_of("--region", o.region, 0));
    const std::size_t before = points.size();
    crop(points, region);
    tell_region(points.size(), before, o, report);
  }
}

void tell_skipped(std::size_t skipped, SurveyReport& report) {
  if (skipped > 0) report.done.push_back("Left out: " + std::to_string(skipped) + " points without coordinates");
}

/// A scan that lies as it should and is too large to keep.
std::optional<Survey> of_large_scan(const SurveyCommand& o, const SurveyOptions& options, const KitFacts& facts,
                                    SurveyReport& report) {
  const bool stays = unit_of(o.units, "") == "mm" && o.positive_is != "low" && o.known.empty() &&
                     o.known_holes.empty() && o.origin.empty() && o.on_x.empty() && o.on_plane.empty() &&
                     o.origin_at.empty() && !o.level;
  if (o.scan.empty() || !stays) return std::nullopt;
  std::optional<Region> region;
  if (!o.region.empty()) region = region_of(numbers_of("--region", o.region, 0));
  const std::optional<LargeScan> scan = look_through(o.scan, region, options.at_once);
  if (!scan) return std::nullopt;
  tell_skipped(scan->skipped, report);
  require_plausible_size(scan->some_in_file, facts.pitch, region.has_value(), report.source_name);
  if (region) tell_region(scan->count, scan->in_file, o, report);
  return survey_cloud(cloud_of(*scan), options, report.source_name);
}

Survey of_points(const SurveyCommand& o, const KitFacts& facts, SurveyReport& report) {
  if (!o.points.empty() && !o.scan.empty()) throw BadUsage("give --points or --scan, not both");
  report.source = o.scan.empty() ? SurveySource::table : SurveySource::scan;
  report.source_name = o.scan.empty() ? o.points : o.scan;
  SurveyOptions options;
  options.at_once = tasks_on(jobs_or_cores(0));
  if (facts.pitch) options.pattern_half = 0.5 * *facts.pitch;
  if (std::optional<Survey> survey = of_large_scan(o, options, facts, report)) return *survey;
  PointFile file =
      o.scan.empty() ? points_of_table(read_file(o.points, largest_table_bytes), o.points) : read_scan(o.scan);
  tell_skipped(file.skipped, report);
  const std::string unit = unit_of(o.units, file.unit);
  if (unit != "mm") report.done.push_back("Units: " + unit);
  put_in_place(file.points, o, report, mm_in(unit), facts.pitch);
  if (o.level) {
    const double turn = level(file.points, options, report.source_name);
    report.done.push_back("Levelled: turned by " + decimal(turn, 3) + " degrees");
  }
  Survey survey = survey_points(file.points, options, report.source_name);
  if (report.scaled) {
    // Radius and apex grow with the scan: its scale's uncertainty is theirs.
    const double u = std::max(report.scale.x_u / report.scale.x, report.scale.y_u / report.scale.y);
    report.radius_u_scale_mm = survey.radius_mm * u;
    survey.radius_u_mm =
        std::sqrt(survey.radius_u_mm * survey.radius_u_mm + report.radius_u_scale_mm * report.radius_u_scale_mm);
    survey.curvature_u =
        std::sqrt(survey.curvature_u * survey.curvature_u + survey.curvature * survey.curvature * u * u);
    survey.apex_u = Vec2{std::sqrt(survey.apex_u->x * survey.apex_u->x + survey.apex.x * survey.apex.x * u * u),
                         std::sqrt(survey.apex_u->y * survey.apex_u->y + survey.apex.y * survey.apex.y * u * u)};
  }
  return survey;
}

void write_dome(const SurveyCommand& o, const KitFacts& facts, SurveyReport& report) {
  const std::string text = read_file(o.write, largest_kit_bytes);
  const fs::path folder = fs::path(o.write).parent_path();
  const bool upper = o.measured_on.empty() ? facts.upper : o.measured_on == "upper";
  const Survey& s = report.survey;
  std::optional<Vec2> apex;
  if (s.apex_u)
    apex = s.apex;
  else if (facts.has_apex)
    apex = facts.apex;
  const std::string points_name = fs::path(o.write).stem().string() + "-dome.csv";
  const DomeText dome = dome_text(s, upper, apex, points_name);
  const std::string fresh = with_value_at(text, "/frame/dome", dome.block);
  const std::string points_path = (folder / points_name).string();
  std::optional<std::string> before;
  if (!dome.points.empty()) {
    std::error_code ignored;
    if (fs::exists(points_path, ignored)) before = read_file(points_path, largest_table_bytes);
    if (before && before->compare(0, std::string(points_file_mark).size(), points_file_mark) != 0)
      throw FileError(points_path, "exists and is not from survey; move it away first");
    write_file(points_path, dome.points);
  }
  // Never leaves a kit that the other commands refuse; its points must lie beside it to be read.
  try {
    read_kit(fresh, o.write + " with the surveyed dome", folder.empty() ? "." : folder.string());
  } catch (...) {
    std::error_code ignored;
    if (before)
      write_file(points_path, *before);
    else if (!dome.points.empty())
      fs::remove(points_path, ignored);
    throw;
  }
  if (!dome.points.empty()) report.points_file = points_path;
  write_file(o.write, fresh);
  report.written = o.write;
}

int run_survey(Streams& streams, const SurveyCommand& o) {
  const std::string kit_path = o.kit.empty() ? o.write : o.kit;
  if (!o.kit.empty() && !o.write.empty() && o.kit != o.write)
    throw BadUsage("--kit and --write name two kits: --write alone reads the kit too");
  const KitFacts facts = kit_path.empty() ? KitFacts{} : facts_of(read_kit_file(kit_path));
  SurveyReport report;
  const bool readings = !o.gaps.empty() || !o.edges.empty() || !o.circles.empty() || !o.readings.empty();
  if (!readings && o.points.empty() && o.scan.empty())
    throw BadUsage(
        "nothing to survey: give --straightedge and --gap, --leg-circle and --reading, --points or --scan (see "
        "--help)");
  if (o.scan.empty() && o.points.empty() &&
      (!o.known.empty() || !o.known_holes.empty() || !o.region.empty() || o.level || !o.origin.empty()))
    throw BadUsage("--known, --region, --level and --origin are for points and scans");
  report.pitch_mm = facts.pitch;
  report.float_mm = facts.float_mm;
  report.float_words = facts.float_words;
  report.stated_crown_up = o.crown.empty() ? facts.crown_up : std::optional<bool>(o.crown == "up");
  report.survey = readings ? of_readings(o, facts, report) : of_points(o, facts, report);
  remark(report);
  const bool refused = has_error(report.findings);
  if (!o.picture.empty()) write_file(o.picture, survey_svg(report));
  if (!o.write.empty() && !refused) write_dome(o, facts, report);
  streams.out << (streams.json ? survey_document(report).dump(2, ' ', false, Json::error_handler_t::replace) + "\n"
                               : survey_text(report));
  if (!o.write.empty() && refused && !streams.json) streams.out << "Nothing written: see the error above.\n";
  return refused ? exit_findings : exit_done;
}

}  // namespace

Command add_survey(CLI::App& program) {
  auto o = std::make_shared<SurveyCommand>();
  CLI::App* app = program.add_subcommand("survey", "The frame's shape from straightedge, gauge, heights or scan");
  const auto repeat = [](CLI::Option* option) { option->allow_extra_args(false); };
  repeat(app->add_option("--straightedge", o->edges, "Length that bears, mm (repeatable; once if all are alike)")
             ->type_name("L"));
  repeat(app->add_option("--gap", o->gaps, "Gap in the middle, or the same at both ends, mm (repeatable)")
             ->type_name("G"));
  repeat(app->add_option("--along", o->along, "Direction of each reading: x, y, d1 (front left to rear right), d2")
             ->type_name("DIR")
             ->check(CLI::IsMember({"x", "y", "d1", "d2"})));
  repeat(app->add_option("--leg-circle", o->circles, "Three-leg gauge: diameter of the circle through its feet, mm")
             ->type_name("D"));
  repeat(app->add_option("--reading", o->readings, "Its reading: rise of the middle over the feet, mm (repeatable)")
             ->type_name("S"));
  app->add_option("--foot-radius", o->foot_radius, "Its ball feet's radius, mm; 0: points")
      ->type_name("R")
      ->check(CLI::Range(0.0, 50.0));
  app->add_option("--gap-u", o->gap_u, "Standard uncertainty of a gap, mm; default 0.03 (feelers), 0.01 (dial)")
      ->type_name("U")
      ->check(CLI::Range(1e-4, 5.0));
  app->add_option("--points", o->points, "Heights: CSV x_mm,y_mm,z_mm, machine frame, z up")->type_name("FILE.csv");
  app->add_option("--scan", o->scan, "Scan: PLY, STL or OBJ, up to 10 million points")->type_name("FILE");
  app->add_option("--units", o->units, "Of the points or the scan; default mm")->check(CLI::IsMember(unit_names));
  app->add_option("--positive-is", o->positive_is, "low: the gauge counts downwards; default high")
      ->check(CLI::IsMember({"high", "low"}));
  repeat(app->add_option("--known", o->known,
                         "Two points of the scan and their true distance in mm: X1,Y1,Z1,X2,Y2,Z2,D (repeatable; best "
                         "two at right angles)")
             ->type_name("X1,..,D"));
  repeat(app->add_option("--known-holes", o->known_holes,
                         "Two holes of the scan (a point inside each) and the true distance of their centres in mm")
             ->type_name("X1,Y1,X2,Y2,D"));
  app->add_option("--known-u", o->known_u, "Standard uncertainty of a known length, mm; default 0.05")
      ->type_name("U")
      ->check(CLI::Range(1e-4, 5.0));
  app->add_option("--origin", o->origin, "Point of the scan that is the machine's X = Y = 0")->type_name("X,Y,Z");
  app->add_option("--on-x", o->on_x, "Point of the scan to the right of it, on +X")->type_name("X,Y,Z");
  app->add_option("--on-plane", o->on_plane, "Point of the scan to the rear, in the XY plane")->type_name("X,Y,Z");
  app->add_option("--origin-at", o->origin_at, "Where the origin point lies in the machine instead of 0,0, mm")
      ->type_name("X,Y");
  app->add_flag("--level", o->level,
                "Turn the points so that the corners of the hole pattern (or of the points) are level");
  app->add_option("--region", o->region,
                  "Use this part only: box X0,Y0,X1,Y1 or polygon X,Y,X,Y,X,Y,... in mm, machine frame")
      ->type_name("X,Y,..");
  app->add_option("--crown", o->crown, "up or down: how the sheet is installed, instead of what the kit states")
      ->check(CLI::IsMember({"up", "down"}));
  app->add_option("--measured-on", o->measured_on,
                  "Face that was measured; default what the kit states, else underside")
      ->check(CLI::IsMember({"underside", "upper"}));
  app->add_option("--kit", o->kit, "Kit with hole pattern, screws and stated crown")->type_name("KIT.json");
  app->add_option("--write", o->write, "Write the dome into this kit; nothing else in the file changes")
      ->type_name("KIT.json");
  app->add_option("--picture", o->picture, "Residual map and sections")->type_name("FILE.svg");
  app->footer(
      "Examples:\n"
      "  bedwright survey --straightedge 200 --gap 1.9 --along x --gap 1.95 --along y --gap 1.9 --along d1 --gap 1.9 "
      "--along d2\n"
      "  bedwright survey --points heights.csv --kit my-machine.json --picture map.svg\n"
      "  bedwright survey --scan frame.ply --units m --level --region -120,-120,120,120 \\\n"
      "      --known -0.1,0,0,0.1,0,0,200.6 --known 0,-0.1,0,0,0.1,0,200.4 --write my-machine.json\n\n"
      "Scan coordinates in --known, --origin, --on-x and --on-plane are the file's own, in --units. With decimal "
      "commas\n"
      "part the numbers by semicolons. Exit status 1: the measurements contradict what the kit states; nothing "
      "written.");
  return {app, [o](Streams& streams) { return run_survey(streams, *o); }};
}

}  // namespace bedwright
