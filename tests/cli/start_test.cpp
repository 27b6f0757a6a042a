// The program from outside: arguments, streams, files, exit status of `start`.
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

namespace {

namespace fs = std::filesystem;

std::string contents(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// An empty folder of its own, removed at the end.
struct Folder {
  fs::path path;
  explicit Folder(const std::string& name)
      : path(fs::temp_directory_path() / ("bedwright-start-" + name + "-" + std::to_string(getpid()))) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~Folder() { fs::remove_all(path); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
};

struct Run {
  int status = -1;
  std::string out, err;
};

Run start(const Folder& folder, const std::string& arguments, const std::string& input) {
  const fs::path in = folder.path / "answers.txt", out = folder.path / "out.txt", err = folder.path / "err.txt";
  std::ofstream(in, std::ios::binary) << input;
  const std::string command = "cd '" + folder.path.string() + "' && '" + BEDWRIGHT_PROGRAM + "' start " + arguments +
                              " < answers.txt > out.txt 2> err.txt";
  const int raw = std::system(command.c_str());
  return {WIFEXITED(raw) ? WEXITSTATUS(raw) : -1, contents(out), contents(err)};
}

/// One line a question, in order; the sheet's last gap is followed by Enter for everything that has a usual answer.
const std::string answers =
    "yes\n\n\n\n\n"                    // safe, names, no comparison
    "12\n\n\n35\n\n\n\n370\n\n"        // rails and carriages
    "5 7/8 in\n90\n215\n\n"            // where the carriages sit
    "2\n\n610\n196\n150\n4.5\n\n\n"    // frame sheet
    "up\n\n200\n2\n\n2\n\n2\n2\n\n\n"  // dome
    "\n176\n176\n\n240\n\n780\n\n\n"   // bed
    "\n\n\n\n\n\n\n"                   // printer
    "\n\n\n\n\n\n";                    // parts

}  // namespace

TEST_CASE("start: answers from a pipe make a kit", "[cli][start]") {
  const Folder folder("pipe");
  const Run run = start(folder, "window-bench.json", answers + "yes\n");
  INFO(run.out << run.err);
  REQUIRE(run.status == 0);
  CHECK(run.err.empty());
  CHECK_THAT(run.out, Catch::Contains("bedwright make window-bench.json"));
  const nlohmann::json kit = nlohmann::json::parse(contents(folder.path / "window-bench.json"));
  CHECK(kit["kit"] == "window-bench");
  CHECK(kit["rails"]["pitch_mm"] == 149.225);        // 5.875 * 25.4
  CHECK(kit["frame"]["dome"]["radius_mm"] == 2501);  // 200^2 / 16 + 1
}

TEST_CASE("start: input that ends early writes nothing and exits with 2", "[cli][start]") {
  const Folder folder("early");
  for (const std::string& input : {std::string(), answers.substr(0, answers.size() / 2), answers}) {
    const Run run = start(folder, "early.json", input);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Catch::Contains("nothing was written"));
    CHECK_FALSE(fs::exists(folder.path / "early.json"));
  }
}

TEST_CASE("start: no at the end writes nothing", "[cli][start]") {
  const Folder folder("no");
  for (const char* no : {"no\n", "n\n"}) {
    const Run run = start(folder, "no.json", answers + no);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Catch::Contains("bedwright: nothing was written, as you wished"));
  }
  CHECK_FALSE(fs::exists(folder.path / "no.json"));
}

TEST_CASE("start: an existing file is kept unless forced", "[cli][start]") {
  const Folder folder("kept");
  std::ofstream(folder.path / "kept.json") << "mine";
  const Run run = start(folder, "kept.json", answers + "yes\n");
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Catch::Contains("--force"));
  CHECK(contents(folder.path / "kept.json") == "mine");
  CHECK(start(folder, "kept.json --force", answers + "yes\n").status == 0);
  CHECK(contents(folder.path / "kept.json") != "mine");
}

TEST_CASE("start: a folder that is not there is told before the first question", "[cli][start]") {
  const Folder folder("nowhere");
  const Run run = start(folder, "nowhere/kit.json", answers + "yes\n");
  CHECK(run.status == 3);
  CHECK(run.out.find("1.1") == std::string::npos);
}

TEST_CASE("start: the sheet alone asks nothing", "[cli][start]") {
  const Folder folder("sheet");
  const Run run = start(folder, "--sheet sheet.svg", "");
  CHECK(run.status == 0);
  CHECK_THAT(contents(folder.path / "sheet.svg"), Catch::Contains("check-bar-100"));
  CHECK(start(folder, "--sheet sheet.svg", "").status == 3);
}

TEST_CASE("start: with json the conversation moves to standard error", "[cli][start]") {
  const Folder folder("json");
  const Run run = start(folder, "--json a.json", answers + "yes\n");
  REQUIRE(run.status == 0);
  CHECK(nlohmann::json::parse(run.out)["kit_file"] == "a.json");
  CHECK_THAT(run.err, Catch::Contains("Rail pitch"));
}
