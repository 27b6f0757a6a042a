// Runs the program as a person would: arguments, streams, files, exit status.
#pragma once

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

namespace bedwright {

std::string file_bytes(const std::filesystem::path& path);
nlohmann::json demo_kit(const std::string& name);

struct Run {
  int status = -1;
  std::string out, err;
};

/// A folder of its own, in which the program is started; removed at the end.
class Workshop {
 public:
  Workshop();
  ~Workshop();
  Workshop(const Workshop&) = delete;
  Workshop& operator=(const Workshop&) = delete;

  void put(const std::string& name, const std::string& text) const;
  void put(const std::string& name, const nlohmann::json& kit) const;

  /// `arguments` as a shell reads them. The streams' files lie beside the folder, so that it stays as the run left it.
  Run run(const std::string& arguments, const std::string& redirect = "") const;

  std::filesystem::path path;
};

}  // namespace bedwright
