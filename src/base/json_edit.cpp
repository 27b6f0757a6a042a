#include "base/json_edit.h"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <vector>

#include "base/error.h"

namespace bedwright {
namespace {

using Value = nlohmann::ordered_json;

constexpr std::size_t longest_line = 120;

struct Span {
  std::size_t first = 0, last = 0;  ///< [first, last)
};

struct Member {
  std::string key;  ///< empty in a list
  Span value;
  std::size_t begin = 0;  ///< where its line of text begins: the key's quote, or the value
};

/// Walks over text that a parser has already accepted.
class Scanner {
 public:
  explicit Scanner(const std::string& text) : text_(text) {}

  std::size_t skip_space(std::size_t i) const {
    if (i == 0 && text_.compare(0, 3, "\xEF\xBB\xBF") == 0) i = 3;
    while (i < text_.size() && (text_[i] == ' ' || text_[i] == '\t' || text_[i] == '\n' || text_[i] == '\r')) ++i;
    return i;
  }

  std::size_t after_string(std::size_t i) const {
    for (++i; text_.at(i) != '"'; ++i)
      if (text_[i] == '\\') ++i;
    return i + 1;
  }

  std::size_t after_value(std::size_t i) const {
    if (text_.at(i) == '"') return after_string(i);
    if (text_[i] == '{' || text_[i] == '[') {
      int depth = 0;
      do {
        const char c = text_.at(i);
        if (c == '"') {
          i = after_string(i);
          continue;
        }
        depth += c == '{' || c == '[' ? 1 : c == '}' || c == ']' ? -1 : 0;
        ++i;
      } while (depth > 0);
      return i;
    }
    return std::min(text_.find_first_of(",}] \t\r\n", i), text_.size());
  }

  std::vector<Member> members(Span container) const {
    std::vector<Member> found;
    const bool object = text_.at(container.first) == '{';
    std::size_t i = skip_space(container.first + 1);
    while (i + 1 < container.last) {
      Member m;
      m.begin = i;
      if (object) {
        const std::size_t end = after_string(i);
        m.key = Value::parse(text_.substr(i, end - i)).get<std::string>();
        i = skip_space(skip_space(end) + 1);
      }
      m.value = {i, after_value(i)};
      found.push_back(m);
      i = skip_space(m.value.last);
      if (text_.at(i) != ',') break;
      i = skip_space(i + 1);
    }
    return found;
  }

