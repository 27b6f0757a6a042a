#include "kit/widest.h"

#include <algorithm>

#include "base/numbers.h"
#include "kit/machine_relations.h"
#include "kit/slips.h"
#include "kit/view.h"

namespace bedwright {
namespace {

constexpr const char* pointer = "/carriages/spacing_mm";

/// Mean of the two longest bodies.
double body_mm(const View& view, double drawn) {
  std::vector<double> lengths;
  for (std::size_t i = 0; i < view.count("/carriages/measured"); ++i)
    lengths.push_back(view.number("/carriages/measured/" + std::to_string(i) + "/length_mm").value_or(drawn));
  if (lengths.size() < 4) return drawn;
  std::sort(lengths.rbegin(), lengths.rend());
  return (lengths[0] + lengths[1]) / 2;
}

}  // namespace

double widest_spacing_mm(double rail_length_mm, double travel_mm, double front_mm, double rear_mm, double body_mm) {
  return rail_length_mm - travel_mm - front_mm - rear_mm - body_mm;
}

bool settle_widest(Json& document, std::vector<Problem>& problems, std::vector<Note>& assumed) {
  const View view(document, problems);
  const auto spacing = view.text(pointer);
  if (!spacing || *spacing != "widest") return false;
  const auto length = view.number("/rails/length_mm"), travel = view.number("/rails/travel_mm"),
             margin = view.number("/rails/end_margin_mm");
  const auto carriage = carriage_of(view);
  if (!length || !travel || !margin || !carriage) {
    document["carriages"].erase("spacing_mm");  // What it needs has been complained about.
    return false;
  }
  const Vec2 stops = view.pair("/rails/stops_mm").value_or(Vec2{});
  const double widest = widest_spacing_mm(*length, *travel, std::max(*margin, stops.x), std::max(*margin, stops.y),
                                          body_mm(view, carriage->length_mm));
  if (widest < carriage->length_mm) {
    add_problem(problems, document, pointer,
                "rails of " + number_text(*length) + " mm with " + number_text(*travel) + " mm of travel leave " +
                    decimal(std::max(widest, 0.0), 1) + " mm, less than a carriage's " +
                    number_text(carriage->length_mm),
                "take rails at least " + decimal(carriage->length_mm - widest, 1) + " mm longer, or less travel_mm");
    return false;
  }
  document["carriages"]["spacing_mm"] = widest;
  assumed.push_back({pointer, decimal(widest, 2) + " mm, the widest that leaves the travel and the ends"});
  return true;
}

}  // namespace bedwright
