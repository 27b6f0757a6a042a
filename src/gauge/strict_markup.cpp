#include "gauge/strict_markup.h"

#include <expat.h>

#include <algorithm>
#include <exception>
#include <memory>

#include "base/error.h"
#include "gauge/model_markup.h"

namespace bedwright {
namespace {

constexpr char between = '\n';  // stands in no namespace and no name
constexpr int deepest = 64;
constexpr std::size_t block_bytes = std::size_t{1} << 20;
constexpr const char* xml_space = "http://www.w3.org/XML/1998/namespace";

MarkupName split(const char* text) {
  const std::string whole(text);
  const std::size_t at = whole.find(between);
  if (at == whole.npos) return {"", whole};
  return {whole.substr(0, at), whole.substr(at + 1)};
}

struct Reading {
  XML_Parser parser = nullptr;
  const std::string& source;
  const MarkupHandler& handler;
  std::size_t& line;
  int depth = 0;
  std::exception_ptr failure;

  [[noreturn]] void refuse(const std::string& why) const {
    throw BadInput(source, {Problem{"line " + std::to_string(line), "", why, ""}});
  }

  /// Nothing may be thrown through the C library: kept, and thrown on when it has returned.
  template <typename Step>
  void guarded(Step step) {
    if (failure) return;
    line = XML_GetCurrentLineNumber(parser);
    try {
      step();
    } catch (...) {
      failure = std::current_exception();
      XML_StopParser(parser, XML_FALSE);
    }
  }
};

void XMLCALL on_start(void* user, const char* name, const char** attributes) {
  Reading& r = *static_cast<Reading*>(user);
  r.guarded([&] {
    if (++r.depth > deepest) r.refuse("markup is nested more than " + std::to_string(deepest) + " deep");
    std::vector<MarkupAttribute> list;
    for (; *attributes; attributes += 2) {
      list.push_back({split(attributes[0]), attributes[1]});
      if (list.back().name.space == xml_space && list.back().name.name == "space")
        r.refuse("xml:space is not allowed (core specification 2.3.4)");
    }
    r.handler.start(split(name), list);
  });
}

void XMLCALL on_end(void* user, const char* name) {
  Reading& r = *static_cast<Reading*>(user);
  r.guarded([&] {
    --r.depth;
    r.handler.end(split(name));
  });
}

void XMLCALL on_namespace(void* user, const char* prefix, const char* space) {
  Reading& r = *static_cast<Reading*>(user);
  r.guarded([&] {
    if (r.handler.declared) r.handler.declared(prefix ? prefix : "", space ? space : "");
  });
}

void XMLCALL on_doctype(void* user, const char*, const char*, const char*, int) {
  Reading& r = *static_cast<Reading*>(user);
  r.guarded([&] { r.refuse("a document type is not allowed (core specification 2.3.2)"); });
}

void XMLCALL on_declaration(void* user, const char*, const char* encoding, int) {
  Reading& r = *static_cast<Reading*>(user);
  r.guarded([&] {
    const std::string name = encoding ? encoding : "utf-8";
    if (small_letters(name) != "utf-8") r.refuse("is not in UTF-8 (core specification 2.3.2)");
  });
}

}  // namespace

void read_markup(const std::string& xml, const std::string& source, const MarkupHandler& handler, std::size_t& line) {
  const std::unique_ptr<XML_ParserStruct, decltype(&XML_ParserFree)> parser(XML_ParserCreateNS(nullptr, between),
                                                                            &XML_ParserFree);
  if (!parser) throw Error("no memory to read markup with");
  Reading reading{parser.get(), source, handler, line, 0, nullptr};
  if (xml.compare(0, 2, "\xff\xfe") == 0 || xml.compare(0, 2, "\xfe\xff") == 0)
    reading.refuse("is not in UTF-8 (core specification 2.3.2)");
  XML_SetUserData(parser.get(), &reading);
  XML_SetElementHandler(parser.get(), on_start, on_end);
  XML_SetStartNamespaceDeclHandler(parser.get(), on_namespace);
  XML_SetStartDoctypeDeclHandler(parser.get(), on_doctype);
  XML_SetXmlDeclHandler(parser.get(), on_declaration);
  std::size_t at = 0;
  do {
    const std::size_t size = std::min(block_bytes, xml.size() - at);
    const bool last = at + size == xml.size();
    const XML_Status status = XML_Parse(parser.get(), xml.data() + at, static_cast<int>(size), last);
    if (reading.failure) std::rethrow_exception(reading.failure);
    if (status != XML_STATUS_OK) {
      line = XML_GetCurrentLineNumber(parser.get());
      reading.refuse(std::string("is no well-formed XML: ") + XML_ErrorString(XML_GetErrorCode(parser.get())));
    }
    at += size;
  } while (at < xml.size());
}

}  // namespace bedwright