 private:
  const std::string& text_;
};

std::vector<std::string> steps_of(const std::string& pointer) {
  std::vector<std::string> steps;
  if (!pointer.empty() && pointer[0] != '/') throw Error("`" + pointer + "` is not a JSON pointer");
  for (std::size_t i = 0; i < pointer.size();) {
    const std::size_t end = std::min(pointer.find('/', i + 1), pointer.size());
    std::string step;
    for (std::size_t k = i + 1; k < end; ++k) {
      const char next = k + 1 < end ? pointer[k + 1] : '\0';
      if (pointer[k] == '~' && next != '0' && next != '1') throw Error("`" + pointer + "` is not a JSON pointer");
      step += pointer[k] == '~' ? (next == '0' ? '~' : '/') : pointer[k];
      if (pointer[k] == '~') ++k;
    }
    steps.push_back(step);
    i = end;
  }
  return steps;
}

/// As on one line: "{ "a": 1, "b": [1, 2] }".
std::string on_one_line(const Value& value) {
  if (value.is_array() && !value.empty()) {
    std::string text;
    for (const Value& v : value) text += (text.empty() ? "[" : ", ") + on_one_line(v);
    return text + "]";
  }
  if (value.is_object() && !value.empty()) {
    std::string text;
    for (const auto& [key, v] : value.items())
      text += (text.empty() ? "{ " : ", ") + Value(key).dump() + ": " + on_one_line(v);
    return text + " }";
  }
  return value.dump();
}

struct Style {
  std::string line_end, step;
  bool one_line = false;
};

/// `indent`: of the line that the value begins on; `column`: where on it.
std::string laid_out(const Value& value, const Style& style, const std::string& indent, std::size_t column) {
  std::string line = on_one_line(value);
  if (style.one_line || !value.is_structured() || value.empty() || column + line.size() + 1 <= longest_line)
    return line;
  const std::string inner = indent + style.step;
  std::string text;
  for (const auto& [key, v] : value.items()) {
    text += (text.empty() ? "" : ",") + style.line_end + inner;
    const std::string name = value.is_object() ? Value(key).dump() + ": " : "";
    text += name + laid_out(v, style, inner, inner.size() + name.size());
  }
  const bool object = value.is_object();
  return (object ? "{" : "[") + text + style.line_end + indent + (object ? "}" : "]");
}

/// The blanks at the beginning of the line that holds the byte.
std::string indent_of(const std::string& text, std::size_t at) {
  const std::size_t begin = at == 0 ? 0 : text.rfind('\n', at - 1) + 1;  // npos + 1 is 0
  const std::size_t end = std::min(text.find_first_not_of(" \t", begin), text.size());
  return text.substr(begin, std::min(end, at) - begin);
}

std::size_t column_of(const std::string& text, std::size_t at) {
  return at - (at == 0 ? 0 : text.rfind('\n', at - 1) + 1);
}

bool starts_its_line(const std::string& text, std::size_t at) {
  return indent_of(text, at).size() == column_of(text, at);
}

/// One level of indentation, as the outermost object shows it; two blanks where it does not.
std::string indent_step(const std::string& text, const Scanner& scanner, Span root) {
  const auto members = scanner.members(root);
  if (members.empty() || !starts_its_line(text, members.front().begin)) return "  ";
  const std::string inner = indent_of(text, members.front().begin), outer = indent_of(text, root.first);
  return inner.size() > outer.size() ? inner.substr(outer.size()) : "  ";
}

std::optional<std::size_t> index_of(const std::string& step, std::size_t count) {
  if (step == "-") return count;
  if (step.empty() || step.size() > 9 || (step.size() > 1 && step[0] == '0')) return std::nullopt;
  if (step.find_first_not_of("0123456789") != std::string::npos) return std::nullopt;
  return std::stoul(step);
}

std::string insert_into(const std::string& text, const std::vector<Member>& members, Span container,
                        const std::string& name, const Value& value, Style style) {
  const bool object = text[container.first] == '{';
  const bool first = members.empty();
  const bool spread = first ? true : starts_its_line(text, members.back().begin);
  if (spread) {
    const std::string indent =
        first ? indent_of(text, container.first) + style.step : indent_of(text, members.back().begin);
    const std::string put = name + laid_out(value, style, indent, indent.size() + name.size());
    const std::size_t at = first ? container.first + 1 : members.back().value.last;
    const std::string before = text.substr(0, at) + (first ? "" : ",") + style.line_end + indent + put;
    if (!first) return before + text.substr(at);
    return before + style.line_end + indent_of(text, container.first) + (object ? "}" : "]") +
           text.substr(container.last);
  }
  style.one_line = true;
  const std::size_t at = members.back().value.last;
  return text.substr(0, at) + ", " + name + laid_out(value, style, "", 0) + text.substr(at);
}

}  // namespace

std::string with_value_at(const std::string& text, const std::string& pointer, const Value& value) {
  if (!Value::accept(text)) throw Error("the text to change is not JSON");
  const Scanner scanner(text);
  const std::size_t begin = scanner.skip_space(0);
  const Span root{begin, scanner.after_value(begin)};
  Style style;
  style.line_end = text.find("\r\n") != std::string::npos ? "\r\n" : "\n";
  style.step = text[begin] == '{' || text[begin] == '[' ? indent_step(text, scanner, root) : "  ";

  const std::vector<std::string> steps = steps_of(pointer);
  Span at = root;
  for (std::size_t k = 0; k < steps.size(); ++k) {
    const char kind = text[at.first];
    if (kind != '{' && kind != '[')
      throw Error("`" + pointer + "` leads through a value that has no members, at `" + steps[k] + "`");
    const auto members = scanner.members(at);
    std::optional<std::size_t> found;
    std::string name;
    if (kind == '{') {
      for (std::size_t i = 0; i < members.size(); ++i)
        if (members[i].key == steps[k]) found = i;
      name = Value(steps[k]).dump() + ": ";
    } else {
      found = index_of(steps[k], members.size());
      if (!found || *found > members.size()) throw Error("`" + pointer + "`: the list has no place `" + steps[k] + "`");
      if (*found == members.size()) found.reset();
    }
    if (!found) {
      Value missing = value;
      for (std::size_t j = steps.size() - 1; j > k; --j) missing = Value{{steps[j], missing}};
      return insert_into(text, members, at, name, missing, style);
    }
    at = members[*found].value;
  }
  const std::string indent = indent_of(text, at.first);
  const std::string old = text.substr(at.first, at.last - at.first);
  // What stood on one line between other things stays on one line; what had lines of its own may have them again.
  style.one_line = old.find('\n') == std::string::npos && !steps.empty() && text[root.first] == '{' &&
                   text.substr(root.first, root.last - root.first).find('\n') == std::string::npos;
  return text.substr(0, at.first) + laid_out(value, style, indent, column_of(text, at.first)) + text.substr(at.last);
}

}  // namespace bedwright
