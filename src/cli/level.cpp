// bedwright level: from a bed map to the right shims.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/delimited.h"
#include "base/error.h"
#include "base/json_edit.h"
#include "base/numbers.h"
#include "base/sha256.h"
#include "cli/run.h"
#include "output/level_advice.h"
#include "output/level_picture.h"
#include "output/level_report.h"
#include "output/level_sheet.h"
#include "output/write_set.h"
#include "survey/kit_bed_map.h"
#include "survey/orient_map.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct LevelOptions {
  KitOptions kit;
  std::vector<std::string> maps, known, after;
  std::string before, extent, probed, stock, previous, soft_foot, out, date, picture;
  double most_shim_mm = 2, most_gap_mm = 0.05;
  bool rms = false, write = false;
};

constexpr std::size_t largest_result_bytes = std::size_t(64) << 20;
constexpr double same_mm = 1e-4;

std::vector<double> numbers_of(const std::string& text, const std::string& option, std::size_t count) {
  std::vector<double> values;
  for (std::size_t i = 0; i <= text.size();) {
    const std::size_t end = std::min(text.find(',', i), text.size());
    double value = 0;
    if (!read_number(text.substr(i, end - i), false, value))
      throw BadUsage(option + " " + text + ": write numbers parted by commas, in millimetres");
    values.push_back(value);
    i = end + 1;
  }
  if (count > 0 && values.size() != count)
    throw BadUsage(option + " " + text + ": " + std::to_string(count) + " numbers are needed");
  return values;
}

BedMap read_map(const std::string& path, const LevelOptions& options) {
  std::optional<GridExtent> extent;
  if (!options.extent.empty()) {
    const auto v = numbers_of(options.extent, "--extent", 4);
    extent = GridExtent{{v[0], v[1]}, {v[2], v[3]}};
  }
  return read_bed_map(read_file(path, largest_table_bytes), path, extent);
}

MapReading find_reading(const LevelOptions& options, const Kit& kit, const std::vector<Mount>& mounts, Vec2 bed) {
  if (options.known.empty()) {
    if (kit.bed_map.is_null())
      throw BadUsage(
          "which way up and which way round this machine's maps are is not known, and is never guessed. Take a map, "
          "put "
          "a shim of known thickness (0.4 mm) under one corner, take another, and give: --known-shim front-left=0.4 "
          "--before FIRST --after SECOND (a square map needs the same again at a corner next to it). Or state it in "
          "the "
          "kit: \"bed_map\": { \"positive_is\": \"high\", \"turned_deg\": 0, \"mirrored\": false }");
    return {convention_of(kit.bed_map), "the kit says so"};
  }
  if (options.before.empty() || options.after.size() != options.known.size())
    throw BadUsage("--known-shim needs --before (the map without the shim) and one --after for each known shim");
  const BedMap before = read_map(options.before, options);
  std::vector<KnownShim> shims;
  std::vector<Vec2> at;
  for (const Mount& m : mounts) at.push_back(m.at);
  for (std::size_t k = 0; k < options.known.size(); ++k) {
    const std::string& text = options.known[k];
    const std::size_t equals = text.find('=');
    double mm = 0;
    if (equals == std::string::npos || !read_number(text.substr(equals + 1), false, mm) || mm <= 0 || mm > 5)
      throw BadUsage("--known-shim " + text + ": write MOUNT=MM, for example front-left=0.4 (more than 0, at most 5)");
    const std::string id = text.substr(0, equals);
    shims.push_back({id, static_cast<int>(mount_index(mounts, id, "--known-shim")), mm, before,
                     read_map(options.after[k], options)});
  }
  Vec2 centre{};
  if (!kit.bed_map.is_null()) centre = convention_of(kit.bed_map).centre_mm;
  std::optional<Vec2> probed;
  if (!options.probed.empty()) {
    const auto v = numbers_of(options.probed, "--probed", 2);
    if (v[0] <= 0 || v[1] <= 0) throw BadUsage("--probed " + options.probed + ": two lengths above 0 are needed");
    probed = Vec2{v[0], v[1]};
  }
  const Orientation found = find_orientation(shims, at, bed, centre, probed);
  if (!found.found) throw BadInput(options.after.back(), {{"", "", "this map cannot be read safely", found.why}});
  if (!kit.bed_map.is_null()) {
    const MapConvention stated = convention_of(kit.bed_map), &c = *found.found;
    if (stated.positive_high != c.positive_high || stated.quarter_turns != c.quarter_turns ||
        stated.mirrored != c.mirrored)
      throw BadInput(options.kit.kit_path,
                     {{"/bed_map", "", "says otherwise than the known shim shows",
                       spoken(c) + ": " + found.why + ". Correct the kit, or take the maps again"}});
  }
  return {*found.found, found.why};
}

