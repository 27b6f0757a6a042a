#include "base/error.h"

namespace bedwright {
namespace {

std::string joined(const std::string& source, const std::vector<Problem>& problems) {
  std::string text = source + ": " + std::to_string(problems.size()) +
                     (problems.size() == 1 ? " problem" : " problems");
  for (const Problem& p : problems) text += "\n  " + to_text(p);
  return text;
}

}  // namespace

std::string to_text(const Problem& problem) {
  std::string text = problem.pointer.empty() ? problem.message : problem.pointer + ": " + problem.message;
  if (!problem.hint.empty()) text += " (" + problem.hint + ")";
  return text;
}

BadInput::BadInput(const std::string& source_, std::vector<Problem> problems_)
    : Error(joined(source_, problems_)), source(source_), problems(std::move(problems_)) {}

}  // namespace bedwright
