// The questions of `start`, in the order in which the measurements are taken at the machine, as pure logic: what to ask
// next, what an answer means, the kit that the answers make. A terminal and a page ask them alike; the measuring sheet
// carries the same numbers.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "kit/kit.h"
#include "kit/straightedge.h"

namespace bedwright {

enum class Ask { confirm, yes_no, choice, name, text, length, small_length, mass, temperature };

struct Choice {
  std::string value, words;
};

/// What has been answered, by a question's key: numbers in the kit's units, text, true or false, null if skipped.
using Answers = std::map<std::string, Json>;

struct Section {
  int number = 0;
  std::string title;
  std::string intro;  ///< tools and cautions; may be empty
};

struct Question {
  int section = 0, place = 0;  ///< 5, 1 for "5.1"
  std::string key;
  std::string label;  ///< short: on the sheet and in the summary
  Ask ask = Ask::text;
  std::string pointer;   ///< of the kit value that it sets or helps to set; empty if none
  std::string range_of;  ///< pointer whose range and unit slips apply; empty: those of `pointer`
  bool may_skip = false;
  std::string how;   ///< how to take it: one or two short lines
  std::string help;  ///< what `?` shows
  std::vector<Choice> choices;
  bool (*wanted)(const Answers&) = nullptr;                         ///< nullptr: always
  std::string (*usual)(const Answers&) = nullptr;                   ///< offered in brackets; empty: none
  std::string (*objection)(const Answers&, const Json&) = nullptr;  ///< why the value cannot be, or empty
  std::string (*remark)(const Answers&) = nullptr;                  ///< said once it is accepted, or empty
};

/// "5.1"
std::string number_text(const Question& question);
/// "mm", "g", "C", "um" or empty.
std::string unit_text(const Question& question);

const std::vector<Section>& sections();
const std::vector<Question>& questions();

struct Interview {
  std::string suggested_name;  ///< for the kit; empty: none
  Answers answers;
  Answers earlier;                 ///< what stood there before `back`; offered again
  std::vector<std::size_t> asked;  ///< indices into questions(), in order
};

/// The question to ask now, or nullptr when there are no more.
const Question* next_question(const Interview& interview);
/// What an empty line means for it, as text; empty if it has to be answered.
std::string usual_answer(const Interview& interview, const Question& question);

struct Reply {
  enum class Kind { accepted, complaint, help, back } kind = Kind::complaint;
  std::string text;  ///< what was understood; the complaint; the help
  std::string remark;
};

/// Takes one line as the answer to next_question. `?` asks for help, `back` returns to the question before, an
/// empty line takes the usual answer, `-` skips where that is allowed.
Reply take_answer(Interview& interview, const std::string& line);

/// Takes the last answer back; it is offered again. False if there is none.
bool take_back(Interview& interview);

/// Goes back to the question that sets the value at that kit pointer. False if no question asked so far does.
bool reopen(Interview& interview, const std::string& pointer);

/// One line a question: number, label, value with unit.
std::string summary(const Interview& interview);

/// The kit as read_kit takes it, keys in the order of the documentation. Needs every wanted question answered.
nlohmann::ordered_json kit_document(const Answers& answers);

/// What the dome answers say; the shape is flat if crown is.
StraightedgeDome dome_of(const Answers& answers);

}  // namespace bedwright
