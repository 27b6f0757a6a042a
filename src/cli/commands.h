// What a command is to the program: a subcommand with its options, and a function that runs it.
// A command prints its results on `out`, progress and remarks on `err`, and returns the exit status (0 or 1).
// Bad input and files that cannot be read or written are thrown (base/error.h); main turns them into 2 and 3.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <iosfwd>

namespace bedwright {

inline constexpr int exit_done = 0, exit_findings = 1, exit_bad_input = 2, exit_files = 3;

struct Streams {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool json = false;      ///< print one JSON document instead of text
  bool progress = false;  ///< err is a terminal: progress may be shown
};

struct Command {
  CLI::App* app = nullptr;
  std::function<int(Streams&)> run;
};

/// Each adds its subcommand to `program`. `--json` is added by main to all of them.
Command add_start(CLI::App& program);
Command add_make(CLI::App& program);
Command add_check(CLI::App& program);
Command add_gauge(CLI::App& program);
Command add_layout(CLI::App& program);
Command add_survey(CLI::App& program);
Command add_contour(CLI::App& program);
Command add_changes(CLI::App& program);
Command add_batch(CLI::App& program);
Command add_level(CLI::App& program);
Command add_publish(CLI::App& program);
Command add_calibrate(CLI::App& program);

}  // namespace bedwright
