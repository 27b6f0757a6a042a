// One root for everything this library throws. The program maps: BadInput, BadUsage -> exit 2;
// FileError -> exit 3; CannotBuild becomes a finding at error level (exit 1).
#pragma once

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace bedwright {

class Error : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// One thing wrong with an input. All of an input's problems are reported together.
struct Problem {
  std::string pointer;  ///< JSON pointer, "line 12" of a CSV, or an option's name
  std::string value;    ///< the value as found, shortened; empty where there is none
  std::string message;  ///< what is wrong, with the allowed range or the nearest valid key
  std::string hint;     ///< the likely slip and what to write instead; may be empty
};

/// One line a problem: "/frame/dome/radius_mm: 2.6 is ... (hint)".
std::string to_text(const Problem& problem);

class BadInput : public Error {
 public:
  BadInput(const std::string& source_, std::vector<Problem> problems_);
  std::string source;  ///< file name as the user gave it
  std::vector<Problem> problems;
};

class BadUsage : public Error {
 public:
  using Error::Error;
};

/// Could not read or write.
class FileError : public Error {
 public:
  FileError(std::string path_, const std::string& what) : Error(path_ + ": " + what), path(std::move(path_)) {}
  std::string path;
};

/// A part that cannot be made as drawn: names the features that cause it.
class CannotBuild : public Error {
 public:
  CannotBuild(std::string code_, const std::string& message, std::string remedy_,
              std::vector<std::string> features_ = {})
      : Error(message), code(std::move(code_)), remedy(std::move(remedy_)), features(std::move(features_)) {}
  std::string code, remedy;
  std::vector<std::string> features;
};

}  // namespace bedwright
