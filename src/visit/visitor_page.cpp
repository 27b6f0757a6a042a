#include "visit/visitor_page.h"

#include "base/error.h"
#include "base/markup.h"
#include "output/trials.h"
#include "visit/fields.h"

namespace bedwright {
namespace {

constexpr const char* core_file = "core.wasm.packed";

std::string_view needed(const VisitorPageSource& source, const char* name) {
  const std::string_view text = source.file(name);
  if (text.empty()) throw Error(std::string("the program lacks ") + name);
  return text;
}

Json published_json(const Kit& kit, const VisitorPageSource& source) {
  Json beside = Json::object(), list = Json::array(), changes = Json::array();
  for (const auto& [name, bytes] : source.beside) beside[name] = base64(bytes);
  for (const Trial& trial : trials()) {
    const TestedThing* done = result_of_trial(kit, trial.id);
    list.push_back({{"id", trial.id},
                    {"title", trial.title},
                    {"take", trial.take},
                    {"good", trial.good},
                    {"result", done ? Json(done->result) : Json(nullptr)},
                    {"on", done ? Json(done->on) : Json(nullptr)}});
  }
  for (const RevisionNote& c : kit.publish.changes) changes.push_back({{"revision", c.revision}, {"what", c.what}});
  return {{"kit", source.kit_text},
          {"beside", std::move(beside)},
          {"fields", fields_json(open_fields(kit, source.kit_text))},
          {"inputs", kit.input_sha256.substr(0, 12)},
          {"trials", std::move(list)},
          {"changes", std::move(changes)},
          {"licence", kit.publish.licence},
          {"terms", kit.publish.licence_text}};
}

/// The set's own skeleton with the visitor's sections round its view.
std::string skeleton(const VisitorPageSource& source) {
  std::string html(needed_page_file("page.html"));
  const auto before = [&](const char* mark, std::string_view what) {
    const std::size_t at = html.find(mark);
    if (at == std::string::npos) throw Error(std::string("the page has no ") + mark);
    html.insert(at, what);
  };
  before("<section id=\"s-view\">", needed(source, "visitor.html"));
  before("<section id=\"s-findings\">", needed(source, "visitor_after.html"));
  return html;
}

}  // namespace

bool has_browser_core(const VisitorPageSource& source) {
  return !source.file(core_file).empty();
}

std::string visitor_page_html(const Kit& kit, const Report& report, const std::vector<PagePart>& parts,
                              const VisitorPageSource& source) {
  std::string own = "\n\"use strict\";\n(async () => {\n";
  own += needed(source, "boot.js");
  own += page_scripts();
  own += needed(source, "sketches.js");
  own += needed(source, "visitor.js");
  own += "})();\n";
  std::string core(needed(source, "core.js"));
  core += "\n";
  core += needed(source, "host.js");
  // Text in a script element ends at the first of these.
  if (core.find("</script") != std::string::npos || core.find("<!--") != std::string::npos)
    throw Error("the core's script cannot stand in a page");
  std::string style(needed_page_file("page.css"));
  style += needed(source, "visitor.css");
  std::string html;
  html.reserve(std::size_t(4) << 20);
  html +=
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'wasm-unsafe-eval' ";
  html += source_hash(needed_page_file("three.min.js")) + " " + source_hash(core) + " " + source_hash(own);
  html += "; style-src " + source_hash(style);
  html +=
      "; img-src data: blob:; worker-src blob:; form-action 'none'; base-uri 'none'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"referrer\" content=\"no-referrer\">\n<link rel=\"icon\" href=\"data:,\">\n<title>";
  html += escaped_markup(kit.name + " revision " + kit.revision + ": your own parts");
  html += "</title>\n<style>" + style + "</style>\n</head>\n<body>\n" + skeleton(source);
  const auto data = [&](const char* type, const char* id, std::string_view text) {
    html += std::string("<script type=\"") + type + "\" id=\"" + id + "\">";
    html += text;
    html += "</script>\n";
  };
  data("application/json", "set", script_safe(page_data(kit, report, parts, PageReader::visitor)));
  data("application/json", "published", script_safe(published_json(kit, source)));
  data("text/plain", "core-wasm", base64(needed(source, core_file)));
  html += three_notice;
  data("text/plain", "three-packed", base64(needed(source, "three.min.js.packed")));
  data("text/plain", "core-code", core);
  html += "<script>" + own + "</script>\n</body>\n</html>\n";
  return html;
}

}  // namespace bedwright