std::vector<FootAdvice> soft_foot_of(const LevelOptions& options, const Kit& kit, const std::vector<Mount>& mounts) {
  if (options.soft_foot.empty()) return judge_soft_foot(foot_gaps_in_kit(kit, mounts), foot_pad_mm);
  std::vector<std::string> ids;
  for (const Mount& m : mounts) ids.push_back(m.id);
  return judge_soft_foot(read_soft_foot(read_file(options.soft_foot, largest_table_bytes), options.soft_foot, ids),
                         foot_pad_mm);
}

/// Advice for one set of mounts.
LevelReport advise(const LevelOptions& options, const Kit& kit, const BedMap& map, const MapReading& reading,
                   const std::vector<Mount>& mounts, const std::string& shim_at) {
  LevelWishes wishes;
  if (!options.stock.empty()) wishes.stock_mm = numbers_of(options.stock, "--stock", 0);
  wishes.most_shim_mm = options.most_shim_mm;
  wishes.most_gap_mm = options.most_gap_mm;
  wishes.rms = options.rms;
  LevelReport report = level_question(kit, map, reading, mounts, shim_at, wishes);
  report.map_date = options.date;
  LevelInput& in = report.input;
  if (!options.previous.empty()) {
    std::vector<double> advised;
    const Foretold foretold =
        read_foretold(read_file(options.previous, largest_result_bytes), options.previous, mounts, advised);
    const bool told = shims_in_kit(kit, mounts, shim_at == "carriages").has_value();
    for (std::size_t i = 0; told && i < mounts.size(); ++i)
      if (std::fabs(advised[i] - in.now_mm[i]) > same_mm)
        throw BadUsage(
            "--previous " + options.previous + " advised " + decimal(advised[i], 3) + " mm under " + mounts[i].id +
            ", the kit's bed_map.shims say " + decimal(in.now_mm[i], 3) +
            ": what was foretold holds only for the shims advised; correct the kit, or leave --previous out");
    in.now_mm = advised;
    report.loop = compare_with_foretold(foretold, in);
    in.factor = report.loop->factor;
    in.factor_u = report.loop->factor_u;
  }
  report.result = level_bed(in);
  return report;
}

void write_kit(const LevelOptions& options, const MapReading& reading, const LevelReport* report, Streams& streams) {
  std::string text = read_file(options.kit.kit_path, largest_kit_bytes);
  const Json before = Json::parse(text);
  using Value = nlohmann::ordered_json;
  Value shims = Value::array();
  if (report)
    for (std::size_t i = 0; i < report->input.mounts.size(); ++i)
      shims.push_back(
          {{"mount", report->input.mounts[i].id}, {"shim_mm", rounded_length(report->result.plan.shim_mm[i])}});
  if (!before.contains("bed_map")) {
    Value block = {{"positive_is", reading.convention.positive_high ? "high" : "low"},
                   {"turned_deg", 90 * reading.convention.quarter_turns},
                   {"mirrored", reading.convention.mirrored}};
    if (report) block["shims"] = shims;
    text = with_value_at(text, "/bed_map", block);
  } else if (report) {
    text = with_value_at(text, "/bed_map/shims", shims);
  }
  // What is written must read.
  const std::string folder = fs::path(options.kit.kit_path).parent_path().string();
  (void)read_kit(text, options.kit.kit_path, folder.empty() ? "." : folder);
  write_file(options.kit.kit_path, text);
  streams.err << "Written to " << options.kit.kit_path << ": bed_map\n";
}

void require_date(const LevelOptions& options) {
  const std::string& d = options.date;
  const bool good = !d.empty() && d.size() <= 16 && std::all_of(d.begin(), d.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '-' || c == '.' ||
           c == '/';
  });
  if (!good && (!d.empty() || !options.out.empty()))
    throw BadUsage(d.empty() ? "--out needs --map-date, for the marks on the shims: --map-date 2026-11-25"
                             : "--map-date " + d + ": up to 16 letters, digits, - . /");
}

