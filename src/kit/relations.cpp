#include "kit/relations.h"

#include <algorithm>
#include <set>

#include "kit/conversion_relations.h"
#include "kit/day.h"
#include "kit/hardware.h"
#include "kit/machine_relations.h"
#include "kit/part_relations.h"
#include "kit/pointer.h"
#include "kit/slips.h"
#include "kit/view.h"

namespace bedwright {
namespace {

void repeated_ids(const View& view, const std::string& list, std::vector<Problem>& problems) {
  std::set<std::string> seen;
  for (std::size_t i = 0; i < view.count(list); ++i) {
    const std::string pointer = child(list, i) + "/id";
    const auto id = view.text(pointer);
    if (id && !seen.insert(*id).second) {
      add_problem(problems, view.document(), pointer, "this id stands in " + list + " twice",
                  "give one of them another id");
    }
  }
}

void keep_outs(const View& view, std::vector<Problem>& problems) {
  repeated_ids(view, "/keep_outs", problems);
  for (std::size_t i = 0; i < view.count("/keep_outs"); ++i) {
    const std::string box = child("/keep_outs", i);
    const Json* low = view.find(box + "/min_mm");
    const Json* high = view.find(box + "/max_mm");
    if (!low || !high) continue;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const double least = (*low)[axis].get<double>(), greatest = (*high)[axis].get<double>();
      if (least < greatest) continue;
      add_problem(problems, view.document(), child(box + "/max_mm", axis),
                  "must be greater than min_mm's " + number_text(least),
                  least > greatest ? "are min_mm and max_mm swapped?"
                                   : "the box has no size along " + std::string(1, "xyz"[axis]));
    }
  }
}

void joints(const View& view, std::vector<Problem>& problems) {
  repeated_ids(view, "/joints", problems);
  for (std::size_t i = 0; i < view.count("/joints"); ++i) {
    const std::string joint = child("/joints", i);
    const auto screw = view.text(joint + "/screw"), head = view.text(joint + "/head");
    if (screw && head == "button") {
      const std::vector<std::string> sizes = hardware_ids("button_screws");
      if (std::find(sizes.begin(), sizes.end(), *screw) == sizes.end()) {
        add_problem(problems, view.document(), joint + "/screw", "button heads come in " + any_of_text(sizes),
                    "or write \"head\": \"socket\"");
      }
    }
    const Json* blind = view.find(joint + "/anchor/blind");
    if (view.text(joint + "/anchor/kind") == "carriage" && blind && *blind == false) {
      add_problem(problems, view.document(), joint + "/anchor/blind", "a carriage's thread is always blind",
                  "remove blind");
    }
  }
}

void open_values(const View& view, std::vector<Problem>& problems) {
  for (std::size_t i = 0; i < view.count("/open"); ++i) {
    const std::string entry = child("/open", i);
    const auto pointer = view.text(entry + "/pointer");
    const Json* value = pointer ? find_at(view.document(), *pointer) : nullptr;
    if (pointer && !value) {
      add_problem(problems, view.document(), entry + "/pointer", "points to nothing in this kit",
                  "copy the pointer from a message of bedwright check");
    }
    const auto range = view.pair(entry + "/range");
    if (!range) continue;
    if (range->x >= range->y) {
      add_problem(problems, view.document(), entry + "/range", "the first number must be the smaller one",
                  range->x > range->y ? "did you mean " + pair_text({range->y, range->x}) + "?" : "");
    } else if (value && value->is_number() && view.sound(*pointer) &&
               (value->get<double>() < range->x || value->get<double>() > range->y)) {
      add_problem(problems, view.document(), entry + "/range",
                  "the kit's own value " + number_text(value->get<double>()) + " is outside", "widen the range");
    }
  }
}

void stock(const View& view, std::vector<Problem>& problems) {
  std::set<std::string> seen;
  for (std::size_t i = 0; i < view.count("/stock"); ++i) {
    const std::string pointer = child("/stock", i) + "/thread";
    const auto thread = view.text(pointer);
    if (thread && !seen.insert(*thread).second) {
      add_problem(problems, view.document(), pointer, "this thread stands in /stock twice",
                  "put all lengths into one row");
    }
  }
}

void date(const View& view, const std::string& pointer, std::vector<Problem>& problems) {
  const auto text = view.text(pointer);
  if (text && !is_day(*text))
    add_problem(problems, view.document(), pointer, "is no day of the calendar", "write year-month-day: 2026-03-28");
}

void bed_map(const View& view, std::vector<Problem>& problems) {
  date(view, "/bed_map/on", problems);
  if (view.count("/bed_map/extent_mm") > 0 && view.count("/bed_map/files") == 0)
    add_problem(problems, view.document(), "/bed_map/extent_mm",
                "says where a map's numbers stand, but there is no map",
                "name the map's file in bed_map.files, or leave extent_mm out");
  const Json* extent = view.find("/bed_map/extent_mm");
  if (extent && extent->size() == 4 && ((*extent)[0] == (*extent)[2] || (*extent)[1] == (*extent)[3]))
    add_problem(problems, view.document(), "/bed_map/extent_mm",
                extent->dump() + ": the first and the last point must differ in x and in y",
                "write the places of the grid's first and last number: [x, y, x, y]");
}

void calibrated(const View& view, std::vector<Problem>& problems) {
  date(view, "/printer/calibrated/on", problems);
}

void publishing(const View& view, const Beside& beside, std::vector<Problem>& problems) {
  const auto licence = view.text("/publish/licence_file");
  if (licence && leads_away(beside, *licence))
    add_problem(problems, view.document(), "/publish/licence_file", "leaves the kit's folder",
                "put the file beside the kit and write its name only");
  std::set<std::string> seen;
  for (std::size_t i = 0; i < view.count("/publish/tested"); ++i) {
    const std::string entry = child("/publish/tested", i);
    date(view, entry + "/on", problems);
    const auto what = view.text(entry + "/what");
    if (what && !seen.insert(*what + " " + view.text(entry + "/revision").value_or("")).second)
      add_problem(problems, view.document(), entry + "/what", "stands in /publish/tested twice for one revision",
                  "put both results into one entry");
  }
}

}  // namespace

void check_relations(const Json& document, const Beside& beside, std::vector<Problem>& problems) {
  const View view(document, problems);
  check_machine(view, beside, problems);
  check_parts(view, problems);
  check_conversion(view, problems);
  repeated_ids(view, "/frame/hole_pattern/holes", problems);
  repeated_ids(view, "/frame/bed_mounts/holes", problems);
  repeated_ids(view, "/base/raised", problems);
  repeated_ids(view, "/base/openings", problems);
  keep_outs(view, problems);
  joints(view, problems);
  open_values(view, problems);
  stock(view, problems);
  calibrated(view, problems);
  bed_map(view, problems);
  publishing(view, beside, problems);
  date(view, "/drawing/on", problems);
}

}  // namespace bedwright
