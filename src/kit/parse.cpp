#include "kit/parse.h"

#include <algorithm>

#include "kit/pointer.h"

namespace bedwright {
namespace {

struct Place {
  std::size_t line = 1, column = 1;
};

Place place_of(const std::string& text, std::size_t offset) {
  Place place;
  for (std::size_t i = 0; i < offset && i < text.size(); ++i) {
    if (text[i] == '\n') {
      ++place.line;
      place.column = 1;
    } else {
      ++place.column;
    }
  }
  return place;
}

bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

bool is_word(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == '.' ||
         c == '+' || c == '-';
}

/// The word that holds the given byte.
std::string word_at(const std::string& text, std::size_t offset) {
  std::size_t first = std::min(offset, text.size());
  while (first > 0 && is_word(text[first - 1])) --first;
  std::size_t last = first;
  while (last < text.size() && is_word(text[last]) && last - first < 40) ++last;
  return text.substr(first, last - first);
}

std::string lower(std::string word) {
  for (char& c : word) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return word;
}

struct Explained {
  std::string message, hint;
};

Explained explain(const std::string& text, std::size_t offset, const std::string& technical) {
  if (technical.find("UTF-8") != std::string::npos) {
    return {"the file is not UTF-8 text here", "save it as UTF-8"};
  }
  const std::string word = lower(word_at(text, offset));
  const bool negative = !word.empty() && word[0] == '-';
  if (word == "nan" || word == "-nan") return {"NaN is not a number that can be made", "write the value you measured"};
  if (word == "inf" || word == "infinity" || (negative && word.compare(0, 4, "-inf") == 0)) {
    return {"Infinity is not a number that can be made", "for a flat frame write \"shape\": \"flat\""};
  }
  if (offset >= text.size())
    return {"the file ends too early", "a closing } or ] is missing, or a text lacks its closing \""};
  const char c = text[offset];
  std::size_t before = offset;
  while (before > 0 && is_space(text[before - 1])) --before;
  const char previous = before > 0 ? text[before - 1] : '\0';
  if (c == '/' || c == '#' || previous == '/') return {"comments are not allowed", "write a \"note\" key instead"};
  if ((c == '}' || c == ']') && previous == ',') {
    return {std::string("a comma stands before this ") + c, "remove the comma"};
  }
  if (c == '\'') return {"texts stand in double quotes", "write \" instead of '"};
  if (c == '"') return {"something is missing before this \"", "most often a comma at the end of the line before"};
  if (c == '\n' || (static_cast<unsigned char>(c) < 0x20)) {
    return {"a text may not go over the end of the line", "a closing \" is missing"};
  }
  if (!word.empty()) {
    if (word[0] == '+') return {"`" + word + "` is not a JSON number", "write it without +"};
    if (word[0] == '.') return {"`" + word + "` is not a JSON number", "write 0" + word};
    if (word[0] == '0' && word.size() > 1)
      return {"`" + word + "` is not a JSON number", "write it without leading zeros"};
    if (word == "true" || word == "false" || word == "none" || word == "null") {
      return {"`" + word_at(text, offset) + "` is not JSON", "true, false and null are written small"};
    }
    if (word[0] >= 'a' && word[0] <= 'z')
      return {"`" + word_at(text, offset) + "` must stand in double quotes", "write \"" + word_at(text, offset) + "\""};
  }
  return {std::string("`") + c + "` is not expected here", "look for a missing comma, quote or bracket just before"};
}

class Builder : public nlohmann::json_sax<Json> {
 public:
  Builder(const std::string& text, const std::string& root, std::vector<Problem>& problems)
      : text_(text), root_(root), problems_(problems) {}

  Json take() { return std::move(document_); }

  bool null() override { return add(nullptr); }
  bool boolean(bool value) override { return add(value); }
  bool number_integer(number_integer_t value) override { return add(value); }
  bool number_unsigned(number_unsigned_t value) override { return add(value); }
  bool number_float(number_float_t value, const string_t&) override { return add(value); }
  bool string(string_t& value) override { return add(std::move(value)); }
  bool binary(binary_t&) override { return false; }
  bool start_object(std::size_t) override { return open(Json::object()); }
  bool start_array(std::size_t) override { return open(Json::array()); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& name) override {
    Level& level = levels_.back();
    level.key = name;
    if (level.node->contains(name)) {
      problems_.push_back({here(), "", "the key `" + name + "` stands here twice", "keep one of them"});
    }
    return true;
  }

  bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception& error) override {
    if (error.id == out_of_range_id) {
      const std::string word = word_at(text_, position > 0 ? position - 1 : 0);
      problems_.push_back({here(), word, word + " is too large a number", "write the value you measured"});
      return false;
    }
    const std::size_t offset = position > 0 ? position - 1 : 0;
    const Explained why = explain(text_, offset, error.what());
    const Place place = place_of(text_, offset);
    problems_.push_back(
        {here(), "",
         "line " + std::to_string(place.line) + ", column " + std::to_string(place.column) + ": " + why.message,
         why.hint});
    return false;
  }

 private:
  struct Level {
    Json* node;
    std::string pointer, key;
  };
  static constexpr int out_of_range_id = 406;

  std::string here() const {
    if (levels_.empty()) return root_;
    const Level& level = levels_.back();
    if (level.node->is_array()) return child(level.pointer, level.node->size());
    return level.key.empty() ? level.pointer : child(level.pointer, level.key);
  }

  Json* put(Json&& value) {
    if (levels_.empty()) {
      document_ = std::move(value);
      return &document_;
    }
    Json& parent = *levels_.back().node;
    if (parent.is_array()) {
      parent.push_back(std::move(value));
      return &parent.back();
    }
    return &(parent[levels_.back().key] = std::move(value));
  }

  bool add(Json&& value) {
    put(std::move(value));
    if (!levels_.empty()) levels_.back().key.clear();
    return true;
  }

  bool open(Json&& value) {
    std::string pointer = here();
    if (levels_.size() >= deepest_nesting) {
      problems_.push_back({levels_.front().pointer, "",
                           "brackets are nested more than " + std::to_string(deepest_nesting) + " deep",
                           "no kit needs that; look for brackets that are not closed"});
      return false;
    }
    Json* node = put(std::move(value));
    levels_.push_back({node, std::move(pointer), ""});
    return true;
  }

  bool close() {
    levels_.pop_back();
    if (!levels_.empty()) levels_.back().key.clear();
    return true;
  }

  const std::string& text_;
  std::string root_;
  std::vector<Problem>& problems_;
  std::vector<Level> levels_;
  Json document_;
};

bool is_utf16(const std::string& text) {
  return text.size() >= 2 && ((text[0] == '\xff' && text[1] == '\xfe') || (text[0] == '\xfe' && text[1] == '\xff'));
}

}  // namespace

std::optional<Json> parse_strict(const std::string& text, std::vector<Problem>& problems, const std::string& root) {
  if (is_utf16(text)) {
    problems.push_back({root, "", "the file is UTF-16 text, not UTF-8", "save it as UTF-8"});
    return std::nullopt;
  }
  if (std::all_of(text.begin(), text.end(), is_space)) {
    problems.push_back({root, "", "the file is empty", "`bedwright start` writes a kit to begin with"});
    return std::nullopt;
  }
  // The parser skips a byte order mark and does not count it; so that places fit, it is cut off here.
  const std::string body = text.compare(0, 3, "\xef\xbb\xbf") == 0 ? text.substr(3) : text;
  Builder builder(body, root, problems);
  if (!Json::sax_parse(body, &builder)) return std::nullopt;
  return builder.take();
}

}  // namespace bedwright
