#include <cmath>
#include <map>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/keyed_parts.h"
#include "checks/mark_truth.h"
#include "parts/marks.h"

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

/// By the part that is offered; the list has the worst first.
std::map<std::string, Worst> worst_by_part(const std::vector<WrongWay>& ways) {
  std::map<std::string, Worst> worst;
  for (const WrongWay& way : ways) {
    if (!matters(way)) continue;
    Worst& w = worst[way.offered()];
    if (w.way)
      ++w.others;
    else
      w.way = &way;
  }
  return worst;
}

const Part* find_part(const Known& known, const std::string& id) {
  for (const KnownPart& p : known.parts)
    if (p.part->id == id) return p.part;
  return nullptr;
}

}  // namespace

void check_wrong_ways(const Known& known, std::vector<Finding>& findings) {
  for (const auto& [id, w] : worst_by_part(known.wrong_ways))
    if (const Part* part = find_part(known, id)) findings.push_back(finding_of(*part, w));
}

void check_key(const Known& known, std::vector<Finding>& findings) {
  std::map<std::string, bool> said;  // by request
  for (const KnownPart& p : known.parts) {
    if (!p.part->settings.value("key", false) || said[p.part->settings.value("id", p.part->id)]) continue;
    for (const std::string& statement : p.part->statements) {
      if (statement.rfind(key_statement, 0) != 0 && statement.rfind(no_key_statement, 0) != 0) continue;
      said[p.part->settings.value("id", p.part->id)] = true;
      findings.push_back({"key-chosen", Severity::note, p.part->id, "", statement, 0, 0, "",
                          "a plate that does not go on easily is in the wrong place: do not cut its key off"});
    }
  }
  std::map<std::string, Worst> open;  // by request
  for (const WrongWay& way : known.wrong_ways) {
    if (!matters(way)) continue;
    for (const std::string& id : {way.part, way.offered()}) {
      const Part* part = find_part(known, id);
      if (!part || !part->settings.value("key", false)) continue;
      Worst& w = open[part->settings.value("id", part->id)];
      if (w.way)
        ++w.others;
      else
        w.way = &way;
      break;
    }
  }
  for (const auto& [request, w] : open) {
    Finding f;
    f.code = "key-open";
    f.severity = Severity::warning;
    f.part = w.way->offered();
    f.message = "no key that fits on " + request + " blocks this: " + w.way->consequence;
    if (w.others > 0) f.message += " (and " + std::to_string(w.others) + (w.others == 1 ? " more way)" : " more ways)");
    f.value = w.way->worst_mm();
    f.limit = harmless_mm;
    f.unit = "mm";
    f.remedy =
        "go by the marks; to close it, give the frame's hole pattern an odd hole, or bring the plates of a rail nearer "
        "together (spacing_mm)";
    findings.push_back(std::move(f));
  }
}

void check_old_revision(const Known& known, std::vector<Finding>& findings) {
  for (const auto& [id, w] : worst_by_part(known.old_ways)) {
    const bool told_apart = w.way->revision != known.kit.revision;
    Finding f;
    f.code = "old-revision";
    f.severity = !told_apart && w.way->worst_mm() > harmful_mm ? Severity::error : Severity::warning;
    f.part = id;
    f.value = w.way->worst_mm();
    f.limit = harmless_mm;
    f.unit = "mm";
    f.message = w.way->consequence;
    if (w.others > 0) f.message += " (and " + std::to_string(w.others) + (w.others == 1 ? " more way)" : " more ways)");
    f.remedy = told_apart ? "throw the old ones away, or look that every mark says revision " + known.kit.revision
                          : "both kits say revision " + known.kit.revision + ": give this one the next letter";
    findings.push_back(std::move(f));
  }
}

void check_mark_truth(const Known& known, std::vector<Finding>& findings) {
  std::vector<const Part*> parts;
  for (const KnownPart& p : known.parts) parts.push_back(p.part);
  for (const KnownPart& p : known.parts) {
    if (!p.part->visible_mark || p.part->placements.empty()) continue;
    const auto add = [&](const char* code, const std::string& why, const std::string& remedy) {
      if (!why.empty())
        findings.push_back({code, Severity::error, p.part->id, "", p.part->id + ": " + why, 0, 0, "", remedy});
    };
    add("mark-hidden", mark_hidden(known.kit, known.layout, parts, *p.part),
        "set \"mark\": false and write id, UP and arrow on the seat by hand");
    add("mark-mirrored", mark_mirrored(*p.part), "do not print it; report this kit");
    add("mark-false", mark_false(known.layout, *p.part),
        "do not follow the arrow; set \"mark\": false and report this kit");
    const bool turns_away = p.part->placements.size() > 1 && p.part->seat.shape != SurfaceShape::plane;
    if ((p.part->family == "adapter_plate" || turns_away) && !arrow_of(*p.part))
      findings.push_back({"mark-no-arrow", Severity::note, p.part->id, "", p.part->id + ": " + why_no_arrow(*p.part), 0,
                          0, "", "go by the names of the places in the steps"});
  }
}

}  // namespace bedwright
