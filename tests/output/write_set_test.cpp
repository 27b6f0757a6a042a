// A set is replaced whole or not at all, and nothing that an earlier run did not write is ever touched.
#include "output/write_set.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <thread>

#include "base/error.h"

namespace fs = std::filesystem;
using namespace bedwright;

namespace {

/// A folder of its own for one test.
class Scratch {
 public:
  Scratch() {
    std::string name = (fs::temp_directory_path() / "bedwright-test-XXXXXX").string();
    if (!::mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    path = name;
  }
  ~Scratch() {
    std::error_code ignored;
    fs::permissions(path, fs::perms::owner_all, ignored);
    fs::remove_all(path, ignored);
  }
  fs::path path;
};

std::map<std::string, std::string> set_of(const std::string& what) {
  return {{"report.json", R"({"format": "bedwright/report/1", "files": ["hardware.csv", "report.json"],
             "parts": [{"file": "stl/a.stl"}]})"},
          {"stl/a.stl", "facets " + what},
          {"hardware.csv", "screws " + what}};
}

std::string text_of(const fs::path& path) {
  return read_file(path.string(), 1 << 23);
}
void put(const fs::path& path, const std::string& text) {
  std::ofstream(path) << text;
}

/// Everything below a folder, hidden entries too, links as "name -> target".
std::vector<std::string> entries(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& e : fs::recursive_directory_iterator(folder))
    names.push_back(e.path().lexically_relative(folder).string() +
                    (e.is_symlink() ? " -> " + fs::read_symlink(e.path()).string() : ""));
  std::sort(names.begin(), names.end());
  return names;
}

const std::vector<std::string> whole_set = {"set", "set/hardware.csv", "set/report.json", "set/stl", "set/stl/a.stl"};

}  // namespace

TEST_CASE("a set is written into an absent folder, parents included", "[write_set]") {
  Scratch s;
  write_set((s.path / "deep/er/set").string(), set_of("one"));
  CHECK(text_of(s.path / "deep/er/set/stl/a.stl") == "facets one");
  CHECK(entries(s.path / "deep/er") == whole_set);
}

TEST_CASE("a set is written into an empty folder and over an older set", "[write_set]") {
  Scratch s;
  const fs::path set = s.path / "set";
  fs::create_directory(set);
  write_set(set.string(), set_of("one"));
  write_set(set.string() + "/", set_of("two"));
  CHECK(text_of(set / "stl/a.stl") == "facets two");
  CHECK(text_of(set / "hardware.csv") == "screws two");
  CHECK(entries(s.path) == whole_set);
}

TEST_CASE("files that the new set no longer has are gone", "[write_set]") {
  Scratch s;
  write_set((s.path / "set").string(), set_of("one"));
  write_set((s.path / "set").string(), {{"report.json", R"({"format": "bedwright/report/1"})"}});
  CHECK(entries(s.path) == std::vector<std::string>{"set", "set/report.json"});
}

TEST_CASE("a folder with a foreign file is refused and left as it is", "[write_set]") {
  Scratch s;
  const fs::path set = s.path / "set";
  write_set(set.string(), set_of("one"));
  const char* name = GENERATE("notes.txt", "stl/mine.stl", "stl/deep/mine.stl", ".hidden");
  fs::create_directories((set / name).parent_path());
  put(set / name, "mine");
  const auto before = entries(s.path);
  CHECK_THROWS_AS(write_set(set.string(), set_of("two")), FileError);
  CHECK(entries(s.path) == before);
  CHECK(text_of(set / "stl/a.stl") == "facets one");
  CHECK(text_of(set / name) == "mine");
}

TEST_CASE("an empty folder inside a set is foreign too", "[write_set]") {
  Scratch s;
  write_set((s.path / "set").string(), set_of("one"));
  fs::create_directory(s.path / "set/plans");
  CHECK_THROWS_WITH(write_set((s.path / "set").string(), set_of("two")), Catch::Contains("plans"));
  CHECK(fs::exists(s.path / "set/plans"));
}

TEST_CASE("a report.json that is not ours protects its folder", "[write_set]") {
  Scratch s;
  fs::create_directory(s.path / "set");
  const char* text = GENERATE("{}", "not json", R"({"format": "other/1", "files": ["report.json"]})", "[1]", "");
  put(s.path / "set/report.json", text);
  CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  CHECK(text_of(s.path / "set/report.json") == text);
}

