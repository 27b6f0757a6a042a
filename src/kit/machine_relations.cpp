#include "kit/machine_relations.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <set>

#include "kit/expand.h"
#include "kit/hardware.h"
#include "kit/pointer.h"
#include "kit/slips.h"

namespace bedwright {
namespace {

constexpr double ambiguous_mm = 0.01;         ///< a hole this evenly between two carriages belongs to neither
constexpr double plate_beyond_hole_mm = 30;   ///< how far a plate may reach past its farthest frame hole
constexpr double dome_reach_of_radius = 0.9;  ///< part of the radius up to which a dome is drawn

// Carriages of one size differ by some hundredths; this much is another size or a slip (common practice, no source).
constexpr double most_height_spread_mm = 1.5;

std::string plain(double value) {
  return number_text(std::round(value * 10) / 10);
}

void rails_and_carriages(const View& view, std::vector<Problem>& problems) {
  const Json& document = view.document();
  const auto rail = view.text("/rails/size"), size = view.text("/carriages/size");
  const CarriageSize* row = size ? find_carriage(*size) : nullptr;
  if (row && rail && row->rail != *rail) {
    const std::string body = size->substr(size->find_last_of('-'));
    add_problem(problems, document, "/carriages/size", "runs on " + row->rail + " rails, but rails.size is " + *rail,
                "did you mean " + *rail + body + "?");
  }
  if (view.find("/carriages/clearance_um") && view.find("/carriages/preload")) {
    add_problem(problems, document, "/carriages/preload", "stands beside clearance_um; a kit has one of them",
                "keep clearance_um if you measured it");
  }
  const auto carriage = carriage_of(view);
  if (!carriage) return;
  const auto pitch = view.number("/rails/pitch_mm"), spacing = view.number("/carriages/spacing_mm");
  if (pitch && *pitch < carriage->width_mm) {
    std::string hint = unit_slip("pitch_mm", *pitch, 60, 400);
    if (hint.empty()) hint = "measure from centre line to centre line of the two rails";
    add_problem(problems, document, "/rails/pitch_mm",
                "the carriages are " + number_text(carriage->width_mm) +
                    " mm wide and would run into each other; at least " + number_text(carriage->width_mm) + " mm",
                hint);
  }
  if (spacing && *spacing < carriage->length_mm) {
    std::string hint = unit_slip("spacing_mm", *spacing, 50, 300);
    if (hint.empty()) hint = "measure from centre to centre of the two carriages on one rail";
    add_problem(problems, document, "/carriages/spacing_mm",
                "the carriages are " + number_text(carriage->length_mm) +
                    " mm long and would run into each other; at least " + number_text(carriage->length_mm) + " mm",
                hint);
  }
  const double across = carriage->hole_across_mm, along = carriage->hole_along_mm;
  if (view.find("/carriages/hole_pitch_mm") && (across >= carriage->width_mm || along >= carriage->length_mm)) {
    const bool swapped = along < carriage->width_mm && across < carriage->length_mm;
    add_problem(problems, document, "/carriages/hole_pitch_mm",
                "does not fit on a carriage " + number_text(carriage->width_mm) + " mm wide and " +
                    number_text(carriage->length_mm) + " mm long",
                swapped ? "did you mean " + pair_text({along, across}) + "? It is [across the rail, along it]" : "");
  }
}

struct Assigned {
  std::size_t carriage = 0;
  double distance_mm = 0;
  bool ambiguous = false;
};

std::array<Vec2, 4> carriage_centres(double pitch, double spacing) {
  return {Vec2{-pitch / 2, -spacing / 2}, Vec2{pitch / 2, -spacing / 2}, Vec2{-pitch / 2, spacing / 2},
          Vec2{pitch / 2, spacing / 2}};
}

Assigned assign(const std::array<Vec2, 4>& carriages, Vec2 hole) {
  Assigned best;
  best.distance_mm = length(hole - carriages[0]);
  double second = 1e300;
  for (std::size_t i = 1; i < carriages.size(); ++i) {
    const double distance = length(hole - carriages[i]);
    if (distance < best.distance_mm) {
      second = best.distance_mm;
      best.carriage = i;
      best.distance_mm = distance;
    } else {
      second = std::min(second, distance);
    }
  }
  best.ambiguous = second - best.distance_mm < ambiguous_mm;
  return best;
}

bool all_within(const std::array<Vec2, 4>& carriages, const std::vector<FrameHole>& holes, double reach) {
  return std::all_of(holes.begin(), holes.end(), [&](const FrameHole& hole) {
    const Assigned a = assign(carriages, hole.at_mm);
    return !a.ambiguous && a.distance_mm <= reach;
  });
}

/// What a slip in a rectangular pitch might have been, if undoing it brings every hole into reach.
std::string pitch_hint(const Json& pattern, const std::array<Vec2, 4>& carriages, double reach) {
  if (pattern.value("kind", "") != "rectangular") return "";
  const Vec2 pitch{pattern["pitch_mm"][0].get<double>(), pattern["pitch_mm"][1].get<double>()};
  struct Guess {
    Vec2 pitch;
    const char* why;
  };
  const Guess guesses[] = {{{pitch.y, pitch.x}, "it is [left to right, front to rear]"},
                           {25.4 * pitch, "it is in millimetres, this looks like inches"},
                           {10 * pitch, "it is in millimetres, this looks like centimetres"},
                           {0.5 * pitch, "it is from hole to hole, not twice that"},
                           {2 * pitch, "it is from hole to hole, not from the centre"}};
  for (const Guess& guess : guesses) {
    Json changed = pattern;
    changed["pitch_mm"] = {guess.pitch.x, guess.pitch.y};
    if (all_within(carriages, expand_pattern(changed), reach)) {
      return "did you mean " + pair_text(guess.pitch) + "? " + guess.why;
    }
  }
  return "";
}

/// Where a hole's place is told: its own entry, or the number that sets the whole pattern.
std::string place_pointer(const Json& pattern, std::size_t hole, bool ambiguous) {
  const std::string base = "/frame/hole_pattern";
  const std::string kind = pattern.value("kind", "");
  if (kind == "listed") return child(base + "/holes", hole) + "/at_mm";
  if (kind == "bolt_circle") return base + (ambiguous ? "/start_deg" : "/circle_mm");
  return base + "/pitch_mm";
}

void frame_holes(const View& view, std::vector<Problem>& problems) {
  const Json* pattern = view.find("/frame/hole_pattern");
  if (!pattern) return;
  const std::vector<FrameHole> holes = expand_pattern(*pattern);
  const bool listed = pattern->value("kind", "") == "listed";
  for (std::size_t i = 0; i < holes.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (length(holes[i].at_mm - holes[j].at_mm) >= (holes[i].diameter_mm + holes[j].diameter_mm) / 2) continue;
      add_problem(problems, view.document(),
                  listed ? child("/frame/hole_pattern/holes", i) + "/at_mm" : "/frame/hole_pattern",
                  "hole " + holes[i].id + " runs into hole " + holes[j].id, "");
      if (!listed) return;
    }
  }
  const auto pitch = view.number("/rails/pitch_mm"), spacing = view.number("/carriages/spacing_mm"),
             reach = view.number("/frame/reach_mm");
  if (!pitch || !spacing || !reach) return;
  const auto carriages = carriage_centres(*pitch, *spacing);
  const std::string slip = pitch_hint(*pattern, carriages, *reach);
  std::array<bool, 4> served{};
  std::vector<std::string> told;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    const Assigned a = assign(carriages, holes[i].at_mm);
    served[a.carriage] = true;
    const std::string pointer = place_pointer(*pattern, i, a.ambiguous);
    if (std::find(told.begin(), told.end(), pointer) != told.end()) continue;
    const std::string where = "hole " + holes[i].id + " at " + plain(holes[i].at_mm.x) + ", " + plain(holes[i].at_mm.y);
    if (a.distance_mm > *reach) {
      add_problem(
          problems, view.document(), pointer,
          where + " is " + plain(a.distance_mm) + " mm from its carriage (" + placement_ids[a.carriage] +
              "), farther than reach_mm " + number_text(*reach),
          slip.empty() ? "if that is right, set /frame/reach_mm to " + number_text(std::ceil(a.distance_mm)) : slip);
      told.push_back(pointer);
    } else if (a.ambiguous) {
      add_problem(problems, view.document(), pointer, where + " is as near to one carriage as to another",
                  slip.empty() ? "move it, or leave it out if no plate is screwed there" : slip);
      told.push_back(pointer);
    }
  }
  bool plates = false;
  for (std::size_t i = 0; i < view.count("/parts"); ++i)
    plates = plates || view.text(child("/parts", i) + "/family") == "adapter_plate";
  if (!plates || !told.empty()) return;
  for (std::size_t i = 0; i < served.size(); ++i) {
    if (!served[i]) {
      add_problem(
          problems, view.document(), "/frame/hole_pattern",
          std::string("no frame hole for the ") + placement_ids[i] + " carriage, so its adapter plate holds nothing",
          "check the positions, and that they are counted from the centre of the four carriages");
    }
  }
}

