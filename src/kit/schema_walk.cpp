#include "kit/schema_walk.h"

#include <algorithm>

#include "kit/pointer.h"
#include "kit/slips.h"

namespace bedwright {
namespace {

const Json& referred(const Json& root, const Json& schema) {
  const std::string target = schema.at("$ref").get<std::string>();
  const Json* found = find_at(root, target.substr(1));
  if (!found) throw Error("kit schema: nothing at " + target);
  return *found;
}

/// Follows references to the schema that holds the constraints.
const Json& settled(const Json& root, const Json& schema) {
  const Json* at = &schema;
  while (at->contains("$ref")) at = &referred(root, *at);
  return *at;
}

std::string shortened(const Json& value) {
  std::string text = value.is_number() ? number_text(value.get<double>()) : value.dump();
  constexpr std::size_t most = 60;
  if (text.size() > most) {
    std::size_t cut = most;
    while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0) == 0x80) --cut;
    text.replace(cut, text.npos, "...");
  }
  return text;
}

std::string type_words(const Json& value) {
  if (value.is_null()) return "null";
  if (value.is_boolean()) return value.get<bool>() ? "true" : "false";
  if (value.is_number()) return "the number " + shortened(value);
  if (value.is_string()) return "the text " + shortened(value);
  if (value.is_array()) return "a list";
  return "an object";
}

std::string last_key(const std::string& pointer) {
  const auto steps = pointer_steps(pointer);
  if (!steps) return "";
  for (auto step = steps->rbegin(); step != steps->rend(); ++step) {
    if (!array_index(*step)) return *step;
  }
  return "";
}