int run_level(Streams& streams, const LevelOptions& options) {
  require_date(options);
  if (!(options.most_shim_mm > 0 && options.most_shim_mm <= 10))
    throw BadUsage("--most-shim: more than 0 and at most 10 mm");
  if (!(options.most_gap_mm >= 0 && options.most_gap_mm <= 1)) throw BadUsage("--most-gap: from 0 to 1 mm");
  const Kit kit = read_kit_with(options.kit);
  const bool kits_own = options.maps.empty() && options.known.empty() && options.soft_foot.empty();
  if (kits_own && kit.bed_map_files.empty())
    throw BadUsage(
        "give a map (here, or in the kit's bed_map.files), --known-shim with two maps, or --soft-foot with a log");
  const Layout layout = settle(kit);
  std::vector<std::string> sets = shim_places(kit);
  const auto mounts_of = [&](const std::string& set) { return mounts_at(kit, layout, set); };
  const std::vector<Mount> first_mounts = mounts_of(sets[0]);
  if (first_mounts.size() < 3)
    throw BadInput(options.kit.kit_path,
                   {{"/frame/bed_mounts", "", "a bed that shims can level needs three mounts or more", ""}});

  const std::vector<FootAdvice> feet = soft_foot_of(options, kit, first_mounts);
  if (!kits_own && options.maps.empty() && options.known.empty()) {
    streams.out << (streams.json
                        ? Json{{"format", "bedwright/level/1"}, {"soft_foot", soft_foot_json(feet)}}.dump(2) + "\n"
                        : soft_foot_text(feet));
    return exit_done;
  }
  std::vector<std::string> unsaid;
  const MapReading reading = find_reading(options, kit, first_mounts, bed_size(kit, first_mounts, unsaid));
  if (!kits_own && options.maps.empty()) {
    if (options.write) write_kit(options, reading, nullptr, streams);
    streams.out << (streams.json
                        ? Json{{"format", "bedwright/level/1"}, {"reading", reading_document(reading)}}.dump(2) + "\n"
                        : reading_text(reading));
    return exit_done;
  }
  std::vector<BedMap> maps;
  for (const std::string& path : options.maps) maps.push_back(read_map(path, options));
  const BedMap map = kits_own ? *bed_map_of(kit) : together(maps);

  if (!options.previous.empty()) {
    // The loop goes on where it began.
    const Json result = Json::parse(read_file(options.previous, largest_result_bytes), nullptr, false);
    if (result.is_object() && result.contains("shim_at"))
      sets.erase(std::remove_if(sets.begin(), sets.end(), [&](const std::string& s) { return result["shim_at"] != s; }),
                 sets.end());
    if (sets.empty())
      throw BadUsage("--previous " + options.previous +
                     " put shims where the kit's bed_map.shim_at does not want them");
  }
  std::optional<LevelReport> best;
  for (const std::string& set : sets) {
    LevelReport report = advise(options, kit, map, reading, mounts_of(set), set);
    if (!best || flatter(report, *best)) best = std::move(report);
  }
  LevelReport& report = *best;
  report.soft_foot = feet;
  if (report.map_date.empty() && kits_own) report.map_date = kit.bed_map.value("on", "");

  std::optional<ShimSheet> sheet;
  if (!options.out.empty() && !report.result.leave_it) sheet = make_shim_sheet(kit, layout, report);
  if (sheet && has_error(sheet->report.findings)) {
    streams.out << (streams.json ? to_json(sheet->report) : to_text(sheet->report));
    streams.err << "Nothing was written: there are findings at error level.\n";
    return exit_findings;
  }
  if (sheet) {
    write_set(options.out, sheet->files);
    for (const auto& [name, bytes] : sheet->files) {
      const std::string path = (fs::path(options.out) / name).string();
      if (sha256(read_file(path, std::size_t(256) << 20)) != sha256(bytes))
        throw FileError(path, "does not read back as it was written; check the disk");
    }
  }
  if (!options.picture.empty()) write_file(options.picture, level_picture_svg(report));
  if (options.write) write_kit(options, reading, report.result.leave_it ? nullptr : &report, streams);

  if (streams.json) {
    Json document = level_document(report);
    if (sheet) document["sheet"] = {{"files", sheet->report.files}, {"placed", sheet->placed}};
    streams.out << document.dump(2) << "\n";
    return exit_done;
  }
  streams.out << level_text(report);
  if (sheet) {
    streams.out << "Sheet: " << (fs::path(options.out) / "shims-sheet.stl").string() << "\n";
    for (const std::string& line : sheet->placed) streams.out << "  " << line << "\n";
    for (const PartReport& part : sheet->report.parts)
      for (const std::string& line : part.part.statements) streams.out << "  " << part.part.id << ": " << line << "\n";
  }
  if (report.result.leave_it && !options.out.empty())
    streams.err << "No shims were written: there is nothing to gain.\n";
  return exit_done;
}

}  // namespace