/// Radius on the underside: the sheet's thickness lies between the faces.
double underside(const View& view, double radius, double thickness) {
  if (view.text("/frame/dome/measured_on") != "upper") return radius;
  return view.text("/frame/dome/crown") == "up" ? radius - thickness : radius + thickness;
}

void dome_reach(const View& view, std::vector<Problem>& problems) {
  const Json* pattern = view.find("/frame/hole_pattern");
  const auto apex = view.pair("/frame/dome/apex_mm");
  const auto thickness = view.number("/frame/sheet_thickness_mm");
  const auto shape = view.text("/frame/dome/shape");
  if (!pattern || !apex || !thickness || !shape || shape == "flat" || shape == "measured") return;
  double farthest = 0;
  for (const FrameHole& hole : expand_pattern(*pattern)) farthest = std::max(farthest, length(hole.at_mm - *apex));
  const double needed = farthest + plate_beyond_hole_mm;
  for (const char* key : {"radius_mm", "radius_x_mm", "radius_y_mm"}) {
    const std::string pointer = child("/frame/dome", key);
    const auto radius = view.number(pointer);
    if (!radius) continue;
    const double drawn = dome_reach_of_radius * underside(view, *radius, *thickness);
    if (needed <= drawn) continue;
    std::string hint = unit_slip(key, *radius, 500, 20000);
    if (hint.empty()) hint = "`bedwright survey` works the radius out from a straightedge and a feeler gauge";
    add_problem(problems, view.document(), pointer,
                "too small: the plates reach " + plain(needed) +
                    " mm from the apex, and such a dome can be drawn only to " + plain(std::max(drawn, 0.0)) + " mm",
                hint);
  }
}

