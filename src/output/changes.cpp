#include "output/changes.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

using Json = nlohmann::json;

constexpr std::size_t listed_dimensions = 6;  // in the text; JSON has all

std::string text_at(const Json& object, const char* key) {
  return object.contains(key) && object[key].is_string() ? object[key].get<std::string>() : std::string();
}
int whole_at(const Json& object, const char* key) {
  return object.contains(key) && object[key].is_number_integer() ? object[key].get<int>() : 0;
}

const Json& list_at(const Json& report, const char* key, const std::string& source) {
  if (!report.contains(key) || !report[key].is_array())
    throw BadInput(source, {{std::string("/") + key, "", "is missing: this is no whole report", "make the set again"}});
  return report[key];
}

void require_report(const Json& report, const std::string& source) {
  if (!report.is_object() || text_at(report, "format") != "bedwright/report/1")
    throw BadInput(source, {{"/format", text_at(report, "format"), "is not a report of this program",
                             "give a kit file, or the report.json that make wrote"}});
}

/// "carriage-hole-1 diameter" -> modelled; marks are left out, they carry the revision.
std::map<std::pair<std::string, std::string>, double> dimensions_of(const Json& part) {
  std::map<std::pair<std::string, std::string>, double> all;
  if (!part.contains("dimensions") || !part["dimensions"].is_array()) return all;
  for (const Json& d : part["dimensions"])
    if (d.is_object() && d.contains("modelled_mm") && d["modelled_mm"].is_number() &&
        text_at(d, "feature").rfind("mark", 0) != 0)
      all[{text_at(d, "feature"), text_at(d, "quantity")}] = d["modelled_mm"].get<double>();
  return all;
}

std::vector<ChangedDimension> compared(const Json& before, const Json& after) {
  std::vector<ChangedDimension> changed;
  const auto old_list = dimensions_of(before), new_list = dimensions_of(after);
  for (const auto& [name, mm] : old_list) {
    const auto other = new_list.find(name);
    if (other == new_list.end())
      changed.push_back({name.first, name.second, mm, 0, true, false});
    else if (std::fabs(other->second - mm) >= same_dimension_mm)
      changed.push_back({name.first, name.second, mm, other->second, true, true});
  }
  for (const auto& [name, mm] : new_list)
    if (!old_list.count(name)) changed.push_back({name.first, name.second, 0, mm, false, true});
  std::stable_sort(changed.begin(), changed.end(), [](const ChangedDimension& a, const ChangedDimension& b) {
    return std::fabs(a.new_mm - a.old_mm) > std::fabs(b.new_mm - b.old_mm);
  });
  return changed;
}

const Json* with_shape(const Json& parts, const std::string& shape, const std::set<std::string>& taken) {
  if (shape.empty()) return nullptr;
  for (const Json& p : parts)
    if (text_at(p, "shape_sha256") == shape && !taken.count(text_at(p, "id"))) return &p;
  return nullptr;
}
const Json* with_id(const Json& parts, const std::string& id) {
  for (const Json& p : parts)
    if (text_at(p, "id") == id) return &p;
  return nullptr;
}

bool alike(const Json& a, const Json& b) {
  const std::string shape = text_at(a, "shape_sha256");
  return !shape.empty() && shape == text_at(b, "shape_sha256");
}

/// Whether an old part goes together with the new set's: same group, same code.
bool fits_on(const Json& before, const Json& after) {
  const std::string group = text_at(before, "mating_group");
  return !group.empty() && group == text_at(after, "mating_group") &&
         text_at(before, "mating_code") == text_at(after, "mating_code");
}

std::string pick_of(const Json& joint) {
  if (!joint.contains("pick_mm") || !joint["pick_mm"].is_number()) return "";
  return text_at(joint, "screw") + "x" + decimal(joint["pick_mm"].get<double>(), 1);
}

}  // namespace

Changes changes_between(const Json& before, const std::string& old_source, const Json& after,
                        const std::string& new_source) {
  require_report(before, old_source);
  require_report(after, new_source);
  Changes c;
  c.old_kit = text_at(before, "kit");
  c.old_revision = text_at(before, "revision");
  c.new_kit = text_at(after, "kit");
  c.new_revision = text_at(after, "revision");
  const Json &old_parts = list_at(before, "parts", old_source), &new_parts = list_at(after, "parts", new_source);
  std::set<std::string> taken;  // old parts that the new set still has, under whichever name
  for (const Json& p : new_parts)
    if (const Json* same = with_id(old_parts, text_at(p, "id")))
      if (alike(*same, p)) taken.insert(text_at(p, "id"));
  for (const Json& p : new_parts) {
    ChangedPart part;
    part.id = text_at(p, "id");
    part.new_quantity = whole_at(p, "quantity");
    const Json* named = with_id(old_parts, part.id);
    const Json* shaped = named && alike(*named, p) ? named : with_shape(old_parts, text_at(p, "shape_sha256"), taken);
    const Json* same = shaped ? shaped : named;
    if (same) {
      part.old_quantity = whole_at(*same, "quantity");
      taken.insert(text_at(*same, "id"));
    }
    if (shaped) {
      part.change = "same";
      part.old_still_fits = true;
      if (text_at(*shaped, "id") != part.id) part.old_id = text_at(*shaped, "id");
      part.reprint = part.new_quantity > part.old_quantity;
      part.why = part.old_id.empty() ? "the same solid" : "the same solid that was called " + part.old_id;
      if (part.reprint)
        part.why += ", but " + std::to_string(part.new_quantity - part.old_quantity) + " more are needed";
      else if (p.value("mark", Json()) != shaped->value("mark", Json()))
        part.why += "; only its mark reads differently";
    } else if (named) {
      part.change = "changed";
      part.reprint = true;
      part.dimensions = compared(*named, p);
      part.old_still_fits = fits_on(*named, p);
      part.why = part.dimensions.empty() ? "its outline or its faces differ" : "its dimensions differ";
      if (text_at(*named, "material") != text_at(p, "material"))
        part.why = text_at(*named, "material") + " became " + text_at(p, "material");
    } else {
      part.change = "added";
      part.reprint = true;
      part.why = "the old set has none";
    }
    c.parts.push_back(std::move(part));
  }
  for (const Json& p : old_parts) {
    const std::string id = text_at(p, "id");
    if (taken.count(id)) continue;
    ChangedPart part;
    part.id = id;
    part.change = "removed";
    part.old_quantity = whole_at(p, "quantity");
    part.why = "the new set has none";
    c.parts.push_back(std::move(part));
  }

  std::map<std::string, ChangedScrew> screws;
  for (const Json& j : list_at(before, "joints", old_source)) screws[text_at(j, "id")].before = pick_of(j);
  for (const Json& j : list_at(after, "joints", new_source)) screws[text_at(j, "id")].after = pick_of(j);
  for (auto& [id, screw] : screws) {
    screw.joint = id;
    if (screw.before != screw.after) c.screws.push_back(screw);
  }
  std::map<std::string, ChangedItem> items;
  for (const Json& h : list_at(before, "hardware", old_source)) items[text_at(h, "item")].before += whole_at(h, "quantity");
  for (const Json& h : list_at(after, "hardware", new_source)) items[text_at(h, "item")].after += whole_at(h, "quantity");
  for (auto& [name, item] : items) {
    item.item = name;
    if (item.before != item.after) c.hardware.push_back(item);
  }
  return c;
}

