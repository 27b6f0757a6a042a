#include "cli/program.h"

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace bedwright {

std::string file_bytes(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

nlohmann::json demo_kit(const std::string& name) {
  return nlohmann::json::parse(file_bytes(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json"));
}

Workshop::Workshop() {
  std::string name = (std::filesystem::temp_directory_path() / "bedwright-cli-XXXXXX").string();
  if (!::mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
  path = name;
}

Workshop::~Workshop() {
  std::error_code ignored;
  std::filesystem::remove_all(path, ignored);
  for (const char* suffix : {".out", ".err"}) std::filesystem::remove(path.string() + suffix, ignored);
}

void Workshop::put(const std::string& name, const std::string& text) const {
  std::ofstream(path / name) << text;
}

void Workshop::put(const std::string& name, const nlohmann::json& kit) const {
  put(name, kit.dump());
}

Run Workshop::run(const std::string& arguments, const std::string& redirect) const {
  const std::string out = path.string() + ".out", err = path.string() + ".err";
  const std::string command = "cd '" + path.string() + "' && '" + BEDWRIGHT_PROGRAM + "' " + arguments +
                              " < /dev/null > '" + out + "' 2> '" + err + "' " + redirect;
  const int raw = std::system(command.c_str());
  return {WIFEXITED(raw) ? WEXITSTATUS(raw) : -1, file_bytes(out), file_bytes(err)};
}

}  // namespace bedwright
