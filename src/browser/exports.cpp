// The door between a page and the core: a page gives bytes by name, asks with a JSON text, and reads a JSON text or
// bytes back. One visit at a time. Nothing thrown leaves: an answer says {"ok": false, "problems": [...]}.
#include <cstdint>
#include <map>
#include <memory>
#include <new>
#include <string>

#include "base/embedded.h"
#include "base/error.h"
#include "base/program_digest.h"
#include "base/sha256.h"
#include "kit/straightedge.h"
#include "output/page.h"
#include "output/zip.h"
#include "visit/visit.h"
#include "visit/visit_text.h"
#include "visit/visitor_map.h"

namespace {

using namespace bedwright;

std::map<std::string, std::string> given;
std::string three;  // the page has it anyway
std::unique_ptr<Visit> visit;
std::string answer, bytes;

Json to_json_text(const std::vector<Problem>& problems) {
  Json list = Json::array();
  for (const Problem& p : problems)
    list.push_back({{"pointer", p.pointer}, {"value", p.value}, {"message", p.message}, {"hint", p.hint}});
  return list;
}

Json refused(const std::string& message) {
  return {{"ok", false}, {"problems", {{{"pointer", ""}, {"value", ""}, {"message", message}, {"hint", ""}}}}};
}

std::vector<Setting> settings_of(const Json& values) {
  std::vector<Setting> settings;
  for (const Json& v : values) settings.emplace_back(v.at(0).get<std::string>(), v.at(1).get<std::string>());
  return settings;
}

Json opened() {
  const auto kit_text = given.find("kit.json");
  if (kit_text == given.end()) return refused("no kit was given");
  std::map<std::string, std::string> beside = given;
  beside.erase("kit.json");
  visit = std::make_unique<Visit>(kit_text->second, std::move(beside));
  given.clear();
  const Kit& kit = visit->kit();
  return {{"ok", true},
          {"fields", fields_json(visit->fields())},
          {"inputs", kit.input_sha256},
          {"program", std::string(program_digest())}};
}

Json straightedge(const Json& ask) {
  const double length = ask.at("length_mm").get<double>(), gap = ask.at("gap_mm").get<double>();
  if (!(length > 0) || !(gap > 0) || !(gap < length / 2))
    return refused("the gap must be more than nothing and less than half the straightedge");
  const double u = feeler_uncertainty_mm;
  Json result = {{"ok", true}, {"radius_mm", radius_from_straightedge(length, gap)}};
  result["least_mm"] = gap + 2 * u < length / 2 ? Json(radius_from_straightedge(length, gap + 2 * u)) : Json(nullptr);
  result["greatest_mm"] = gap > 2 * u ? Json(radius_from_straightedge(length, gap - 2 * u)) : Json(nullptr);
  return result;
}

Json leveled(const Json& ask) {
  VisitorMap map;
  map.text = ask.at("text").get<std::string>();
  if (!ask.at("extent").is_null()) {
    const auto v = ask.at("extent").get<std::vector<double>>();
    map.extent = GridExtent{{v.at(0), v.at(1)}, {v.at(2), v.at(3)}};
  }
  map.convention.positive_high = ask.at("positive_high").get<bool>();
  map.convention.quarter_turns = ask.at("quarter_turns").get<int>();
  map.convention.mirrored = ask.at("mirrored").get<bool>();
  const LevelReport report = level_visitor_map(visit->kit_now(), map);
  return {{"ok", true}, {"level", level_document(report)}, {"words", level_text(report)}};
}

Json answered(const Json& ask) {
  const std::string what = ask.at("do").get<std::string>();
  if (what == "open") return opened();
  if (what == "straightedge") return straightedge(ask);
  if (what == "read-text") {
    const VisitText read = read_visit(ask.at("text").get<std::string>(), "the text");
    return {{"ok", true},
            {"kit", read.kit},
            {"revision", read.revision},
            {"inputs", read.inputs},
            {"values", read.values},
            {"taken", read.taken}};
  }
  if (!visit) return refused("no kit is open");
  if (what == "begin") {
    visit->begin(settings_of(ask.at("values")));
    return {{"ok", true}};
  }
  if (what == "step") {
    const bool more = visit->step();
    return {{"ok", true}, {"more", more}, {"built", visit->built()}};
  }
  if (what == "scene" && visit->built()) return {{"ok", true}, {"data", visit->scene()}};
  if (what == "write-text") {
    VisitText text;
    text.kit = visit->kit().name;
    text.revision = visit->kit().revision;
    text.inputs = visit->kit().input_sha256.substr(0, 12);
    text.values = settings_of(ask.at("values"));
    text.taken = ask.value("taken", std::vector<std::string>());
    return {{"ok", true}, {"text", to_text(text)}};
  }
  if (what == "level") return leveled(ask);
  if (!visit->done()) return refused("the set is still being made");
  if (what == "data") return {{"ok", true}, {"data", visit->data()}, {"verdict", visit->verdict()}};
  if (what == "files") {
    Json list = Json::array();
    for (const auto& [name, content] : visit->files())
      list.push_back({{"name", name}, {"bytes", content.size()}, {"sha256", sha256(content)}});
    return {{"ok", true}, {"files", list}};
  }
  if (what == "names")
    return {{"ok", true}, {"names", visit->errors() ? std::vector<std::string>() : visit->report().files}};
  return refused("nothing known is asked: " + what);
}

}  // namespace

