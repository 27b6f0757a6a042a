// The kits of tests/data/kits and params/kits, found by looking into the folders.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

inline std::string root_path(const std::string& path) {
  return std::string(BEDWRIGHT_ROOT) + "/" + path;
}

inline std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// Kit files of a folder, sorted; expectations.json is none.
inline std::vector<std::string> kit_files(const std::string& folder) {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(root_path(folder))) {
    const auto& path = entry.path();
    if (path.extension() == ".json" && path.filename() != "expectations.json") files.push_back(path.string());
  }
  std::sort(files.begin(), files.end());
  return files;
}

inline std::vector<std::string> good_kit_files() {
  std::vector<std::string> files = kit_files("tests/data/kits/good");
  for (const std::string& file : kit_files("params/kits")) files.push_back(file);
  return files;
}

inline std::string stem(const std::string& path) {
  return std::filesystem::path(path).stem().string();
}
