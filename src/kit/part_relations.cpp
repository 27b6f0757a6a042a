#include "kit/part_relations.h"

#include <algorithm>
#include <cmath>

#include "kit/expand.h"
#include "kit/hardware.h"
#include "kit/machine_relations.h"
#include "kit/pointer.h"
#include "kit/slips.h"

namespace bedwright {
namespace {

constexpr double most_pieces = 5000;  // on all print beds: some seconds of laying out

/// One part, with what its checks need.
struct Entry {
  const View& view;
  std::string pointer;
  std::vector<Problem>& problems;

  std::string at(const std::string& key) const { return child(pointer, key); }
  std::optional<double> number(const std::string& key) const { return view.number(at(key)); }
  std::optional<std::string> text(const std::string& key) const { return view.text(at(key)); }
  std::optional<Vec2> pair(const std::string& key) const { return view.pair(at(key)); }
  bool has(const std::string& key) const { return find_at(view.document(), at(key)) != nullptr; }
  void add(const std::string& key, const std::string& message, const std::string& hint = "") const {
    add_problem(problems, view.document(), at(key), message, hint);
  }
  void need(const std::string& key, const std::string& why, const std::string& hint = "") const {
    if (!has(key)) add(key, "`" + key + "` is missing: " + why, hint);
  }
};

bool derived_per_placement(const Json& part) {
  return part.value("family", Json()) == "adapter_plate" || part.value("seat", Json()) == "frame";
}

void ids(const View& view, std::vector<Problem>& problems) {
  constexpr std::size_t longest_base = 46;  // "-a" must still fit into 48
  const std::string list = "/parts";
  std::vector<std::pair<std::string, std::string>> derived, plain;  // id, pointer
  for (std::size_t i = 0; i < view.count(list); ++i) {
    const std::string part = child(list, i);
    const auto id = view.text(part + "/id");
    if (!id) continue;
    const auto same = [&](const auto& other) { return other.first == *id; };
    if (std::any_of(derived.begin(), derived.end(), same) || std::any_of(plain.begin(), plain.end(), same)) {
      add_problem(problems, view.document(), part + "/id",
                  "two parts have this id, so one file would overwrite the other", "give one of them another id");
      continue;
    }
    const bool many = derived_per_placement(*find_at(view.document(), part));
    (many ? derived : plain).push_back({*id, part + "/id"});
    if (many && id->size() > longest_base) {
      add_problem(problems, view.document(), part + "/id",
                  "has " + std::to_string(id->size()) + " letters; with -a, -b, ... behind it at most " +
                      std::to_string(longest_base) + " fit",
                  "shorten it");
    }
  }
  std::vector<std::pair<std::string, std::string>> all = plain;
  all.insert(all.end(), derived.begin(), derived.end());
  for (const auto& [base, unused] : derived) {
    for (const auto& [id, pointer] : all) {
      for (const char* suffix : {"-a", "-b", "-c", "-d"}) {
        if (id == base + suffix) {
          add_problem(problems, view.document(), pointer,
                      "is the name that a piece of `" + base + "` gets (" + base + "-a, -b, ...)",
                      "give one of them another id");
        }
      }
    }
  }
}

void quantity(const Entry& part) {
  const auto quantity = part.number("quantity");
  const Json* placements = part.view.find(part.at("placements"));
  if (!quantity || !placements || *quantity == static_cast<double>(placements->size())) return;
  part.add("quantity", "but placements lists " + std::to_string(placements->size()),
           "leave quantity out, or make the two agree");
}

std::vector<std::string> threads_with_inserts() {
  std::vector<std::string> threads;
  for (const std::string& id : hardware_ids("inserts")) {
    const std::string thread = find_insert(id)->thread;
    if (std::find(threads.begin(), threads.end(), thread) == threads.end()) threads.push_back(thread);
  }
  return threads;
}

/// The insert that the plate gets: the one named, else the standard one of the frame screw.
const InsertSize* insert_of(const Entry& part) {
  if (part.has("insert")) {
    const auto id = part.text("insert");
    return id ? find_insert(*id) : nullptr;
  }
  const auto screw = part.text("frame_screw");
  if (!screw) return nullptr;
  std::string id = *screw + "-standard";
  std::replace(id.begin(), id.end(), '.', '-');
  id[0] = 'm';
  return find_insert(id);
}

/// A screw must pass the sheet's holes, and a pad must be wider than they are.
void adapter_and_frame_holes(const Entry& part) {
  const Json* pattern = part.view.find("/frame/hole_pattern");
  if (!pattern) return;
  const auto screw = part.text("frame_screw");
  const ThreadSize* thread = screw ? find_thread(*screw) : nullptr;
  const auto pad = part.text("seat") == "pads" ? part.number("pad_diameter_mm") : std::nullopt;
  const bool listed = pattern->value("kind", "") == "listed";
  const std::vector<FrameHole> holes = expand_pattern(*pattern);
  for (std::size_t i = 0; i < holes.size(); ++i) {
    const double diameter = holes[i].diameter_mm;
    if (thread && diameter < thread->diameter_mm) {
      const std::string pointer =
          listed ? child("/frame/hole_pattern/holes", i) + "/diameter_mm" : "/frame/hole_pattern/diameter_mm";
      const bool radius = 2 * diameter >= thread->diameter_mm && 2 * diameter <= 1.5 * thread->diameter_mm;
      add_problem(part.problems, part.view.document(), pointer,
                  "an " + *screw + " frame screw (" + part.at("frame_screw") + ") does not pass this hole",
                  radius ? "is this the radius? diameter_mm would be " + number_text(2 * diameter)
                         : "drill it to " + number_text(thread->clearance_medium_mm) + " mm or use a thinner screw");
    }
    if (pad && *pad <= diameter) {
      part.add("pad_diameter_mm",
               "the sheet's hole is " + number_text(diameter) + " mm wide, so such a pad bears nothing",
               "make it at least " + number_text(diameter + 4) + " mm");
    }
    if (!listed) return;
  }
}

void adapter_plate(const Entry& part) {
  const auto carriage = carriage_of(part.view);
  const auto carriage_screw = part.text("carriage_screw");
  if (carriage && carriage_screw && *carriage_screw != carriage->thread) {
    part.add("carriage_screw", "the carriage has " + carriage->thread + " threads",
             "did you mean " + carriage->thread + "? If yours differ, set /carriages/thread");
  }
  const auto frame_screw = part.text("frame_screw");
  const InsertSize* insert = insert_of(part);
  if (frame_screw && insert && insert->thread != *frame_screw) {
    part.add("insert", "takes an " + insert->thread + " screw, but frame_screw is " + *frame_screw,
             "write \"frame_screw\": \"" + insert->thread + "\" or choose another insert");
  }
  if (frame_screw && !insert && !part.has("insert")) {
    part.add("frame_screw", "no insert is known for " + *frame_screw,
             "inserts come for " + any_of_text(threads_with_inserts()));
  }
  const auto boss = part.number("boss_diameter_mm"), height = part.number("boss_height_mm");
  if (boss && height && *height > 0 && insert && *boss <= insert->outer_mm) {
    const bool radius = 2 * *boss > insert->outer_mm + insert->least_wall_mm;
    part.add("boss_diameter_mm", "the insert alone is " + number_text(insert->outer_mm) + " mm wide",
             (radius ? "is this the radius? " : "") + std::string("usual is ") + number_text(insert->boss_mm) + " mm");
  }
  adapter_and_frame_holes(part);
}

/// The wall that a hole leaves must be at least one printed line.
bool thin_wall(const Entry& part, double wall) {
  return wall < part.view.number("/printer/line_mm").value_or(0);
}

std::string wall_message(const Entry& part, double wall) {
  const std::string line = number_text(part.view.number("/printer/line_mm").value_or(0));
  if (wall <= 0) return "does not fit inside the outline";
  return "leaves a wall of " + number_text(wall) + " mm; the printer's line is " + line + " mm wide";
}

/// Hole in the middle of a round part.
void round_with_hole(const Entry& part) {
  const auto outer = part.number("outer_mm"), hole = part.number("hole_mm");
  if (!outer || !hole) return;
  const double wall = (*outer - *hole) / 2;
  if (!thin_wall(part, wall)) return;
  std::string hint = "make outer_mm larger or hole_mm smaller";
  if (*hole > *outer && *hole <= 300) hint = "are hole_mm and outer_mm swapped?";
  if (wall <= 0 && *outer > *hole / 2 && !thin_wall(part, (2 * *outer - *hole) / 2) && *hole - *outer < 0.5 * *outer) {
    hint += "; both are diameters, not radii";
  }
  part.add("hole_mm", wall_message(part, wall) + " (outer_mm " + number_text(*outer) + ")", hint);
}

/// Least material between a hole and the edge of the part's rectangle.
double wall_in_rectangle(Vec2 size, Vec2 at, double diameter) {
  return std::min(size.x / 2 - std::fabs(at.x), size.y / 2 - std::fabs(at.y)) - diameter / 2;
}

void rectangle_corner(const Entry& part) {
  const auto size = part.pair("size_mm");
  const auto radius = part.number("corner_radius_mm");
  if (!size || !radius || *radius <= std::min(size->x, size->y) / 2) return;
  part.add("corner_radius_mm", "is more than half the shorter side of size_mm " + pair_text(*size),
           "at most " + number_text(std::min(size->x, size->y) / 2));
}

void spacer_holes(const Entry& part, bool round) {
  const auto outer = part.number("outer_mm");
  const auto size = part.pair("size_mm");
  const auto hole = part.number("hole_mm");
  if (hole && round) round_with_hole(part);
  if (hole && !round && size && thin_wall(part, wall_in_rectangle(*size, {}, *hole))) {
    part.add("hole_mm",
             wall_message(part, wall_in_rectangle(*size, {}, *hole)) + " (size_mm " + pair_text(*size) + ")");
  }
  for (std::size_t i = 0; i < part.view.count(part.at("holes")); ++i) {
    const std::string entry = child(part.at("holes"), i);
    const auto at = part.view.pair(entry + "/at_mm");
    const auto diameter = part.view.number(entry + "/diameter_mm");
    if (!at || !diameter) continue;
    double wall = 1e9;
    if (round && outer) wall = *outer / 2 - length(*at) - *diameter / 2;
    if (!round && size) wall = wall_in_rectangle(*size, *at, *diameter);
    if (!thin_wall(part, wall)) continue;
    const bool swapped = !round && size && !thin_wall(part, wall_in_rectangle(*size, {at->y, at->x}, *diameter));
    add_problem(
        part.problems, part.view.document(), entry + "/at_mm",
        "this hole of " + number_text(*diameter) + " mm " + wall_message(part, wall),
        swapped ? "did you mean " + pair_text({at->y, at->x}) + "?" : "positions count from the spacer's centre");
  }
}

void fits_bed(const Entry& part) {
  const Json* bed = part.view.find("/printer/bed_mm");
  if (!bed) return;
  const double x = (*bed)[0].get<double>(), y = (*bed)[1].get<double>(), longest = std::max(x, y);
  const auto outer = part.number("outer_mm");
  if (outer && *outer > std::min(x, y)) {
    part.add("outer_mm", "is wider than the printer's bed, " + number_text(std::min(x, y)) + " mm",
             unit_slip("outer_mm", *outer, 6, 60));
  }
  const auto size = part.pair("size_mm");
  if (size && std::max(size->x, size->y) > longest) {
    part.add("size_mm", "is longer than the printer's bed, " + number_text(longest) + " mm",
             "split it, or check /printer/bed_mm");
  }
}

void spacer(const Entry& part) {
  const auto shape = part.text("shape");
  if (shape == "round") part.need("outer_mm", "a round spacer has an outer diameter");
  if (shape == "rectangular") {
    part.need("size_mm", "a rectangular spacer has [along X, along Y]");
    rectangle_corner(part);
  }
  if (part.has("hole_mm") && part.has("holes")) {
    part.add("holes", "`holes` stands beside hole_mm; a spacer has one of them",
             "put the centre hole into holes: {\"at_mm\": [0, 0], \"diameter_mm\": ...}");
  } else if (!part.has("holes")) {
    part.need("hole_mm", "a spacer has at least one hole", "write \"hole_mm\": 4.5, or a list `holes`");
  }
  const auto chamfer = part.number("bottom_chamfer_mm"), thickness = part.number("thickness_mm");
  if (chamfer && thickness && *chamfer >= *thickness) {
    part.add("bottom_chamfer_mm", "must be less than thickness_mm " + number_text(*thickness),
             "write 0 for no chamfer");
  }
  if (shape) spacer_holes(part, *shape == "round");
  if (part.text("seat") == "frame")
    part.need("placements", "a spacer that follows the frame must know where",
              "write \"placements\": [\"front-left\", ...]");
  fits_bed(part);
}

void shim(const Entry& part) {
  const auto outline = part.text("outline");
  if (outline == "ring" || outline == "horseshoe") {
    part.need("outer_mm", "a " + *outline + " has an outer diameter");
    part.need("hole_mm", "a " + *outline + " goes round a screw");
    round_with_hole(part);
  }
  if (outline == "rectangle") {
    part.need("size_mm", "a rectangle has [along X, along Y]");
    rectangle_corner(part);
    const auto size = part.pair("size_mm");
    const auto hole = part.number("hole_mm");
    if (size && hole && thin_wall(part, wall_in_rectangle(*size, {}, *hole))) {
      part.add("hole_mm",
               wall_message(part, wall_in_rectangle(*size, {}, *hole)) + " (size_mm " + pair_text(*size) + ")");
    }
  }
  fits_bed(part);
}


/// A bed is laid out piece by piece: a slip of some zeros would take hours.
void pieces(const View& view, std::vector<Problem>& problems) {
  double each = 0;
  for (std::size_t i = 0; i < view.count("/parts"); ++i) {
    const std::string part = child("/parts", i);
    const std::size_t places = std::max<std::size_t>(view.count(part + "/placements"), 1);
    const double one = view.text(part + "/family") == "adapter_plate" ? 4 : static_cast<double>(places);
    each += view.number(part + "/quantity").value_or(one);
  }
  const double all = each * view.number("/printer/sets").value_or(1);
  if (all <= most_pieces) return;
  problems.push_back({"/printer/sets", number_text(view.number("/printer/sets").value_or(1)),
                      "makes " + number_text(all) + " pieces in all; at most " + number_text(most_pieces) +
                          " are laid out on print beds",
                      "make fewer sets, or fewer of a part"});
}

}  // namespace

void check_parts(const View& view, std::vector<Problem>& problems) {
  ids(view, problems);
  pieces(view, problems);
  for (std::size_t i = 0; i < view.count("/parts"); ++i) {
    const Entry part{view, child("/parts", i), problems};
    const auto family = part.text("family");
    if (!family) continue;
    quantity(part);
    if (*family == "adapter_plate") adapter_plate(part);
    if (*family == "spacer") spacer(part);
    if (*family == "shim") shim(part);
  }
}

}  // namespace bedwright
