#include <cmath>
#include <map>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/mark_truth.h"

namespace bedwright {
namespace {

struct Worst {
  const WrongWay* way = nullptr;
  int others = 0;
};

Finding finding_of(const Part& part, const Worst& worst) {
  const WrongWay& way = *worst.way;
  Finding f;
  f.part = part.id;
  f.value = way.worst_mm();
  f.limit = harmful_mm;
  f.unit = "mm";
  f.message = way.consequence;
  if (worst.others > 0)
    f.message += " (and " + std::to_string(worst.others) + (worst.others == 1 ? " more way" : " more ways") +
                 ": see the wrong ways)";
  if (part.visible_mark) {
    f.code = "wrong-way-marked";
    f.severity = Severity::warning;
    f.remedy = "before you tighten it, look that the mark reads " + part.mark_text;
    return f;
  }
  const bool harmful = way.worst_mm() > harmful_mm;
  f.code = harmful ? "wrong-way-unmarked" : "wrong-way-slight";
  f.severity = harmful ? Severity::error : Severity::warning;
  f.remedy =
      "set \"mark\": true; where there is no room for one, make the plate larger (margin_mm) or the holes uneven";
  return f;
}

const Part* find_part(const Known& known, const std::string& id) {
  for (const KnownPart& p : known.parts)
    if (p.part->id == id) return p.part;
  return nullptr;
}

}  // namespace

void check_wrong_ways(const Known& known, std::vector<Finding>& findings) {
  std::map<std::string, Worst> worst;  // by the part that is offered; the list has the worst first
  for (const WrongWay& way : known.wrong_ways) {
    if (!matters(way)) continue;
    Worst& w = worst[way.offered()];
    if (w.way)
      ++w.others;
    else
      w.way = &way;
  }
  for (const auto& [id, w] : worst)
    if (const Part* part = find_part(known, id)) findings.push_back(finding_of(*part, w));
}

void check_mark_truth(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (!p.part->visible_mark || p.part->placements.empty()) continue;
    const auto add = [&](const char* code, const std::string& why, const std::string& remedy) {
      if (!why.empty())
        findings.push_back({code, Severity::error, p.part->id, "", p.part->id + ": " + why, 0, 0, "", remedy});
    };
    add("mark-hidden", mark_hidden(known.kit, *p.part),
        "set \"mark\": false and write id, UP and arrow on the seat by hand");
    add("mark-mirrored", mark_mirrored(*p.part), "do not print it; report this kit");
    add("mark-false", mark_false(known.layout, *p.part),
        "do not follow the arrow; set \"mark\": false and report this kit");
  }
}

}  // namespace bedwright
