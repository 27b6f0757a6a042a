#include "kit/settings.h"

#include "kit/parse.h"
#include "kit/pointer.h"
#include "kit/schema_walk.h"

namespace bedwright {
namespace {

bool is_text(const Json& schema, const Json* at) {
  if (!at) return false;
  if (const Json* type = schema_keyword(schema, *at, "type")) return *type == "string";
  if (const Json* value = schema_keyword(schema, *at, "const")) return value->is_string();
  if (const Json* values = schema_keyword(schema, *at, "enum")) return values->at(0).is_string();
  return false;
}

bool is_utf8(const std::string& text) {
  try {
    Json(text).dump();
    return true;
  } catch (const Json::exception&) {
    return false;
  }
}

/// For a pointer that uses a part's id in place of its number.
std::string index_hint(const Json& list, const std::string& step, const std::string& pointer) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].is_object() && list[i].value("id", Json()) == step) return "`" + step + "` is " + child(pointer, i);
  }
  if (list.empty()) return "the list is empty: use 0";
  return "use 0 to " + std::to_string(list.size() - 1) + ", or " + std::to_string(list.size()) + " to add one";
}

void apply(const Json& schema, Json& document, const Setting& setting, std::vector<Problem>& problems) {
  if (!is_utf8(setting.second) || !is_utf8(setting.first)) {
    problems.push_back({"--set", "", "a setting is not UTF-8 text", "set the terminal to UTF-8"});
    return;
  }
  const auto steps = pointer_steps(setting.first);
  if (!steps || steps->empty()) {
    problems.push_back({setting.first, setting.second, "is not a JSON pointer", "write /frame/dome/radius_mm=2500"});
    return;
  }
  const Json* rules = schema_at(schema, document, setting.first);
  Json value = setting.second;
  if (!is_text(schema, rules)) {
    std::vector<Problem> misread;
    std::optional<Json> parsed = parse_strict(setting.second, misread, setting.first);
    const bool compound = setting.second.find_first_of("{[") == 0;
    if (misread.empty()) {
      value = std::move(*parsed);
    } else if (compound) {
      problems.insert(problems.end(), misread.begin(), misread.end());
      return;
    }
    // What is not JSON stays text: the schema then says what is wanted here.
  }
  Json* at = &document;
  std::string pointer;
  for (const std::string& step : *steps) {
    if (at->is_null()) {
      const Json* here = schema_at(schema, document, pointer);
      const Json* type = here ? schema_keyword(schema, *here, "type") : nullptr;
      *at = type && *type == "array" ? Json::array() : Json::object();
    }
    if (at->is_object()) {
      at = &(*at)[step];
    } else if (at->is_array()) {
      const auto index = step == "-" ? at->size() : array_index(step).value_or(at->size() + 1);
      if (index > at->size()) {
        problems.push_back({setting.first, setting.second, "`" + step + "` is not an entry of the list " + pointer,
                            index_hint(*at, step, pointer)});
        return;
      }
      if (index == at->size()) at->push_back(nullptr);
      at = &(*at)[index];
    } else {
      problems.push_back({setting.first, setting.second, pointer + " is a single value and has nothing inside it",
                          "set " + pointer + " itself"});
      return;
    }
    pointer = child(pointer, step);
  }
  *at = std::move(value);
}

}  // namespace

void apply_settings(const Json& schema, Json& document, const std::vector<Setting>& settings,
                    std::vector<Problem>& problems) {
  for (const Setting& setting : settings) apply(schema, document, setting, problems);
}

}  // namespace bedwright
