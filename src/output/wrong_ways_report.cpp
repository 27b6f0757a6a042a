#include "output/wrong_ways_report.h"

#include <utility>

#include "base/numbers.h"

namespace bedwright {
namespace {

/// "adapter-a 90, 180, upside down 0": the turns of one part, gathered.
struct Gathered {
  std::string part, upright, over;
};

void gather(std::vector<Gathered>& list, const Json& way) {
  const Json& as = way.at("as");
  std::string part = as.is_null() ? way.at("part").get<std::string>() : as.get<std::string>();
  if (const Json& revision = way.at("revision"); !revision.is_null())
    part += " of revision " + revision.get<std::string>();
  if (list.empty() || list.back().part != part) list.push_back({part, "", ""});
  std::string& turns = way.at("flipped").get<bool>() ? list.back().over : list.back().upright;
  turns += (turns.empty() ? "" : ", ") + decimal(way.at("turn_deg").get<double>(), 0);
}

std::string to_text(const std::vector<Gathered>& list) {
  std::string text;
  for (const Gathered& g : list) {
    text += (text.empty() ? "" : "; ") + g.part;
    if (!g.upright.empty()) text += " " + g.upright;
    if (!g.over.empty()) text += (g.upright.empty() ? " " : ", ") + std::string("upside down ") + g.over;
  }
  return text;
}

constexpr std::pair<const char*, const char*> reasons[] = {
    {"carriage-holes", "the carriage's holes do not line up"},
    {"frame-holes", "the frame's holes do not line up"},
    {"holes", "the holes do not line up"},
    {"boss", "a boss is in the way"},
    {"edge", "an edge is in the way"},
    {"key", "a key is in the way"},
    {"screw", "the screws are too short"},
};

}  // namespace

Json wrong_ways_json(const std::vector<WrongWay>& ways) {
  Json list = Json::array();
  for (const WrongWay& w : ways)
    list.push_back(
        {{"part", w.part},
         {"placement", w.placement},
         {"turn_deg", w.turn_deg},
         {"flipped", w.flipped},
         {"as", w.as.empty() ? Json(nullptr) : Json(w.as)},
         {"bolts_up", w.bolts_up},
         {"consequence", w.consequence},
         {"seat_gap_mm", rounded_length(w.seat_gap_mm)},
         {"tilt_deg", rounded_length(w.tilt_deg)},
         {"revision", w.revision.empty() ? Json(nullptr) : Json(w.revision)},
         {"height_change_mm", rounded_length(w.height_change_mm)},
         {"where_mm", w.bolts_up ? Json{rounded_length(w.where.x), rounded_length(w.where.y)} : Json(nullptr)},
         {"blocked_by", w.blocked_by.empty() ? Json(nullptr) : Json(w.blocked_by)}});
  return list;
}

std::vector<ListedLine> wrong_ways_lines(const Json& wrong_ways) {
  std::vector<ListedLine> lines;
  if (wrong_ways.empty()) return lines;
  std::size_t up = 0;
  for (const Json& way : wrong_ways) up += way.at("bolts_up").get<bool>() ? 1 : 0;
  lines.push_back({"\nWrong ways to put it on: ",
                   std::to_string(up) + " bolt up, " + std::to_string(wrong_ways.size() - up) + " do not go on", 0});
  for (const Json& way : wrong_ways)
    if (way.at("bolts_up").get<bool>())
      lines.push_back({"  " + decimal(way.at("seat_gap_mm").get<double>(), 2) + " mm  ",
                       way.at("consequence").get<std::string>(), 11});
  for (const auto& [code, words] : reasons) {
    bool said = false;
    for (const char* placement : placement_ids) {
      std::vector<Gathered> gathered;
      for (const Json& way : wrong_ways)
        if (way.at("blocked_by") == code && way.at("placement") == placement) gather(gathered, way);
      if (gathered.empty()) continue;
      if (!said) lines.push_back({"  ", std::string(words) + " (turned by, deg):", 4});
      said = true;
      lines.push_back({"    " + std::string(placement) + ": ", to_text(gathered), 6});
    }
  }
  return lines;
}

}  // namespace bedwright