Command add_level(CLI::App& program) {
  auto options = std::make_shared<LevelOptions>();
  CLI::App* app =
      program.add_subcommand("level", "From a bed map to shims: which, where, and what the next map will show");
  app->add_option(
      "MAP", options->maps,
      "Bed map: x,y,z rows, a grid with --extent, or text from a screen; several are repeats. Without one: the "
      "kit's bed_map.files");
  app->add_option("--kit", options->kit.kit_path, "The kit file")->required()->type_name("KIT.json");
  app->add_option("--set", options->kit.settings, "Change one value before checking (repeatable)")
      ->type_name("PTR=VALUE")
      ->allow_extra_args(false);
  app->add_option("--extent", options->extent,
                  "For a grid: places of its first and its last number, in the map's own x and y")
      ->type_name("X0,Y0,X1,Y1");
  app->add_option("--known-shim", options->known,
                  "Find sign, turning and mirroring from a shim put under this mount (repeatable)")
      ->type_name("MOUNT=MM")
      ->allow_extra_args(false);
  app->add_option("--before", options->before, "Map without the known shim")->type_name("MAP");
  app->add_option("--after", options->after, "Map with the known shim; one for each --known-shim, in their order")
      ->type_name("MAP")
      ->allow_extra_args(false);
  app->add_option("--probed", options->probed,
                  "How wide (machine X) and how deep (Y) the probed area is, if you know: one known shim then does "
                  "for an oblong grid on a square bed")
      ->type_name("WIDTH,DEPTH");
  app->add_option("--stock", options->stock, "Shims at hand, used in place of printed ones; up to three are stacked")
      ->type_name("MM,MM");
  app->add_option("--most-shim", options->most_shim_mm, "Greatest thickness under one mount; default 2 mm")
      ->type_name("MM");
  app->add_option("--most-gap", options->most_gap_mm,
                  "Greatest seating gap a rigid bed may be left with; default 0.05 mm")
      ->type_name("MM");
  app->add_flag("--rms", options->rms, "Make the root mean square least, not the range");
  app->add_option("--previous", options->previous,
                  "What `level --json` printed before these shims went in: compare, and learn")
      ->type_name("RESULT.json");
  app->add_option("--soft-foot", options->soft_foot,
                  "Log of gaps, one mount loosened at a time: mount, gap (or front, rear, left, right)")
      ->type_name("CSV");
  app->add_option("--out", options->out, "Make the shims: a folder with one STL each and one of the whole sheet")
      ->type_name("DIR");
  app->add_option("--map-date", options->date, "Date of the map, for the marks: 2026-11-25")->type_name("DATE");
  app->add_option("--picture", options->picture, "Draw the map before and after")->type_name("FILE.svg");
  app->add_flag("--write", options->write,
                "Write the shims (and how maps are to be read, once found) into the kit's bed_map");
  app->footer(
      "Examples:\n"
      "  bedwright level --kit my-machine.json --known-shim front-left=0.4 --before plain.csv --after shimmed.csv "
      "--write\n"
      "  bedwright level warm-1.csv warm-2.csv warm-3.csv --kit my-machine.json --out shims --map-date 2026-11-25\n"
      "  bedwright level screen.txt --extent 20,20,220,220 --kit my-machine.json --picture map.svg\n"
      "  bedwright level next.csv --kit my-machine.json --previous first.json\n\n"
      "Take maps warm, and three or more of them. Shims raise the bed where they stand.");
  return {app, [options](Streams& streams) { return run_level(streams, *options); }};
}

}  // namespace bedwright
