#include "visit/visit_text.h"

#include "base/crc32.h"
#include "base/error.h"

namespace bedwright {
namespace {

constexpr const char *first_line = "bedwright visit 1", *digits = "0123456789abcdef";

/// What the check covers: a line break of another system or a mail's indent is no change.
std::string check_of(const std::string& lines) {
  const std::uint32_t sum = crc32(lines);
  std::string text;
  for (int shift = 28; shift >= 0; shift -= 4) text += digits[sum >> shift & 15];
  return text;
}

std::string one_line(const std::string& text) {
  std::string line;
  for (const char c : text) line += static_cast<unsigned char>(c) < 32 ? ' ' : c;
  return line;
}

std::string trimmed(const std::string& line) {
  const char* space = " \t\r>";  // mail puts > before what it quotes
  const std::size_t from = line.find_first_not_of(space);
  if (from == std::string::npos) return "";
  return line.substr(from, line.find_last_not_of(" \t\r") - from + 1);
}

bool begins(const std::string& line, const std::string& with) {
  return line.compare(0, with.size(), with) == 0;
}

}  // namespace

std::string to_text(const VisitText& visit) {
  std::string lines = std::string(first_line) + "\n";
  lines += trimmed("kit " + visit.kit + " revision " + visit.revision + " inputs " + visit.inputs) + "\n";
  for (const auto& [pointer, value] : visit.values) lines += trimmed(one_line(pointer + " = " + value)) + "\n";
  for (const std::string& taken : visit.taken) lines += trimmed(one_line("taken " + taken)) + "\n";
  return lines + "check " + check_of(lines) + "\n";
}

VisitText read_visit(const std::string& text, const std::string& source) {
  const auto bad = [&](int line, const std::string& value, const std::string& message, const std::string& hint) {
    return BadInput(source, {{line > 0 ? "line " + std::to_string(line) : "", value.substr(0, 60), message, hint}});
  };
  if (text.size() > largest_visit_bytes)
    throw bad(0, "", "has " + std::to_string(text.size()) + " bytes; a visitor's text is short", "is it another file?");
  VisitText visit;
  std::string lines;
  bool begun = false, whole = false;
  int number = 0;
  for (std::size_t at = 0; at <= text.size() && !whole; ++number) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = trimmed(text.substr(at, end - at));
    at = end + 1;
    if (!begun) {
      begun = line == first_line;
      if (begun) lines = line + "\n";
      continue;  // a greeting may stand before it
    }
    if (line.empty()) continue;
    if (begins(line, "check ")) {
      if (line.substr(6) != check_of(lines))
        throw bad(number + 1, line, "the text is not as the page wrote it", "copy it again, whole");
      whole = true;
      continue;
    }
    lines += line + "\n";
    const std::size_t revision = line.find(" revision "), inputs = line.rfind(" inputs ");
    if (begins(line, "kit ") && revision != std::string::npos && inputs != std::string::npos && revision < inputs) {
      visit.kit = line.substr(4, revision - 4);
      visit.revision = line.substr(revision + 10, inputs - revision - 10);
      visit.inputs = line.substr(inputs + 8);
    } else if (begins(line, "taken ")) {
      visit.taken.push_back(line.substr(6));
    } else if (line[0] == '/' && line.find(" =") != std::string::npos) {
      const std::size_t equals = line.find(" =");
      visit.values.emplace_back(line.substr(0, equals), trimmed(line.substr(equals + 2)));
      if (visit.values.size() > most_visit_values)
        throw bad(number + 1, "", "more values than any kit opens", "is it another file?");
    } else {
      throw bad(number + 1, line, "says nothing that a visitor's text says", "copy the text again, whole");
    }
  }
  if (!begun) throw bad(0, "", "is no visitor's text", std::string("it begins with the line \"") + first_line + "\"");
  if (!whole) throw bad(0, "", "breaks off before its last line, the check", "copy it again, whole");
  return visit;
}

}  // namespace bedwright
