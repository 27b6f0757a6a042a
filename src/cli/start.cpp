// `start`: asks the interview's questions on a terminal or a pipe, and writes the kit; `--sheet` writes the sheet to
// carry along.
#include <algorithm>
#include <filesystem>
#include <iostream>
#include <memory>
#include <string>

#include "base/error.h"
#include "cli/commands.h"
#include "kit/interview.h"
#include "kit/read_kit.h"
#include "output/measuring_sheet.h"
#include "output/write_set.h"

namespace bedwright {

namespace {

namespace fs = std::filesystem;

struct StartOptions {
  std::string kit_path, sheet_path;
  bool force = false;
};

/// Before sixty questions rather than after them.
void require_writable(const std::string& path, bool force) {
  std::error_code ignored;
  if (!force && fs::exists(fs::symlink_status(path, ignored))) {
    throw FileError(path, "exists already; choose another name, or --force to replace it");
  }
  const fs::path folder = fs::path(path).parent_path();
  if (!folder.empty() && !fs::is_directory(folder, ignored)) {
    throw FileError(path, "there is no folder " + folder.string());
  }
}

void print_indented(std::ostream& out, const std::string& text) {
  std::size_t start = 0;
  while (start < text.size()) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    out << "    " << text.substr(start, end - start) << "\n";
    start = end + 1;
  }
}

void print_section(std::ostream& out, int number) {
  for (const Section& section : sections()) {
    if (section.number != number) continue;
    out << "\n" << number << "  " << section.title << "\n";
    print_indented(out, section.intro);
  }
}

void print_question(std::ostream& out, const Question& question) {
  out << "\n" << number_text(question) << "  " << question.label;
  const std::string unit = unit_text(question);
  if (!unit.empty()) out << ", " << unit;
  out << "\n";
  print_indented(out, question.how);
  if (!question.choices.empty()) {
    std::string list;
    for (const Choice& choice : question.choices) list += (list.empty() ? "" : " / ") + choice.value;
    print_indented(out, list);
  }
}

void print_prompt(std::ostream& out, const Interview& interview, const Question& question) {
  const std::string usual = usual_answer(interview, question);
  out << (usual.empty() ? std::string() : "[" + usual + "] ") << "> " << std::flush;
}

std::string next_line(std::istream& in) {
  std::string line;
  if (!std::getline(in, line)) {
    throw BadUsage("the input ended before the kit was complete; nothing was written");
  }
  return line;
}

/// Asks until no question is left.
void ask_all(Streams& streams, std::ostream& out, Interview& interview) {
  int section = 0;
  while (const Question* question = next_question(interview)) {
    if (question->section != section) print_section(out, section = question->section);
    print_question(out, *question);
    for (;;) {
      print_prompt(out, interview, *question);
      const Reply reply = take_answer(interview, next_line(streams.in));
      print_indented(out, reply.text);
      print_indented(out, reply.remark);
      if (reply.kind == Reply::Kind::accepted || reply.kind == Reply::Kind::back) break;
    }
  }
}

/// Whether the reader takes the kit; if not, its problems are shown and the interview goes back to the first of them.
bool accepted_by_reader(std::ostream& out, Interview& interview, const std::string& text, const std::string& path) {
  try {
    read_kit(text, path, fs::path(path).parent_path().string());
    return true;
  } catch (const BadInput& bad) {
    out << "\nThese answers do not go together:\n";
    for (const Problem& problem : bad.problems) print_indented(out, to_text(problem));
    const bool found = std::any_of(bad.problems.begin(), bad.problems.end(),
                                   [&](const Problem& problem) { return reopen(interview, problem.pointer); });
    if (!found) throw;
    out << "Back to the question that it comes from; Enter keeps what you answered.\n";
    return false;
  }
}

/// True to write, false after `back`.
bool confirmed(Streams& streams, std::ostream& out, Interview& interview, const std::string& path) {
  out << "\nUnderstood:\n" << summary(interview) << "\nWrite " << path << "?\n";
  for (;;) {
    out << "[yes] > " << std::flush;
    std::string line = next_line(streams.in);
    line.erase(std::remove(line.begin(), line.end(), '\r'), line.end());
    if (line.empty() || line == "yes" || line == "y") return true;
    if (line == "back") {
      take_back(interview);
      return false;
    }
    if (line == "no" || line == "n") throw BadUsage("nothing was written, as you wished");
    out << "    Type yes, no or back.\n";
  }
}

void print_next_steps(std::ostream& out, const std::string& path) {
  out << "\nWrote " << path << "\n"
      << "Next:\n"
      << "  bedwright check " << path << "   what would go wrong, before any plastic\n"
      << "  bedwright make " << path << "    the parts, measured, and a report\n"
      << "Everything else a kit can say is in docs/kit.schema.json; any object takes a note.\n";
}

std::string kit_text(const Interview& interview) {
  return kit_document(interview.answers).dump(2) + "\n";
}

std::string interview_to_file(Streams& streams, std::ostream& out, const StartOptions& options) {
  if (!options.kit_path.empty()) require_writable(options.kit_path, options.force);
  Interview interview;
  if (!options.kit_path.empty()) interview.suggested_name = fs::path(options.kit_path).stem().string();
  out << "Answer in millimetres, or put a unit behind the number: 15 cm, 5 7/8 in.\n"
      << "Enter takes what is in brackets, ? explains, back returns to the question before.\n";
  for (;;) {
    ask_all(streams, out, interview);
    std::string path =
        options.kit_path.empty() ? interview.answers.at("kit").get<std::string>() + ".json" : options.kit_path;
    const std::string text = kit_text(interview);
    if (!accepted_by_reader(out, interview, text, path)) continue;
    if (!confirmed(streams, out, interview, path)) continue;
    require_writable(path, options.force);
    write_file(path, text);
    return path;
  }
}

int run_start(Streams& streams, const StartOptions& options) {
  // With --json only the document goes to out; the conversation moves to err.
  std::ostream& talk = streams.json ? streams.err : streams.out;
  nlohmann::json document = {{"format", "bedwright/start/1"}, {"kit_file", nullptr}, {"sheet_file", nullptr}};
  if (!options.sheet_path.empty()) {
    require_writable(options.sheet_path, options.force);
    write_file(options.sheet_path, measuring_sheet_svg());
    talk << "Wrote " << options.sheet_path << ": print it at 100 %, check the 100 mm bar with a rule.\n";
    document["sheet_file"] = options.sheet_path;
  }
  if (options.sheet_path.empty() || !options.kit_path.empty()) {
    const std::string path = interview_to_file(streams, talk, options);
    print_next_steps(talk, path);
    document["kit_file"] = path;
  }
  if (streams.json) streams.out << document.dump(2) << "\n";
  return exit_done;
}

}  // namespace

Command add_start(CLI::App& program) {
  auto options = std::make_shared<StartOptions>();
  CLI::App* app =
      program.add_subcommand("start", "Ask for the measurements, say how to take each, and write a kit file");
  app->add_option("KIT.json", options->kit_path, "Kit file to write; named after the kit if left out");
  app->add_option("--sheet", options->sheet_path,
                  "Write a measuring sheet (SVG, A4) to carry to the machine; asks only if KIT.json is given too");
  app->add_flag("--force", options->force, "Replace files that exist");
  return {app, [options](Streams& streams) { return run_start(streams, *options); }};
}

}  // namespace bedwright