TEST_CASE("a file that the report names in no list of files is foreign", "[write_set]") {
  const char* rest = GENERATE(R"("note": ["mine.txt"])", R"("files": {"a": "mine.txt"})", R"("files": "mine.txt")",
                              R"("files": [["mine.txt"]])", R"("bed": {"files": ["mine.txt"]})",
                              R"("parts": {"file": "mine.txt"})", R"("parts": [{"id": "mine.txt"}])",
                              R"("parts": [{"at": {"file": "mine.txt"}}])", R"("parts": [["file", "mine.txt"]])",
                              R"("files": ["mine.txt", "cut off)", R"("format": "other/1", "files": ["mine.txt"])");
  CAPTURE(rest);
  Scratch s;
  fs::create_directory(s.path / "set");
  put(s.path / "set/report.json", R"({"format": "bedwright/report/1", )" + std::string(rest) + "}");
  put(s.path / "set/mine.txt", "mine");
  CHECK_THROWS_WITH(write_set((s.path / "set").string(), set_of("two")), Catch::Contains("mine.txt"));
  CHECK(text_of(s.path / "set/mine.txt") == "mine");
}

TEST_CASE("a report that breaks off after its list of files names these, and no part's", "[write_set]") {
  Scratch s;
  fs::create_directory(s.path / "set");
  put(s.path / "set/report.json",
      R"({"files": ["a.txt", "report.json"], "format": "bedwright/report/1", "parts": [{"file": "b.stl"}], "cut)");
  put(s.path / "set/a.txt", "one");
  SECTION("nothing else is there") {
    write_set((s.path / "set").string(), set_of("two"));
    CHECK_FALSE(fs::exists(s.path / "set/a.txt"));
  }
  SECTION("a part is there") {
    put(s.path / "set/b.stl", "solid");
    CHECK_THROWS_WITH(write_set((s.path / "set").string(), set_of("two")), Catch::Contains("b.stl"));
    CHECK(text_of(s.path / "set/a.txt") == "one");
  }
}

TEST_CASE("a file in the folder's place is refused", "[write_set]") {
  Scratch s;
  put(s.path / "set", "a file");
  CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("one")), FileError);
  CHECK(text_of(s.path / "set") == "a file");
}

TEST_CASE("links are never followed", "[write_set]") {
  Scratch s;
  fs::create_directories(s.path / "elsewhere/stl");
  put(s.path / "elsewhere/precious", "kept");
  put(s.path / "elsewhere/stl/a.stl", "kept");
  SECTION("the folder is a link") {
    fs::create_directory_symlink(s.path / "elsewhere", s.path / "set");
    CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("one")), FileError);
    CHECK(fs::is_symlink(s.path / "set"));
  }
  SECTION("a named file is a link") {
    write_set((s.path / "set").string(), set_of("one"));
    fs::remove(s.path / "set/hardware.csv");
    fs::create_symlink(s.path / "elsewhere/precious", s.path / "set/hardware.csv");
    CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  }
  SECTION("a folder of named files is a link") {
    write_set((s.path / "set").string(), set_of("one"));
    fs::remove_all(s.path / "set/stl");
    fs::create_directory_symlink(s.path / "elsewhere/stl", s.path / "set/stl");
    CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  }
  SECTION("the report is a link") {
    fs::create_directory(s.path / "set");
    put(s.path / "elsewhere/r.json", set_of("one").at("report.json"));
    fs::create_symlink(s.path / "elsewhere/r.json", s.path / "set/report.json");
    CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  }
  SECTION("the staging folder is a link") {
    fs::create_directory_symlink(s.path / "elsewhere", s.path / ".set.bedwright-new");
    write_set((s.path / "set").string(), set_of("one"));
    CHECK(entries(s.path / "set").size() == 4);
  }
  CHECK(text_of(s.path / "elsewhere/precious") == "kept");
  CHECK(text_of(s.path / "elsewhere/stl/a.stl") == "kept");
}

TEST_CASE("a report that names paths outside its folder gains nothing", "[write_set]") {
  Scratch s;
  put(s.path / "precious", "kept");
  fs::create_directory(s.path / "set");
  put(s.path / "set/report.json", R"({"format": "bedwright/report/1", "files": ["../precious", "/etc/hostname"]})");
  write_set((s.path / "set").string(), set_of("one"));
  CHECK(text_of(s.path / "precious") == "kept");
}

TEST_CASE("what a killed run left is cleaned away", "[write_set]") {
  Scratch s;
  write_set((s.path / "set").string(), set_of("one"));
  fs::create_directories(s.path / ".set.bedwright-new/stl");
  put(s.path / ".set.bedwright-new/stl/a.stl", "half a fi");
  write_set((s.path / "set").string(), set_of("two"));
  CHECK(entries(s.path) == whole_set);
}

TEST_CASE("an old set left aside by a killed run comes back before anything else", "[write_set]") {
  Scratch s;
  write_set((s.path / "set").string(), set_of("one"));
  put(s.path / "set/notes.txt", "mine");
  fs::rename(s.path / "set", s.path / ".set.bedwright-old");
  CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  CHECK(text_of(s.path / "set/notes.txt") == "mine");
  CHECK(text_of(s.path / "set/stl/a.stl") == "facets one");
}

