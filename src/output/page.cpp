#include "output/page.h"

#include "base/embedded.h"
#include "base/error.h"
#include "base/markup.h"
#include "base/sha256.h"

namespace bedwright {
namespace {

// In the order they are run in.
constexpr const char* scripts[] = {"shapes.js",  "raster.js",   "views.js",  "pictures.js",
                                   "bed_map.js", "sections.js", "places.js", "page.js"};

}  // namespace

std::string_view needed_page_file(const char* name) {
  const std::string_view text = page_file(name);
  if (text.empty()) throw Error(std::string("the program lacks ") + name);
  return text;
}

std::string page_scripts() {
  std::string own;
  for (const char* script : scripts) own += needed_page_file(script);
  return own;
}

std::string source_hash(std::string_view text) {
  const std::string hex = sha256(std::string(text));
  std::string bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes += static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16));
  return "'sha256-" + base64(bytes) + "'";
}

std::string base64(std::string_view bytes) {
  static constexpr char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  const auto at = [&](std::size_t i) {
    return i < bytes.size() ? static_cast<unsigned>(static_cast<unsigned char>(bytes[i])) : 0u;
  };
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const unsigned word = at(i) << 16 | at(i + 1) << 8 | at(i + 2);
    for (int k = 0; k < 4; ++k)
      text += i + static_cast<std::size_t>(k) <= bytes.size() ? digits[word >> (18 - 6 * k) & 63] : '=';
  }
  return text;
}

std::string script_safe(const Json& document) {
  const std::string text = document.dump(-1, ' ', false, Json::error_handler_t::replace);
  std::string safe;
  safe.reserve(text.size() + text.size() / 16);
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '<') {
      safe += "\\u003c";
    } else if (c == '>') {
      safe += "\\u003e";
    } else if (c == '&') {
      safe += "\\u0026";
    } else if (c == '\xe2' && text.compare(i, 2, "\xe2\x80") == 0 && i + 2 < text.size() &&
               (text[i + 2] == '\xa8' || text[i + 2] == '\xa9')) {
      safe += text[i + 2] == '\xa8' ? "\\u2028" : "\\u2029";
      i += 2;
    } else {
      safe += c;
    }
  }
  return safe;
}

std::string page_html(const Kit& kit, const Report& report, const std::vector<PagePart>& parts) {
  const std::string own = "\n\"use strict\";\n(() => {\n" + page_scripts() + "})();\n";
  const std::string_view three = needed_page_file("three.min.js"), style = needed_page_file("page.css");
  static const std::string three_hash = source_hash(three);
  std::string html;
  html.reserve(std::size_t(3) << 20);
  html +=
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src ";
  html += three_hash + " " + source_hash(own) + "; style-src " + source_hash(style);
  html +=
      "; img-src data: blob:; form-action 'none'; base-uri 'none'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"referrer\" content=\"no-referrer\">\n<link rel=\"icon\" href=\"data:,\">\n<title>";
  html += escaped_markup(kit.name + " revision " + kit.revision);
  html += "</title>\n<style>";
  html += style;
  html += "</style>\n</head>\n<body>\n";
  html += needed_page_file("page.html");
  html += "<script type=\"application/json\" id=\"set\">";
  html += script_safe(page_data(kit, report, parts));
  html += std::string("</script>\n") + three_notice + "<script>";
  html += three;
  html += "</script>\n<script>";
  html += own;
  html += "</script>\n</body>\n</html>\n";
  return html;
}

}  // namespace bedwright
