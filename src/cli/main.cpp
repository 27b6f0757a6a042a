// The program: reads the command line, runs one command, turns what is thrown into an exit status.
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <iostream>
#include <new>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "cli/commands.h"

namespace bedwright {
namespace {

/// A program started with a closed stream would get that number for the first file it opens and print into it.
void fill_closed_streams() {
  for (int fd = 0; fd <= 2; ++fd)
    if (::fcntl(fd, F_GETFD) < 0 && errno == EBADF) (void)::open("/dev/null", O_RDWR);
}

nlohmann::json problem_json(const Problem& p) {
  return {{"pointer", p.pointer}, {"value", p.value}, {"message", p.message}, {"hint", p.hint}};
}

/// One place where an error meets the person: text on err, and with --json a document on out.
int tell(Streams& streams, int status, const std::string& message, const std::vector<Problem>& problems = {}) {
  if (streams.json) {
    nlohmann::json list = nlohmann::json::array();
    for (const Problem& p : problems) list.push_back(problem_json(p));
    const nlohmann::json document = {
        {"format", "bedwright/error/1"},
        {"error", {{"exit", status}, {"message", message}, {"problems", std::move(list)}}}};
    streams.out << document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << "\n";
  }
  streams.err << "bedwright: " << message << "\n";
  return status;
}

int run_command(const Command& command, Streams& streams) {
  try {
    return command.run(streams);
  } catch (const BadInput& e) {
    return tell(streams, exit_bad_input, e.what(), e.problems);
  } catch (const BadUsage& e) {
    return tell(streams, exit_bad_input, e.what());
  } catch (const FileError& e) {
    return tell(streams, exit_files, e.what());
  } catch (const CannotBuild& e) {
    return tell(streams, exit_findings, std::string(e.what()) + (e.remedy.empty() ? "" : "; " + e.remedy));
  } catch (const std::bad_alloc&) {
    return tell(streams, exit_files, "out of memory; a larger chord_mm makes smaller meshes");
  } catch (const std::exception& e) {
    return tell(streams, exit_files, std::string("a fault in bedwright itself: ") + e.what());
  }
}

/// A reader that stopped reading (`bedwright ... | head`) is not a failure; a full disk is.
int finish(int status) {
  errno = 0;
  std::cout.flush();
  if (std::cout) return status;
  // The write that failed may lie behind us, and its errno with it: a pipe without a reader still says so.
  const int cause = errno;
  pollfd results{STDOUT_FILENO, POLLOUT, 0};
  if (cause == EPIPE || (::poll(&results, 1, 0) > 0 && (results.revents & POLLERR) != 0)) return status;
  std::cerr << "bedwright: cannot write the results"
            << (cause != 0 ? ": " + std::generic_category().message(cause) : std::string()) << "\n";
  return exit_files;
}

constexpr const char* description =
    "bedwright: from one file that describes your machine to printable, measured rail-conversion parts.\n"
    "Lengths are millimetres. +X right, +Y to the rear, +Z up; z = 0 is the carriages' top faces.";

constexpr const char* footer =
    "First steps:\n"
    "  bedwright start my-machine.json     answer the questions; writes a kit file\n"
    "  bedwright make my-machine.json      writes parts, report and hardware list under out/\n"
    "  bedwright make --help               all options of one command\n\n"
    "Exit status: 0 done; 1 done, but findings at error level; 2 bad usage or input, nothing written;\n"
    "3 a file could not be read or written.";

int program(int argc, char** argv) {
  CLI::App app(description, "bedwright");
  app.footer(footer);
  app.set_version_flag("--version", std::string("bedwright ") + BEDWRIGHT_VERSION, "Print the version");
  app.require_subcommand(1);
  app.get_formatter()->column_width(34);

  Streams streams{std::cin, std::cout, std::cerr, false, ::isatty(STDERR_FILENO) == 1};
  streams.json = std::find(argv + 1, argv + std::max(argc, 1), std::string("--json")) != argv + std::max(argc, 1);
  const Command commands[] = {add_start(app),  add_make(app),  add_check(app), add_gauge(app),
                              add_layout(app), add_level(app), add_survey(app), add_contour(app), add_changes(app), add_batch(app),
                              add_calibrate(app), add_publish(app)};
  bool json = false;
  for (const Command& command : commands)
    command.app->add_flag("--json", json, "Print one JSON document instead of text");

  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& e) {
    return app.exit(e, std::cout, std::cerr);
  } catch (const CLI::ParseError& e) {
    return tell(streams, exit_bad_input, std::string(e.what()) + "\nRun with --help for more information.");
  }
  streams.json = json;
  for (const Command& command : commands)
    if (command.app->parsed()) return run_command(command, streams);
  return exit_bad_input;
}

}  // namespace
}  // namespace bedwright

int main(int argc, char** argv) {
  bedwright::fill_closed_streams();
  // Writing to a pipe whose reader has gone then fails with EPIPE instead of ending the program half way.
  ::signal(SIGPIPE, SIG_IGN);
  // So does writing more than the shell's limit on a file's size, with EFBIG.
  ::signal(SIGXFSZ, SIG_IGN);
  std::ios::sync_with_stdio(false);
  try {
    return bedwright::finish(bedwright::program(argc, argv));
  } catch (const std::bad_alloc&) {
    std::fputs("bedwright: out of memory\n", stderr);
    return bedwright::exit_files;
  }
}
