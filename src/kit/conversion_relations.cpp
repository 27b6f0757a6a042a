#include "kit/conversion_relations.h"

#include <algorithm>
#include <cmath>

#include "kit/expand.h"
#include "kit/pointer.h"
#include "kit/slips.h"

namespace bedwright {
namespace {

constexpr double least_outline_area_mm2 = 100;
constexpr double least_play_um = 1;  // of an old bearing; below that the number is in millimetres

bool cross_each_other(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const auto side = [](Vec2 p, Vec2 q, Vec2 r) { return cross(q - p, r - p); };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

void outline(const View& view, std::vector<Problem>& problems) {
  const std::string pointer = "/base/outline_mm";
  std::vector<Vec2> points;
  for (std::size_t i = 0; i < view.count(pointer); ++i) {
    const auto at = view.pair(child(pointer, i));
    if (!at) return;
    points.push_back(*at);
  }
  const std::size_t n = points.size();
  if (n < 3) return;
  double area = 0;
  for (std::size_t i = 0; i < n; ++i) area += cross(points[i], points[(i + 1) % n]) / 2;
  if (std::fabs(area) < least_outline_area_mm2) {
    add_problem(problems, view.document(), pointer, "these corners enclose hardly anything",
                "list the corners in order round the base, in millimetres");
    return;
  }
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = i + 2; k < n; ++k) {
      if ((k + 1) % n == i) continue;
      if (!cross_each_other(points[i], points[i + 1], points[k], points[(k + 1) % n])) continue;
      add_problem(problems, view.document(), child(pointer, k),
                  "the outline crosses itself between corners " + std::to_string(i) + " and " + std::to_string(k),
                  "list the corners in order round the base");
      return;
    }
}

constexpr double pieces_meet_mm = 0.01;    // what the contour command rounds to, and a little for retyping
constexpr double arc_off_mm = 0.02;        // of an arc's ends off its circle

void one_outline(const View& view, std::vector<Problem>& problems) {
  if (!find_at(view.document(), "/base")) return;
  const bool corners = find_at(view.document(), "/base/outline_mm"), pieces = find_at(view.document(), "/base/pieces");
  if (!corners && !pieces)
    add_problem(problems, view.document(), "/base/outline_mm", "`outline_mm` is missing: the base's corners in order",
                "or write pieces, as `bedwright contour --json` prints them");
  if (corners && pieces)
    add_problem(problems, view.document(), "/base/pieces", "the base has two outlines, outline_mm and pieces",
                "keep one of them");
}

void arc(const View& view, const std::string& piece, Vec2 from, Vec2 to, std::vector<Problem>& problems) {
  const auto centre = view.pair(piece + "/centre_mm");
  const auto radius = view.number(piece + "/radius_mm");
  for (const char* key : {"centre_mm", "radius_mm", "turns"})
    if (!find_at(view.document(), child(piece, key)))
      add_problem(problems, view.document(), child(piece, key), "`" + std::string(key) + "` is missing: an arc has one",
                  "or write kind line");
  if (!centre || !radius) return;
  for (const Vec2 end : {from, to}) {
    const double off = std::fabs(length(end - *centre) - *radius);
    if (off <= arc_off_mm) continue;
    add_problem(problems, view.document(), piece + "/radius_mm",
                "an end of the arc is " + number_text(std::round(length(end - *centre) * 1000) / 1000) +
                    " mm from its centre",
                "from_mm, to_mm and centre_mm must fit the radius");
    return;
  }
}

void pieces(const View& view, std::vector<Problem>& problems) {
  const std::string list = "/base/pieces";
  const std::size_t n = view.count(list);
  for (std::size_t i = 0; i < n; ++i) {
    const std::string piece = child(list, i);
    const auto from = view.pair(piece + "/from_mm"), to = view.pair(piece + "/to_mm");
    const auto next = view.pair(child(list, (i + 1) % n) + "/from_mm");
    const auto kind = view.text(piece + "/kind");
    if (!from || !to || !next || !kind) continue;
    if (length(*from - *to) < pieces_meet_mm)
      add_problem(problems, view.document(), piece + "/to_mm", "this piece ends where it begins", "leave it out");
    else if (length(*next - *to) > pieces_meet_mm)
      add_problem(problems, view.document(), piece + "/to_mm",
                  "the next piece begins " + number_text(std::round(length(*next - *to) * 1000) / 1000) +
                      " mm away, at " + pair_text(*next),
                  i + 1 == n ? "the last piece leads back to the first" : "list the pieces end to end");
    else if (*kind == "arc")
      arc(view, piece, *from, *to, problems);
  }
}

/// The rods lay on the base and under the bed.
void rods(const View& view, std::vector<Problem>& problems) {
  const auto height = view.number("/before/rod_height_mm"), diameter = view.number("/before/rod_diameter_mm"),
             bed = view.number("/before/bed_height_mm");
  if (!height) return;
  const double radius = diameter.value_or(0) / 2;
  if (*height < radius)
    add_problem(problems, view.document(), "/before/rod_height_mm",
                "the rod would lie in the base: its middle is less than half its diameter above it",
                "measure from the face of the base to the rod's middle");
  if (bed && *height + radius >= *bed)
    add_problem(problems, view.document(), "/before/rod_height_mm",
                "the rod would reach the bed's top, " + number_text(*bed) + " mm above the base",
                "both heights count from the base's face that the rails will lie on");
}

void areas(const View& view, const std::string& list, std::vector<Problem>& problems) {
  for (std::size_t i = 0; i < view.count(list); ++i) {
    const auto low = view.pair(child(list, i) + "/min_mm"), high = view.pair(child(list, i) + "/max_mm");
    if (!low || !high || (low->x < high->x && low->y < high->y)) continue;
    add_problem(problems, view.document(), child(list, i) + "/max_mm",
                "must be greater than min_mm " + pair_text(*low) + " in both",
                low->x > high->x || low->y > high->y ? "are min_mm and max_mm swapped?" : "the area has no size");
  }
}

void ends(const View& view, std::vector<Problem>& problems) {
  const auto length = view.number("/rails/length_mm");
  if (const auto stops = view.pair("/rails/stops_mm"); stops && length && stops->x + stops->y >= *length)
    add_problem(problems, view.document(), "/rails/stops_mm",
                "the stops leave nothing of a rail " + number_text(*length) + " mm long",
                "count each from its own end of the rail");
  for (std::size_t i = 0; i < view.count("/rails/pads"); ++i) {
    const std::string pad = child("/rails/pads", i);
    const auto from = view.number(pad + "/from_mm"), to = view.number(pad + "/to_mm");
    if (!from || !to) continue;
    if (*from >= *to)
      add_problem(problems, view.document(), pad + "/to_mm", "must be greater than from_mm " + number_text(*from),
                  "count Y from the middle of the rails, to the rear");
    else if (length && (*to < -*length / 2 || *from > *length / 2))
      add_problem(problems, view.document(), pad + "/from_mm", "this pad lies beyond the rails' ends",
                  "a rail of " + number_text(*length) + " mm reaches from " + number_text(-*length / 2) + " to " +
                      number_text(*length / 2));
  }
}

void stand(const View& view, std::vector<Problem>& problems) {
  if (const auto id = view.text("/bed/spacer")) {
    std::vector<std::string> spacers;
    for (std::size_t i = 0; i < view.count("/parts"); ++i)
      if (view.text(child("/parts", i) + "/family") == "spacer")
        if (const auto one = view.text(child("/parts", i) + "/id")) spacers.push_back(*one);
    if (std::find(spacers.begin(), spacers.end(), *id) == spacers.end())
      add_problem(problems, view.document(), "/bed/spacer", "no spacer of this kit has that id",
                  spacers.empty() ? "add a part of family spacer" : "use " + any_of_text(spacers));
  }
  const auto fixed = view.text("/bed/fixed_mount");
  const Json* mounts = view.find("/frame/bed_mounts");
  if (!fixed) return;
  std::vector<std::string> ids;
  if (mounts)
    for (const FrameHole& hole : expand_pattern(*mounts)) ids.push_back(hole.id);
  if (std::find(ids.begin(), ids.end(), *fixed) == ids.end())
    add_problem(problems, view.document(), "/bed/fixed_mount", "no bed mount has that id",
                ids.empty() ? "list frame.bed_mounts" : "use " + any_of_text(ids));
}

void mounts_on_bed(const View& view, std::vector<Problem>& problems) {
  const auto size = view.pair("/bed/size_mm");
  const Json* mounts = view.find("/frame/bed_mounts");
  if (!size || !mounts) return;
  for (const FrameHole& hole : expand_pattern(*mounts)) {
    if (std::fabs(hole.at_mm.x) <= size->x / 2 && std::fabs(hole.at_mm.y) <= size->y / 2) continue;
    std::string hint = "the bed's middle stands over the middle of the carriages";
    for (double factor : {10.0, 25.4, 2.0})
      if (std::fabs(hole.at_mm.x) <= factor * size->x / 2 && std::fabs(hole.at_mm.y) <= factor * size->y / 2) {
        hint = "did you mean " + pair_text(factor * *size) + "?";
        break;
      }
    add_problem(problems, view.document(), "/bed/size_mm",
                "the bed mount " + hole.id + " at " + pair_text(hole.at_mm) + " mm lies outside a bed of this size", hint);
    return;
  }
}

void old_play(const View& view, std::vector<Problem>& problems) {
  const auto play = view.number("/before/play_um");
  if (!play || *play <= 0 || *play >= least_play_um) return;
  add_problem(problems, view.document(), "/before/play_um", "no bearing has so little play; 0 for none",
              unit_slip("play_um", *play, 10, 300));
}

}  // namespace

void check_conversion(const View& view, std::vector<Problem>& problems) {
  one_outline(view, problems);
  outline(view, problems);
  pieces(view, problems);
  rods(view, problems);
  areas(view, "/base/raised", problems);
  areas(view, "/base/openings", problems);
  ends(view, problems);
  stand(view, problems);
  mounts_on_bed(view, problems);
  old_play(view, problems);
}

}  // namespace bedwright