void points_path(const View& view, const Beside& beside, std::vector<Problem>& problems) {
  if (view.text("/frame/dome/shape") != "measured") return;
  const auto points = view.text("/frame/dome/points");
  if (!points || !leads_away(beside, *points)) return;
  add_problem(problems, view.document(), "/frame/dome/points", "leaves the kit's folder",
              "put the file beside the kit and write its name only");
}

void measured_carriages(const View& view, std::vector<Problem>& problems) {
  const std::string list = "/carriages/measured";
  const std::size_t count = view.count(list);
  if (count < 4) return;  // told by the schema
  std::set<std::string> ids;
  std::size_t matched[2] = {0, 0}, free = 0;
  double least = 1e300, greatest = 0;
  std::size_t highest = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const std::string one = child(list, i);
    const auto id = view.text(one + "/id"), rail = view.text(one + "/rail");
    if (id && !ids.insert(*id).second)
      add_problem(problems, view.document(), one + "/id", "this id stands in " + list + " twice",
                  "give one of them another id");
    if (rail) ++matched[*rail == "left" ? 0 : 1];
    else ++free;
    if (const auto height = view.number(one + "/height_mm")) {
      least = std::min(least, *height);
      if (*height > greatest) highest = i;
      greatest = std::max(greatest, *height);
    }
    const auto length = view.number(one + "/length_mm"), spacing = view.number("/carriages/spacing_mm");
    if (length && spacing && *length > *spacing)
      add_problem(problems, view.document(), one + "/length_mm",
                  "two such carriages would run into each other: spacing_mm is " + number_text(*spacing),
                  "measure the body, end caps included");
  }
  if (greatest - least > most_height_spread_mm)
    add_problem(problems, view.document(), child(list, highest) + "/height_mm",
                "is " + plain(greatest - least) + " mm more than another carriage's, which no shim should make up",
                "is a digit or the decimal point wrong? Measure from the rail's foot to the carriage's top");
  // Two a rail: those free to go anywhere fill up.
  const std::size_t left = std::min<std::size_t>(matched[0], 2), right = std::min<std::size_t>(matched[1], 2);
  if (left + right + free < 4)
    add_problem(problems, view.document(), list,
                std::to_string(matched[0]) + " carriages are matched to the left rail, " + std::to_string(matched[1]) +
                    " to the right; each rail takes two",
                "a carriage stays on the rail it was bought with; list two for each, or leave rail out");
}

void printer(const View& view, std::vector<Problem>& problems) {
  const auto line = view.number("/printer/line_mm");
  for (const char* key : {"layer_mm", "first_layer_mm"}) {
    const std::string pointer = child("/printer", key);
    const auto layer = view.number(pointer);
    if (!layer || !line || *layer <= *line) continue;
    add_problem(problems, view.document(), pointer,
                "a layer cannot be higher than a line is wide (line_mm " + number_text(*line) + ")",
                "are " + std::string(key) + " and line_mm swapped?");
  }
}

}  // namespace

std::optional<CarriageSize> carriage_of(const View& view) {
  const auto size = view.text("/carriages/size");
  const CarriageSize* row = size ? find_carriage(*size) : nullptr;
  if (!row) return std::nullopt;
  CarriageSize carriage = *row;
  carriage.width_mm = view.number("/carriages/width_mm").value_or(carriage.width_mm);
  carriage.length_mm = view.number("/carriages/length_mm").value_or(carriage.length_mm);
  carriage.thread = view.text("/carriages/thread").value_or(carriage.thread);
  if (const auto pitch = view.pair("/carriages/hole_pitch_mm")) {
    carriage.hole_across_mm = pitch->x;
    carriage.hole_along_mm = pitch->y;
  }
  return carriage;
}

void check_machine(const View& view, const Beside& beside, std::vector<Problem>& problems) {
  rails_and_carriages(view, problems);
  // Rails that are wrong put every hole in the wrong place: that is told once.
  frame_holes(View(view.document(), problems), problems);
  dome_reach(View(view.document(), problems), problems);
  points_path(view, beside, problems);
  measured_carriages(View(view.document(), problems), problems);
  printer(view, problems);
}

}  // namespace bedwright