TEST_CASE("a run killed at any moment leaves a whole set", "[write_set]") {
  Scratch s;
  const std::string set = (s.path / "set").string();
  std::map<std::string, std::string> one = set_of("one"), two = set_of("two");
  one["stl/a.stl"] = std::string(3'000'000, '1');
  two["stl/a.stl"] = std::string(3'000'000, '2');
  write_set(set, one);
  for (int i = 0; i < 40; ++i) {
    const pid_t child = ::fork();
    if (child == 0) {
      try {
        for (int k = 0;; ++k) write_set(set, k % 2 ? one : two);
      } catch (...) {
        ::_exit(1);
      }
    }
    std::this_thread::sleep_for(std::chrono::microseconds(700 * i));
    ::kill(child, SIGKILL);
    ::waitpid(child, nullptr, 0);
    const std::string facets = text_of(set + "/stl/a.stl"), screws = text_of(set + "/hardware.csv");
    REQUIRE(facets.size() == 3'000'000);
    CHECK(screws == (facets[0] == '1' ? "screws one" : "screws two"));
  }
  write_set(set, set_of("end"));
  CHECK(entries(s.path) == whole_set);
}

TEST_CASE("two runs into one folder leave one whole set", "[write_set]") {
  Scratch s;
  const std::string set = (s.path / "set").string();
  std::vector<pid_t> children;
  for (const char* what : {"one", "two"}) {
    const pid_t child = ::fork();
    if (child == 0) {
      try {
        for (int i = 0; i < 30; ++i) write_set(set, set_of(what));
        ::_exit(0);
      } catch (...) {
        ::_exit(1);
      }
    }
    children.push_back(child);
  }
  for (const pid_t child : children) {
    int status = -1;
    ::waitpid(child, &status, 0);
    CHECK(status == 0);
  }
  CHECK(entries(s.path) == whole_set);
  CHECK(text_of(set + "/stl/a.stl").substr(7) == text_of(set + "/hardware.csv").substr(7));
}

TEST_CASE("a parent that cannot be written is a FileError", "[write_set]") {
  // Root writes anywhere but into these.
  CHECK_THROWS_AS(write_set("/proc/set", set_of("one")), FileError);
  CHECK_THROWS_AS(write_set("/dev/null/set", set_of("one")), FileError);
  if (::geteuid() == 0) return;
  Scratch s;
  write_set((s.path / "set").string(), set_of("one"));
  fs::permissions(s.path, fs::perms::owner_read | fs::perms::owner_exec);
  CHECK_THROWS_AS(write_set((s.path / "set").string(), set_of("two")), FileError);
  CHECK(text_of(s.path / "set/stl/a.stl") == "facets one");
}

TEST_CASE("a folder or file without a name, or with too long a one, is a FileError that says so", "[write_set]") {
  Scratch s;
  CHECK_THROWS_WITH(write_set("", set_of("one")), "--out: names no folder");
  const std::string long_name = (s.path / std::string(300, 'x')).string();
  CHECK_THROWS_WITH(write_set(long_name, set_of("one")),
                    Catch::Contains("name too long") || Catch::Contains("File name too long"));
  CHECK_THROWS_WITH(write_file(long_name, "x"), Catch::Contains("File name too long"));
}

TEST_CASE("a set's own file names stay inside it", "[write_set]") {
  Scratch s;
  for (const char* name : {"../x", "/x", "a/../b", "", "./x"})
    CHECK_THROWS_AS(write_set((s.path / "set").string(), {{name, "x"}}), Error);
  CHECK(fs::is_empty(s.path));
}

TEST_CASE("one file is written aside and renamed", "[write_set]") {
  Scratch s;
  write_file((s.path / "a/one.json").string(), "1");
  write_file((s.path / "a/one.json").string(), "22");
  CHECK(text_of(s.path / "a/one.json") == "22");
  CHECK(entries(s.path / "a").size() == 1);
  fs::create_directory(s.path / "folder");
  put(s.path / "folder/x", "x");
  CHECK_THROWS_AS(write_file((s.path / "folder").string(), "1"), FileError);
}

TEST_CASE("reading is bounded and says what it could not read", "[write_set]") {
  Scratch s;
  put(s.path / "f", "12345");
  CHECK(read_file((s.path / "f").string(), 5) == "12345");
  CHECK_THROWS_AS(read_file((s.path / "f").string(), 4), FileError);
  CHECK_THROWS_WITH(read_file((s.path / "none").string(), 4), Catch::Contains("none"));
  CHECK_THROWS_AS(read_file(s.path.string(), 4), FileError);
}
