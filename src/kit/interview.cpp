#include "kit/interview.h"

#include <algorithm>

#include "base/numbers.h"
#include "kit/measured_value.h"
#include "kit/pointer.h"
#include "kit/read_kit.h"
#include "kit/schema_walk.h"
#include "kit/slips.h"

namespace bedwright {

namespace {

std::string trimmed(const std::string& text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) return "";
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::string lower(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

bool is_number(Ask ask) {
  return ask == Ask::length || ask == Ask::small_length || ask == Ask::mass || ask == Ask::temperature;
}

Quantity quantity_of(Ask ask) {
  if (ask == Ask::small_length) return Quantity::small_length;
  if (ask == Ask::mass) return Quantity::mass;
  return ask == Ask::temperature ? Quantity::temperature : Quantity::length;
}

/// Which branch of the schema each pointer of a question means.
const Json& outline_of_kit() {
  static const Json outline = {
      {"frame",
       {{"dome", {{"shape", "sphere"}}},
        {"hole_pattern", {{"kind", "rectangular"}}},
        {"bed_mounts", {{"kind", "rectangular"}}}}},
      {"parts", {{{"family", "adapter_plate"}}, {{"family", "spacer"}}, {{"family", "shim"}}}}};
  return outline;
}

const std::string& range_pointer(const Question& question) {
  return question.range_of.empty() ? question.pointer : question.range_of;
}

const Json* rule_of(const Question& question, const std::string& keyword) {
  const std::string& pointer = range_pointer(question);
  if (pointer.empty()) return nullptr;
  const Json* schema = schema_at(kit_schema(), outline_of_kit(), pointer);
  return schema ? schema_keyword(kit_schema(), *schema, keyword) : nullptr;
}

/// "pitch_mm" of "/rails/pitch_mm" and of ".../pitch_mm/0".
std::string key_of(const std::string& pointer) {
  std::string key;
  for (const std::string& step : pointer_steps(pointer).value_or(std::vector<std::string>{})) {
    if (!array_index(step)) key = step;
  }
  return key;
}

Json tidy(double value) {
  const auto whole = static_cast<long long>(value);
  return static_cast<double>(whole) == value ? Json(whole) : Json(value);
}

std::string value_text(const Question& question, const Json& value) {
  if (value.is_null()) return "skipped";
  if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
  if (value.is_number()) return decimal(value.get<double>(), 4) + " " + unit_text(question);
  auto text = value.get<std::string>();
  for (const Choice& choice : question.choices) {
    if (choice.value == text && !choice.words.empty() && choice.words != text) return text + " (" + choice.words + ")";
  }
  return text;
}

/// The answer as it may be typed again.
std::string typed(const Json& value) {
  if (value.is_null()) return "-";
  if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
  if (value.is_number()) return decimal(value.get<double>(), 4);
  return value.get<std::string>();
}

struct Understood {
  Json value;
  std::string complaint;
  std::string remark;
};

Understood complain(std::string complaint) {
  return {Json(), std::move(complaint), ""};
}

Understood understand_number(const Question& question, const std::string& line) {
  const MeasuredValue read = parse_measured_value(line, quantity_of(question.ask));
  if (!read.ok) return complain(read.complaint);
  const std::string unit = unit_text(question);
  const Json* least = rule_of(question, "minimum");
  const Json* greatest = rule_of(question, "maximum");
  const Json* usual = rule_of(question, "x-usual");
  const bool outside =
      (least && read.value < least->get<double>()) || (greatest && read.value > greatest->get<double>());
  std::string slip;
  if (usual && (outside || read.value < (*usual)[0].get<double>() || read.value > (*usual)[1].get<double>())) {
    slip = unit_slip(key_of(range_pointer(question)), read.value, (*usual)[0].get<double>(), (*usual)[1].get<double>());
    if (!slip.empty()) slip[0] = static_cast<char>(slip[0] == 'd' ? 'D' : slip[0]), slip += ".";
  }
  if (outside) {
    std::string text = number_text(read.value) + " " + unit + " is outside " +
                       number_text(least ? least->get<double>() : 0) + " to " +
                       number_text(greatest ? greatest->get<double>() : 0) + " " + unit + ".";
    return complain(slip.empty() ? text : text + " " + slip);
  }
  return {tidy(read.value), "", slip.empty() ? "" : "Unusual. " + slip + " If so: back."};
}

Understood understand_choice(const Question& question, const std::string& line) {
  std::string word = lower(line);
  if (question.key == "rail-width") {
    const MeasuredValue read = parse_measured_value(line, Quantity::length);
    // A caliper reads 11.97 or 12.03 on a 12 mm rail.
    if (read.ok) word = decimal(read.value, 0);
  }
  std::vector<std::string> values;
  for (const Choice& choice : question.choices) {
    if (lower(choice.value) == word || lower(choice.words) == word) return {Json(choice.value), "", ""};
    values.push_back(choice.value);
  }
  std::vector<std::string> matches;
  for (const std::string& value : values) {
    if (!word.empty() && lower(value).compare(0, word.size(), word) == 0) matches.push_back(value);
  }
  if (matches.size() == 1) return {Json(matches[0]), "", ""};
  const std::string guess = nearest(word, values);
  return complain("\"" + line + "\" is none of " + any_of_text(values) + "." +
                  (guess.empty() ? "" : " Did you mean " + guess + "?"));
}

Understood understand_yes_no(const Question& question, const std::string& line) {
  const std::string word = lower(line);
  const bool is_yes = word == "yes" || word == "y", is_no = word == "no" || word == "n";
  if (!is_yes && !is_no) return complain("Type yes or no.");
  if (is_no && question.ask == Ask::confirm) {
    return complain("Then do that first. Nothing here is worth a shock or a burn; end of input stops the program.");
  }
  return {Json(is_yes), "", ""};
}

bool is_id(const std::string& text) {
  if (text.empty() || text.size() > 48 || text[0] == '-') return false;
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}

std::string as_id(const std::string& text) {
  std::string id;
  for (char c : lower(text)) {
    const bool fits = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (fits) {
      id += c;
    } else if (!id.empty() && id.back() != '-') {
      id += '-';
    }
  }
  id.resize(std::min<std::size_t>(id.size(), 48));
  while (!id.empty() && id.back() == '-') id.pop_back();
  return id;
}

Understood understand_text(const Question& question, const std::string& line) {
  if (question.ask == Ask::name) {
    if (is_id(line)) return {Json(line), "", ""};
    const std::string fit = as_id(line);
    return complain("A kit's name has small letters, digits and hyphens, 48 at most." +
                    (fit.empty() ? "" : " Did you mean " + fit + "?"));
  }
  const Json* longest = rule_of(question, "maxLength");
  // Characters, as the kit's reader counts them: a letter may have several bytes.
  const auto characters = static_cast<std::size_t>(
      std::count_if(line.begin(), line.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
  if (longest && characters > longest->get<std::size_t>()) {
    return complain("At most " + std::to_string(longest->get<std::size_t>()) + " characters, please.");
  }
  // The one pattern among the free texts: a revision.
  if (rule_of(question, "pattern")) {
    const bool fits = std::all_of(line.begin(), line.end(), [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    });
    if (!fits || line[0] == '-' || line[0] == '_') return complain("Letters, digits and hyphens only: A, B2, 2-1.");
  }
  const bool control =
      std::any_of(line.begin(), line.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; });
  if (control) return complain("Plain text only, please.");
  try {
    (void)Json(line).dump();
  } catch (const Json::exception&) {
    return complain("These bytes are no UTF-8 text; plain letters work everywhere.");
  }
  return {Json(line), "", ""};
}

Understood understand(const Question& question, const std::string& line) {
  if (is_number(question.ask)) return understand_number(question, line);
  if (question.ask == Ask::choice) return understand_choice(question, line);
  if (question.ask == Ask::confirm || question.ask == Ask::yes_no) return understand_yes_no(question, line);
  return understand_text(question, line);
}

std::string help_text(const Question& question) {
  std::string text = question.help;
  const Json* least = rule_of(question, "minimum");
  const Json* greatest = rule_of(question, "maximum");
  if (is_number(question.ask) && least && greatest) {
    text += "\nFrom " + number_text(least->get<double>()) + " to " + number_text(greatest->get<double>()) + " " +
            unit_text(question) + ".";
  }
  if (question.ask == Ask::length) text += "\nA unit may follow: mm, cm, in, \". Fractions too: 5 7/8 in.";
  for (const Choice& choice : question.choices) {
    text += "\n" + choice.value + (choice.words.empty() || choice.words == choice.value ? "" : ": " + choice.words);
  }
  if (question.may_skip) text += "\n- skips it.";
  return text + "\nback returns to the question before.";
}

std::size_t next_index(const Interview& interview) {
  const auto& list = questions();
  for (std::size_t i = interview.asked.empty() ? 0 : interview.asked.back() + 1; i < list.size(); ++i) {
    if (!list[i].wanted || list[i].wanted(interview.answers)) return i;
  }
  return list.size();
}

}  // namespace

std::string number_text(const Question& question) {
  return std::to_string(question.section) + "." + std::to_string(question.place);
}

std::string unit_text(const Question& question) {
  return is_number(question.ask) ? unit_name(quantity_of(question.ask)) : "";
}

const Question* next_question(const Interview& interview) {
  const std::size_t next = next_index(interview);
  return next < questions().size() ? &questions()[next] : nullptr;
}

std::string usual_answer(const Interview& interview, const Question& question) {
  if (question.ask == Ask::confirm) return "";
  const auto earlier = interview.earlier.find(question.key);
  if (earlier != interview.earlier.end()) return typed(earlier->second);
  if (question.ask == Ask::name)
    return is_id(interview.suggested_name) ? interview.suggested_name : as_id(interview.suggested_name);
  if (question.usual) return question.usual(interview.answers);
  return question.may_skip ? "-" : "";
}

Reply take_answer(Interview& interview, const std::string& line) {
  const std::size_t index = next_index(interview);
  if (index >= questions().size()) return {Reply::Kind::complaint, "There are no more questions.", ""};
  const Question& question = questions()[index];
  std::string text = trimmed(line);
  const std::string word = lower(text);
  if (word == "?" || word == "help") return {Reply::Kind::help, help_text(question), ""};
  if (word == "back") {
    if (!take_back(interview)) return {Reply::Kind::complaint, "This is the first question.", ""};
    return {Reply::Kind::back, "", ""};
  }
  if (text.empty()) text = usual_answer(interview, question);
  if (text.empty()) return {Reply::Kind::complaint, "This one needs an answer; ? says more.", ""};

  Understood understood;
  if (text == "-") {
    if (!question.may_skip) return {Reply::Kind::complaint, "This one cannot be skipped; ? says more.", ""};
  } else {
    understood = understand(question, text);
    if (understood.complaint.empty() && question.objection) {
      understood.complaint = question.objection(interview.answers, understood.value);
    }
  }
  if (!understood.complaint.empty()) return {Reply::Kind::complaint, understood.complaint, ""};
  interview.answers[question.key] = understood.value;
  interview.earlier.erase(question.key);
  interview.asked.push_back(index);
  Reply reply{Reply::Kind::accepted, question.label + ": " + value_text(question, understood.value), understood.remark};
  if (question.remark && reply.remark.empty()) reply.remark = question.remark(interview.answers);
  return reply;
}

bool take_back(Interview& interview) {
  if (interview.asked.empty()) return false;
  const std::string& key = questions()[interview.asked.back()].key;
  interview.earlier[key] = interview.answers[key];
  interview.answers.erase(key);
  interview.asked.pop_back();
  return true;
}

bool reopen(Interview& interview, const std::string& pointer) {
  const auto sets = [&](const std::string& own) {
    if (own.empty()) return false;
    const std::string& shorter = own.size() < pointer.size() ? own : pointer;
    const std::string& longer = own.size() < pointer.size() ? pointer : own;
    return longer.compare(0, shorter.size(), shorter) == 0 &&
           (longer.size() == shorter.size() || longer[shorter.size()] == '/');
  };
  const auto found = std::find_if(interview.asked.begin(), interview.asked.end(),
                                  [&](std::size_t i) { return sets(questions()[i].pointer); });
  if (pointer.empty() || found == interview.asked.end()) return false;
  const std::size_t keep = static_cast<std::size_t>(found - interview.asked.begin());
  while (interview.asked.size() > keep) take_back(interview);
  return true;
}

std::string summary(const Interview& interview) {
  std::string text;
  int section = 0;
  for (std::size_t i : interview.asked) {
    const Question& question = questions()[i];
    if (question.section != section) {
      section = question.section;
      for (const Section& s : sections()) {
        if (s.number == section) text += s.title + "\n";
      }
    }
    std::string number = number_text(question);
    number.insert(0, 6 - std::min<std::size_t>(6, number.size()), ' ');
    std::string label = question.label;
    label.resize(std::max<std::size_t>(label.size(), 32), ' ');
    text += number + "  " + label + value_text(question, interview.answers.at(question.key)) + "\n";
  }
  return text;
}

}  // namespace bedwright