Json changes_document(const Changes& c) {
  Json parts = Json::array();
  for (const ChangedPart& p : c.parts) {
    Json dimensions = Json::array();
    for (const ChangedDimension& d : p.dimensions)
      dimensions.push_back({{"feature", d.feature},
                            {"quantity", d.quantity},
                            {"old_mm", d.in_old ? Json(rounded_length(d.old_mm)) : Json(nullptr)},
                            {"new_mm", d.in_new ? Json(rounded_length(d.new_mm)) : Json(nullptr)},
                            {"difference_mm",
                             d.in_old && d.in_new ? Json(rounded_length(d.new_mm - d.old_mm)) : Json(nullptr)}});
    parts.push_back({{"id", p.id},
                     {"change", p.change},
                     {"reprint", p.reprint},
                     {"why", p.why},
                     {"old_id", p.old_id.empty() ? Json(nullptr) : Json(p.old_id)},
                     {"old_still_fits", p.old_still_fits},
                     {"old_quantity", p.old_quantity},
                     {"new_quantity", p.new_quantity},
                     {"dimensions", dimensions}});
  }
  Json screws = Json::array(), hardware = Json::array();
  const auto or_null = [](const std::string& s) { return s.empty() ? Json(nullptr) : Json(s); };
  for (const ChangedScrew& s : c.screws)
    screws.push_back({{"joint", s.joint}, {"old", or_null(s.before)}, {"new", or_null(s.after)}});
  for (const ChangedItem& h : c.hardware)
    hardware.push_back({{"item", h.item}, {"old", h.before}, {"new", h.after}, {"difference", h.after - h.before}});
  return {{"format", "bedwright/changes/1"},
          {"old", {{"kit", c.old_kit}, {"revision", c.old_revision}}},
          {"new", {{"kit", c.new_kit}, {"revision", c.new_revision}}},
          {"parts", parts},
          {"screws", screws},
          {"hardware", hardware}};
}

std::string changes_text(const Changes& c) {
  std::string text = c.old_kit + " " + c.old_revision + " -> " + c.new_kit + " " + c.new_revision + "\n";
  int again = 0;
  for (const ChangedPart& p : c.parts) {
    again += p.reprint;
    text += "  " + p.id + ": " + p.change + (p.reprint ? ", print again" : "") + " (" + p.why + ")\n";
    for (std::size_t i = 0; i < p.dimensions.size() && i < listed_dimensions; ++i) {
      const ChangedDimension& d = p.dimensions[i];
      text += "      " + d.feature + " " + d.quantity + ": ";
      text += !d.in_new ? "was " + decimal(d.old_mm, 3) + ", is gone"
              : !d.in_old
                  ? "new, " + decimal(d.new_mm, 3)
                  : decimal(d.old_mm, 3) + " -> " + decimal(d.new_mm, 3) + " (" +
                        (d.new_mm > d.old_mm ? "+" : "") + decimal(d.new_mm - d.old_mm, 3) + ")";
      text += "\n";
    }
    if (p.dimensions.size() > listed_dimensions)
      text += "      and " + std::to_string(p.dimensions.size() - listed_dimensions) + " more (--json has all)\n";
    if (p.change == "changed")
      text += p.old_still_fits ? "      an old one still goes together with the new parts\n"
                               : "      an old one does not go together with the new parts: do not mix them\n";
  }
  for (const ChangedScrew& s : c.screws)
    text += "  screw " + s.joint + ": " + (s.before.empty() ? "none" : s.before) + " -> " +
            (s.after.empty() ? "none" : s.after) + "\n";
  for (const ChangedItem& h : c.hardware)
    text += "  to buy " + h.item + ": " + std::to_string(h.before) + " -> " + std::to_string(h.after) + "\n";
  text += again == 0 ? "Nothing has to be printed again.\n"
                     : std::to_string(again) + (again == 1 ? " part has" : " parts have") + " to be printed again.\n";
  return text;
}

}  // namespace bedwright
