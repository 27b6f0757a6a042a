// Runs the program as a person would: arguments, streams, files, exit status.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>
#include <string>

namespace bedwright {

inline std::string file_bytes(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

inline nlohmann::json demo_kit(const std::string& name) {
  return nlohmann::json::parse(file_bytes(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json"));
}

struct Run {
  int status = -1;
  std::string out, err;
};

/// A folder of its own, in which the program is started; removed at the end.
class Workshop {
 public:
  Workshop() {
    std::string name = (std::filesystem::temp_directory_path() / "bedwright-cli-XXXXXX").string();
    if (!::mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    path = name;
  }
  ~Workshop() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
    for (const char* suffix : {".out", ".err"}) std::filesystem::remove(path.string() + suffix, ignored);
  }
  Workshop(const Workshop&) = delete;
  Workshop& operator=(const Workshop&) = delete;

  void put(const std::string& name, const std::string& text) const { std::ofstream(path / name) << text; }
  void put(const std::string& name, const nlohmann::json& kit) const { put(name, kit.dump()); }

  /// `arguments` as a shell reads them. The streams' files lie beside the folder, so that it stays as the run left it.
  Run run(const std::string& arguments, const std::string& redirect = "") const {
    const std::string out = path.string() + ".out", err = path.string() + ".err";
    const std::string command = "cd '" + path.string() + "' && '" + BEDWRIGHT_PROGRAM + "' " + arguments +
                                " < /dev/null > '" + out + "' 2> '" + err + "' " + redirect;
    const int raw = std::system(command.c_str());
    return {WIFEXITED(raw) ? WEXITSTATUS(raw) : -1, file_bytes(out), file_bytes(err)};
  }

  std::filesystem::path path;
};

}  // namespace bedwright