namespace bedwright {

std::string_view page_file_within(std::string_view name);
std::string_view page_file(std::string_view name) {
  return name == "three.min.js" ? std::string_view(three) : page_file_within(name);
}

}  // namespace bedwright

extern "C" {

/// Memory for what the page gives; the page frees nothing, bw_give and bw_ask do.
char* bw_room(std::uint32_t size) {
  return static_cast<char*>(::operator new(size));
}

void bw_give(char* name, std::uint32_t name_size, char* content, std::uint32_t size) {
  const std::string as(name, name_size);
  (as == "three.min.js" ? three : given[as]).assign(content, size);
  ::operator delete(name);
  ::operator delete(content);
}

/// The answer stays until the next question.
const char* bw_ask(char* text, std::uint32_t size) {
  const std::string question(text, size);
  ::operator delete(text);
  Json result;
  try {
    result = answered(Json::parse(question));
  } catch (const BadInput& e) {
    result = {{"ok", false}, {"problems", to_json_text(e.problems)}};
  } catch (const std::bad_alloc&) {
    result = refused("the browser gives no more memory; close other pages and load this one again");
  } catch (const std::exception& e) {
    result = refused(e.what());
  }
  answer = result.dump(-1, ' ', false, Json::error_handler_t::replace);
  return answer.c_str();
}
std::uint32_t bw_answer_size() {
  return static_cast<std::uint32_t>(answer.size());
}

/// Bytes by name: "set/stl/adapter-a.stl" of the visitor's set, "kit/kit.json" of the visitor's kit, "set.zip" and
/// "kit.zip" whole. Null where there are none.
const char* bw_bytes(char* text, std::uint32_t size) {
  const std::string name(text, size);
  ::operator delete(text);
  try {
    const auto rest = [&](const char* start) {
      const std::string begin = start;
      return name.compare(0, begin.size(), begin) == 0 ? name.substr(begin.size()) : std::string();
    };
    if (!visit || !visit->done()) return nullptr;
    if (const std::string file = rest("set/"); !file.empty()) {
      const auto found = visit->files().find(file);
      if (found == visit->files().end()) return nullptr;
      bytes = found->second;
      return bytes.data();
    }
    if (const std::string file = rest("kit/"); !file.empty()) {
      const auto files = visit->kit_files();
      const auto found = files.find(file);
      if (found == files.end()) return nullptr;
      bytes = found->second;
      return bytes.data();
    }
    std::vector<std::pair<std::string, std::string>> entries;
    const std::string folder = visit->kit().name + "-" + visit->kit().revision + "/", set = folder + "set/";
    if (name == "set.zip")
      for (const auto& [file, content] : visit->files()) entries.emplace_back(set + file, content);
    if (name == "set.zip" || name == "kit.zip")
      for (const auto& [file, content] : visit->kit_files()) entries.emplace_back(folder + file, content);
    if (entries.empty()) return nullptr;
    bytes = to_zip(entries);
    return bytes.data();
  } catch (const std::exception&) {
    return nullptr;
  }
}
std::uint32_t bw_bytes_size() {
  return static_cast<std::uint32_t>(bytes.size());
}

}  // extern "C"