std::size_t code_points(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

// The few patterns of the schema, by hand: std::regex depends on the locale.
bool is_small(char c) {
  return c >= 'a' && c <= 'z';
}
bool is_large(char c) {
  return c >= 'A' && c <= 'Z';
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

struct Pattern {
  const char* text;
  bool (*first)(char);
  bool (*rest)(char);
  const char* words;
};

const Pattern patterns[] = {
    {"^[a-z0-9][a-z0-9-]*$", [](char c) { return is_small(c) || is_digit(c); },
     [](char c) { return is_small(c) || is_digit(c) || c == '-'; },
     "small letters, digits and hyphens, beginning with a letter or digit"},
    {"^[A-Za-z0-9][A-Za-z0-9_-]*$", [](char c) { return is_small(c) || is_large(c) || is_digit(c); },
     [](char c) { return is_small(c) || is_large(c) || is_digit(c) || c == '-' || c == '_'; },
     "letters, digits, - and _, beginning with a letter or digit"},
    {"^[A-Za-z0-9.+/#-]*$",
     [](char c) {
       return is_small(c) || is_large(c) || is_digit(c) || c == '.' || c == '+' || c == '/' || c == '#' || c == '-';
     },
     [](char c) {
       return is_small(c) || is_large(c) || is_digit(c) || c == '.' || c == '+' || c == '/' || c == '#' || c == '-';
     },
     "letters, digits and - . + / #"},
    {"^/", [](char c) { return c == '/'; }, [](char) { return true; }, "a JSON pointer such as /frame/dome/radius_mm"},
};

const Pattern& find_pattern(const std::string& text) {
  for (const Pattern& pattern : patterns) {
    if (text == pattern.text) return pattern;
  }
  throw Error("kit schema: unknown pattern " + text);
}

std::string tidy_id(const std::string& text) {
  std::string id;
  for (const char c : text) {
    if (is_large(c)) {
      id += static_cast<char>(c - 'A' + 'a');
    } else if (is_small(c) || is_digit(c)) {
      id += c;
    } else if (!id.empty() && id.back() != '-') {
      id += '-';
    }
  }
  while (!id.empty() && id.back() == '-') id.pop_back();
  return id.substr(0, 48);
}

const Json* own_properties(const Json& root, const Json& branch) {
  return schema_keyword(root, branch, "properties");
}

/// The key whose `const` tells the branches apart, or empty.
std::string discriminator(const Json& root, const Json& branches) {
  std::string key;
  for (const Json& branch : branches) {
    const Json* properties = own_properties(root, branch);
    if (!properties) continue;
    for (const auto& [name, schema] : properties->items()) {
      if (schema.contains("const")) key = name;
    }
  }
  return key;
}

std::vector<std::string> discriminating_values(const Json& root, const Json& branches, const std::string& key) {
  std::vector<std::string> values;
  for (const Json& branch : branches) {
    const Json* properties = own_properties(root, branch);
    if (properties && properties->contains(key)) values.push_back(properties->at(key).at("const").get<std::string>());
  }
  return values;
}

class Walk {
 public:
  Walk(const Json& root, std::vector<Problem>& problems, std::vector<Note>& notes, std::vector<Note>& assumed)
      : root_(root), problems_(problems), notes_(notes), assumed_(assumed) {}

  void value(const Json& schema, Json& found, const std::string& pointer) {
    const Json& rules = settled(root_, schema);
    if (rules.contains("oneOf")) {
      one_of(rules, found, pointer);
      return;
    }
    if (rules.contains("const")) {
      if (found != rules["const"]) {
        const std::string wanted = rules["const"].dump();
        add(pointer, found, "must be " + wanted, "write " + wanted);
      }
      return;
    }
    if (rules.contains("enum")) {
      choice(rules["enum"], found, pointer);
      return;
    }
    const std::string type = rules.at("type").get<std::string>();
    if (type == "object") {
      object(rules, found, pointer);
    } else if (type == "array") {
      array(rules, found, pointer);
    } else if (type == "string") {
      text(rules, found, pointer);
    } else if (type == "boolean") {
      boolean(found, pointer);
    } else {
      number(rules, found, pointer, type == "integer");
    }
  }

 private:
  void add(const std::string& pointer, const Json& found, const std::string& message, const std::string& hint = "") {
    problems_.push_back({pointer, shortened(found), shortened(found) + ": " + message, hint});
  }

  void one_of(const Json& rules, Json& found, const std::string& pointer) {
    const Json& branches = rules["oneOf"];
    if (const Json* branch = schema_branch(root_, rules, found)) {
      value(*branch, found, pointer);
      return;
    }
    const std::string key = discriminator(root_, branches);
    if (key.empty()) {
      std::vector<std::string> allowed;
      for (const Json& branch : branches) {
        const Json& rules_of = settled(root_, branch);
        allowed.push_back(rules_of.contains("const")                     ? rules_of["const"].dump()
                          : rules_of.value("type", "object") == "number" ? "a number"
                                                                         : "an object");
      }
      add(pointer, found, "must be " + any_of_text(allowed));
      return;
    }
    const std::vector<std::string> values = discriminating_values(root_, branches, key);
    if (!found.is_object()) {
      add(pointer, found, "must be an object with the key `" + key + "`, not " + type_words(found));
      return;
    }
    collect_note(found, pointer);
    if (!found.contains(key)) {
      const std::vector<std::string> keys = keys_of(found);
      const std::string slip = nearest(key, keys);
      problems_.push_back({child(pointer, key), "", "`" + key + "` is missing: " + any_of_text(values),
                           slip.empty() ? "" : "is `" + slip + "` a slip for `" + key + "`?"});
      return;
    }
    wrong_word(values, found[key], child(pointer, key));
  }

  void wrong_word(const std::vector<std::string>& allowed, const Json& found, const std::string& pointer) {
    const std::string close = found.is_string() ? nearest(found.get<std::string>(), allowed) : "";
    add(pointer, found, "must be " + any_of_text(allowed), close.empty() ? "" : "did you mean `" + close + "`?");
  }

  void choice(const Json& allowed, const Json& found, const std::string& pointer) {
    if (std::find(allowed.begin(), allowed.end(), found) != allowed.end()) return;
    std::vector<std::string> words;
    for (const Json& each : allowed) words.push_back(each.is_string() ? each.get<std::string>() : each.dump());
    wrong_word(words, found, pointer);
  }

  static std::vector<std::string> keys_of(const Json& object) {
    std::vector<std::string> keys;
    for (const auto& [key, unused] : object.items()) keys.push_back(key);
    return keys;
  }

  void collect_note(const Json& found, const std::string& pointer) {
    if (found.contains("note") && found["note"].is_string())
      notes_.push_back({pointer, found["note"].get<std::string>()});
  }

  /// The value of the const that chose this branch, with its key: "shape two_radius".
  static std::string branch_words(const Json& properties) {
    for (const auto& [key, schema] : properties.items()) {
      if (schema.contains("const") && key != "format") return key + " " + schema["const"].get<std::string>();
    }
    return "";
  }

  void object(const Json& rules, Json& found, const std::string& pointer) {
    if (!found.is_object()) {
      add(pointer, found, "must be an object { ... }, not " + type_words(found));
      return;
    }
    collect_note(found, pointer);
    const Json& properties = rules.at("properties");
    const std::vector<std::string> known = keys_of(properties);
    std::vector<std::string> missing;
    if (rules.contains("required")) {
      for (const Json& key : rules["required"]) {
        if (!found.contains(key.get<std::string>())) missing.push_back(key.get<std::string>());
      }
    }
    std::vector<std::string> free;
    for (const std::string& key : known) {
      if (!found.contains(key)) free.push_back(key);
    }
    for (auto& [key, member] : found.items()) {
      if (properties.contains(key)) {
        value(properties[key], member, child(pointer, key));
      } else {
        unknown_key(properties, free, missing, key, member, pointer);
      }
    }
    for (const std::string& key : missing) {
      const Json* about = schema_keyword(root_, properties[key], "description");
      problems_.push_back({child(pointer, key), "", "`" + key + "` is missing" + range_words(properties[key], key),
                           about ? about->get<std::string>() : ""});
    }
    fill_defaults(properties, found, pointer);
  }

  void unknown_key(const Json& properties, const std::vector<std::string>& free, std::vector<std::string>& missing,
                   const std::string& key, const Json& found, const std::string& pointer) {
    std::string close = nearest(key, missing);
    if (close.empty()) close = nearest(key, free);
    std::string hint;
    if (!close.empty()) {
      hint = "did you mean `" + close + "`?";
      missing.erase(std::remove(missing.begin(), missing.end(), close), missing.end());
    } else {
      const std::string taken = nearest(key, keys_of(properties));
      hint = taken.empty() ? "known here: " + any_of_text(keys_of(properties))
                           : "did you mean `" + taken + "`? It already stands here";
    }
    const std::string where = branch_words(properties);
    problems_.push_back({child(pointer, key), shortened(found),
                         "`" + key + "` is not a key " + (where.empty() ? "here" : "that goes with " + where), hint});
  }

  std::string range_words(const Json& schema, const std::string& key) {
    const Json& rules = settled(root_, schema);
    if (rules.contains("minimum") && rules.contains("maximum")) {
      return ": a number from " + number_text(rules["minimum"].get<double>()) + " to " +
             number_text(rules["maximum"].get<double>()) + (unit_of(key).empty() ? "" : " " + unit_of(key));
    }
    return "";
  }

  void fill_defaults(const Json& properties, Json& found, const std::string& pointer) {
    std::vector<std::string> filled;
    for (const auto& [key, schema] : properties.items()) {
      const Json* standard = found.contains(key) ? nullptr : schema_keyword(root_, schema, "default");
      if (!standard) continue;
      found[key] = *standard;
      if (standard->is_object()) {
        value(schema, found[key], child(pointer, key));
      } else {
        filled.push_back(key);
      }
    }
    for (const std::string& key : filled) {
      if (matters(properties[key], found)) assumed_.push_back({child(pointer, key), with_unit(found[key], key)});
    }
  }

  static bool is_set(const Json& value) {
    return value.is_number() ? value.get<double>() != 0 : value.is_boolean() ? value.get<bool>() : !value.empty();
  }

  /// x-matters-if, see the header.
  static bool matters(const Json& schema, const Json& object) {
    if (!schema.contains("x-matters-if")) return true;
    const std::string rule = schema["x-matters-if"].get<std::string>();
    const std::size_t equals = rule.find('=');
    const std::string key = rule.substr(0, equals);
    if (!object.contains(key)) return false;
    if (equals == std::string::npos) return is_set(object[key]);
    if (!object[key].is_string()) return false;
    return ("," + rule.substr(equals + 1) + ",").find("," + object[key].get<std::string>() + ",") != std::string::npos;
  }

  static std::string with_unit(const Json& value, const std::string& key) {
    const std::string unit = unit_of(key);
    std::string text = value.is_string() ? value.get<std::string>() : value.dump();
    if (value.is_array()) {
      text.clear();
      for (const Json& each : value) text += (text.empty() ? "" : ", ") + number_text(each.get<double>());
    } else if (value.is_number()) {
      text = number_text(value.get<double>());
    }
    return unit.empty() ? text : text + " " + unit;
  }

  void array(const Json& rules, Json& found, const std::string& pointer) {
    const std::size_t least = rules.value("minItems", 0u), most = rules.value("maxItems", 1000u);
    if (!found.is_array()) {
      const std::string hint = found.is_number() && least == 2
                                   ? "write two numbers: [" + shortened(found) + ", " + shortened(found) + "]"
                                   : "";
      add(pointer, found, "must be a list [ ... ], not " + type_words(found), hint);
      return;
    }
    if (found.size() < least || found.size() > most) {
      const std::string count =
          least == most ? std::to_string(least) : "from " + std::to_string(least) + " to " + std::to_string(most);
      add(pointer, found,
          "must have " + count + (most == 1 ? " entry" : " entries") + ", has " + std::to_string(found.size()));
      if (found.size() > most) return;
    }
    for (std::size_t i = 0; i < found.size(); ++i) {
      value(rules.at("items"), found[i], child(pointer, i));
      if (!rules.value("uniqueItems", false)) continue;
      for (std::size_t j = 0; j < i; ++j) {
        if (found[i] == found[j]) {
          add(child(pointer, i), found[i], "stands in the list twice", "remove one");
          break;
        }
      }
    }
  }

  void text(const Json& rules, const Json& found, const std::string& pointer) {
    if (!found.is_string()) {
      add(pointer, found, "must be a text in double quotes, not " + type_words(found),
          found.is_number() ? "write \"" + shortened(found) + "\"" : "");
      return;
    }
    const std::string& words = found.get_ref<const std::string&>();
    const std::size_t size = code_points(words), least = rules.value("minLength", 0u),
                      most = rules.value("maxLength", 10000u);
    if (size < least) {
      add(pointer, found,
          least == 1 ? "must not be empty" : "must have at least " + std::to_string(least) + " letters");
      return;
    }
    if (size > most) {
      add(pointer, found, "has " + std::to_string(size) + " letters, at most " + std::to_string(most) + " are allowed");
      return;
    }
    if (!rules.contains("pattern")) return;
    const Pattern& pattern = find_pattern(rules["pattern"].get<std::string>());
    if (!words.empty() && pattern.first(words[0]) && std::all_of(words.begin() + 1, words.end(), pattern.rest)) return;
    const bool id = &pattern == &patterns[0];
    const std::string better = id ? tidy_id(words) : "";
    add(pointer, found, std::string("must be ") + pattern.words,
        better.empty() ? "" : "did you mean `" + better + "`?");
  }

  void boolean(const Json& found, const std::string& pointer) {
    if (found.is_boolean()) return;
    std::string hint;
    if (found == "true" || found == "yes" || found == "on" || found == 1) hint = "write true, without quotes";
    if (found == "false" || found == "no" || found == "off" || found == 0) hint = "write false, without quotes";
    add(pointer, found, "must be true or false, not " + type_words(found), hint);
  }

  void number(const Json& rules, const Json& found, const std::string& pointer, bool whole) {
    const std::string key = last_key(pointer);
    if (!found.is_number()) {
      add(pointer, found,
          std::string("must be a ") + (whole ? "whole number" : "number") + ", not " + type_words(found),
          number_hint(found, key));
      return;
    }
    const double amount = found.get<double>();
    if (whole && amount != static_cast<double>(static_cast<long long>(std::min(std::max(amount, -1e15), 1e15)))) {
      add(pointer, found, "must be a whole number");
      return;
    }
    if (!rules.contains("minimum") || !rules.contains("maximum")) return;
    const double least = rules["minimum"].get<double>(), most = rules["maximum"].get<double>();
    if (amount >= least && amount <= most) return;
    const std::string unit = unit_of(key);
    std::string hint;
    if (rules.contains("x-usual")) {
      hint = unit_slip(key, amount, rules["x-usual"][0].get<double>(), rules["x-usual"][1].get<double>());
      if (hint.empty() && least >= 0 && -amount >= least && -amount <= most) {
        hint = "did you mean " + number_text(-amount) + "?";
      }
    }
    add(pointer, found,
        "must be from " + number_text(least) + " to " + number_text(most) + (unit.empty() ? "" : " " + unit), hint);
  }

  /// "2600 mm", "2,6" or "2600" in quotes.
  static std::string number_hint(const Json& found, const std::string& key) {
    if (found.is_array() && found.size() == 1) return "write the number without brackets";
    if (!found.is_string()) return "";
    const std::string& text = found.get_ref<const std::string&>();
    std::size_t end = 0;
    bool comma = false;
    while (end < text.size() &&
           (is_digit(text[end]) || text[end] == '.' || text[end] == ',' || (end == 0 && text[end] == '-'))) {
      comma = comma || text[end] == ',';
      ++end;
    }
    if (end == 0) return "";
    std::string digits = text.substr(0, end);
    std::replace(digits.begin(), digits.end(), ',', '.');
    std::string hint = "write " + digits + " without quotes";
    if (comma) hint += ", with a point";
    if (end < text.size() && !unit_of(key).empty()) hint += "; " + key + " is " + unit_sentence(key);
    return hint;
  }

  const Json& root_;
  std::vector<Problem>& problems_;
  std::vector<Note>& notes_;
  std::vector<Note>& assumed_;
};

}  // namespace

const std::vector<std::string>& known_schema_keywords() {
  static const std::vector<std::string> keywords = {"$schema",     "$ref",       "title",     "description",
                                                    "type",        "properties", "required",  "additionalProperties",
                                                    "items",       "minItems",   "maxItems",  "uniqueItems",
                                                    "minimum",     "maximum",    "minLength", "maxLength",
                                                    "pattern",     "enum",       "const",     "oneOf",
                                                    "definitions", "default",    "x-usual",   "x-matters-if"};
  return keywords;
}

const Json* schema_keyword(const Json& root, const Json& schema, const std::string& keyword) {
  const Json* at = &schema;
  while (true) {
    if (at->contains(keyword)) return &at->at(keyword);
    if (!at->contains("$ref")) return nullptr;
    at = &referred(root, *at);
  }
}

const Json* schema_branch(const Json& root, const Json& schema, const Json& value) {
  const Json& rules = settled(root, schema);
  if (!rules.contains("oneOf")) return &rules;
  const std::string key = discriminator(root, rules["oneOf"]);
  for (const Json& each : rules["oneOf"]) {
    const Json& branch = settled(root, each);
    if (branch.contains("const")) {
      if (branch["const"] == value) return &branch;
    } else if (branch.value("type", "object") == "number") {
      if (value.is_number()) return &branch;
    } else if (value.is_object()) {
      if (key.empty()) return &branch;
      if (value.contains(key) && branch["properties"][key]["const"] == value[key]) return &branch;
    }
  }
  return nullptr;
}

const Json* schema_at(const Json& root, const Json& document, const std::string& pointer) {
  const auto steps = pointer_steps(pointer);
  if (!steps) return nullptr;
  static const Json nothing;
  const Json* schema = &root;
  const Json* value = &document;
  for (const std::string& step : *steps) {
    schema = schema_branch(root, *schema, *value);
    if (!schema) return nullptr;
    if (schema->contains("properties")) {
      if (!schema->at("properties").contains(step)) return nullptr;
      schema = &schema->at("properties")[step];
      value = value->is_object() && value->contains(step) ? &value->at(step) : &nothing;
    } else if (schema->contains("items")) {
      const auto index = array_index(step);
      value = value->is_array() && index && *index < value->size() ? &(*value)[*index] : &nothing;
      schema = &schema->at("items");
    } else {
      return nullptr;
    }
  }
  return schema;
}

void check_against_schema(const Json& root, Json& document, std::vector<Problem>& problems, std::vector<Note>& notes,
                          std::vector<Note>& assumed) {
  Walk(root, problems, notes, assumed).value(root, document, "");
}

}  // namespace bedwright
