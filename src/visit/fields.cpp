#include "visit/fields.h"

#include <algorithm>
#include <optional>
#include <set>

#include "base/json_edit.h"
#include "base/numbers.h"
#include "kit/parse.h"
#include "kit/pointer.h"
#include "kit/schema_walk.h"
#include "kit/settings.h"

namespace bedwright {
namespace {

std::string unit_of(const std::string& pointer) {
  static const struct {
    const char *ending, *unit;
  } units[] = {{"_mm", "mm"}, {"_um", "µm"}, {"_deg", "°"}, {"_c", "°C"}, {"_g", "g"}, {"_n", "N"}, {"_percent", "%"}};
  for (const auto& u : units) {
    const std::string ending = u.ending;
    if (pointer.size() > ending.size() && pointer.compare(pointer.size() - ending.size(), ending.size(), ending) == 0)
      return u.unit;
  }
  return "";
}

std::string text_of(const Json* value) {
  if (!value || value->is_null()) return "";
  if (value->is_string()) return value->get<std::string>();
  if (value->is_number()) return shortest(value->get<double>());
  return value->dump();
}

std::string keyword_text(const Json& schema, const char* keyword) {
  const Json* found = schema_keyword(kit_schema(), schema, keyword);
  return found && found->is_string() ? found->get<std::string>() : "";
}

std::string kind_of(const Json& schema, std::vector<std::string>& choices) {
  if (const Json* list = schema_keyword(kit_schema(), schema, "enum")) {
    for (const Json& choice : *list) choices.push_back(text_of(&choice));
    return "choice";
  }
  const std::string type = keyword_text(schema, "type");
  if (type == "number") return "number";
  if (type == "integer") return "whole";
  if (type == "boolean") return "yes-no";
  if (type == "string") return "text";
  if (type == "array") {
    const Json* items = schema_keyword(kit_schema(), schema, "items");
    if (items && items->is_object() && keyword_text(*items, "type") == "number") return "list";
  }
  return "other";
}

std::optional<double> limit(const Json& schema, const char* keyword) {
  const Json* found = schema_keyword(kit_schema(), schema, keyword);
  return found && found->is_number() ? std::optional<double>(found->get<double>()) : std::nullopt;
}

}  // namespace

std::vector<OpenField> open_fields(const Kit& kit, const std::string& kit_text) {
  std::vector<Problem> ignored;
  std::optional<Json> document = parse_strict(kit_text, ignored);
  std::vector<OpenField> fields;
  if (!document) return fields;
  Json whole = *document;
  std::vector<Note> notes, assumed;
  check_against_schema(kit_schema(), whole, ignored, notes, assumed);
  std::set<std::string> seen;
  for (const Json& open : kit.open) {
    OpenField f;
    f.pointer = open.at("pointer").get<std::string>();
    if (!seen.insert(f.pointer).second) continue;
    f.label = open.value("label", "");
    f.help = open.value("help", "");
    f.measure = open.value("measure", "");
    f.unit = unit_of(f.pointer);
    f.value = text_of(find_at(whole, f.pointer));
    f.kind = "other";
    if (const Json* schema = schema_at(kit_schema(), whole, f.pointer)) {
      if (f.label.empty()) f.label = keyword_text(*schema, "title");
      if (f.help.empty()) f.help = keyword_text(*schema, "description");
      f.kind = kind_of(*schema, f.choices);
      f.least = limit(*schema, "minimum");
      f.greatest = limit(*schema, "maximum");
    }
    if (open.contains("range") && (f.kind == "number" || f.kind == "whole")) {
      const double least = open["range"][0].get<double>(), greatest = open["range"][1].get<double>();
      f.least = f.least ? std::max(*f.least, least) : least;
      f.greatest = f.greatest ? std::min(*f.greatest, greatest) : greatest;
    }
    if (f.label.empty()) f.label = f.pointer;
    fields.push_back(std::move(f));
  }
  return fields;
}

Json fields_json(const std::vector<OpenField>& fields) {
  const auto or_null = [](const std::optional<double>& v) { return v ? Json(*v) : Json(nullptr); };
  Json list = Json::array();
  for (const OpenField& f : fields)
    list.push_back({{"pointer", f.pointer},
                    {"label", f.label},
                    {"help", f.help},
                    {"measure", f.measure},
                    {"kind", f.kind},
                    {"unit", f.unit},
                    {"choices", f.choices},
                    {"value", f.value},
                    {"least", or_null(f.least)},
                    {"greatest", or_null(f.greatest)}});
  return list;
}

std::vector<Problem> problems_of(const std::vector<OpenField>& fields, const std::vector<Setting>& values) {
  std::vector<Problem> problems;
  std::set<std::string> seen;
  for (const auto& [pointer, text] : values) {
    const auto field =
        std::find_if(fields.begin(), fields.end(), [&, &at = pointer](const OpenField& f) { return f.pointer == at; });
    if (!seen.insert(pointer).second) {
      problems.push_back({pointer, text, "is given twice", "keep one of the two"});
    } else if (field == fields.end()) {
      problems.push_back({pointer, text, "is not among the values that this kit's author opens", ""});
    } else if (field->kind == "number" || field->kind == "whole") {
      const Json value = Json::parse(text, nullptr, false);
      if (!value.is_number()) continue;  // the kit's reader says it better
      const double v = value.get<double>();
      if ((field->least && v < *field->least) || (field->greatest && v > *field->greatest))
        problems.push_back({pointer, text,
                            "is outside of what the author opens, " +
                                (field->least ? decimal(*field->least, 4) : std::string("any")) + " to " +
                                (field->greatest ? decimal(*field->greatest, 4) : std::string("any")) +
                                (field->unit.empty() ? "" : " " + field->unit),
                            "measure again; if it is right, these parts are not for this machine"});
    }
  }
  return problems;
}

std::string kit_text_with(const std::string& kit_text, const std::vector<Setting>& values) {
  std::vector<Problem> ignored;
  const std::optional<Json> read = parse_strict(kit_text, ignored);
  if (!read) return kit_text;
  Json document = *read;
  apply_settings(kit_schema(), document, values, ignored);
  std::string text = kit_text;
  for (const Setting& value : values)
    if (const Json* at = find_at(document, value.first))
      text = with_value_at(text, value.first, nlohmann::ordered_json::parse(at->dump()));
  return text;
}

}  // namespace bedwright
