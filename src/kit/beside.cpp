#include "kit/beside.h"

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "kit/view.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

constexpr const char* licence_pointer = "/publish/licence_file";

bool climbs(const fs::path& folder, const fs::path& file) {
  std::error_code error;
  const auto base = fs::weakly_canonical(folder, error);
  if (error) return true;
  const auto target = fs::weakly_canonical(folder / file, error);
  if (error) return true;
  const auto relative = target.lexically_relative(base);
  return relative.empty() || *relative.begin() == "..";
}

bool is_text(const std::string& bytes) {
  // nlohmann's writer refuses what is no UTF-8.
  try {
    (void)Json(bytes).dump();
  } catch (const Json::exception&) {
    return false;
  }
  return std::none_of(bytes.begin(), bytes.end(), [](char c) {
    return static_cast<unsigned char>(c) < 32 && c != '\n' && c != '\r' && c != '\t' && c != '\f';
  });
}

}  // namespace

bool leads_away(const Beside& beside, const std::string& name) {
  const fs::path path(name);
  if (path.is_absolute() || name.find('\\') != name.npos || name.find(':') != name.npos ||
      std::find(path.begin(), path.end(), "..") != path.end())
    return true;
  return !beside.in_memory && climbs(beside.folder, path);
}

std::string bytes_beside(const Beside& beside, const std::string& name, std::size_t most_bytes,
                         const std::string& pointer, const std::string& hint, std::vector<Problem>& problems) {
  const auto too_large = [&](std::uintmax_t size) {
    problems.push_back(
        {pointer, name,
         "the file has " + std::to_string(size) + " bytes; " + std::to_string(most_bytes) + " is the most", hint});
    return std::string();
  };
  if (beside.in_memory) {
    const auto found = beside.files.find(fs::path(name).lexically_normal().generic_string());
    if (found == beside.files.end()) {
      problems.push_back({pointer, name, "the bundle holds no such file", "ask whoever published it"});
      return "";
    }
    return found->second.size() > most_bytes ? too_large(found->second.size()) : found->second;
  }
  const fs::path path = fs::path(beside.folder) / name;
  std::error_code error;
  const auto status = fs::status(path, error);
  if (!fs::exists(status)) {
    problems.push_back({pointer, name, "there is no such file beside the kit", "put it there, or correct the name"});
    return "";
  }
  if (!fs::is_regular_file(status)) {
    problems.push_back({pointer, name, "is no plain file", hint});
    return "";
  }
  const auto size = fs::file_size(path, error);
  if (error) throw FileError(path.string(), "could not be read");
  if (size > most_bytes) return too_large(size);
  std::ifstream stream(path, std::ios::binary);
  if (!stream) throw FileError(path.string(), "cannot be opened");
  std::string text(size, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad() || static_cast<std::size_t>(stream.gcount()) != text.size())
    throw FileError(path.string(), "could not be read");
  return text;
}

std::string licence_text(const Beside& beside, const Json& document, std::vector<Problem>& problems) {
  const View view(document, problems);
  const auto name = view.text(licence_pointer);
  if (!name) return "";
  const std::size_t before = problems.size();
  std::string text = bytes_beside(beside, *name, largest_licence_bytes, licence_pointer,
                                  "name the text file with the terms", problems);
  if (problems.size() == before && (text.empty() || !is_text(text)))
    problems.push_back(
        {licence_pointer, *name, text.empty() ? "is empty" : "is no UTF-8 text", "name the text file with the terms"});
  return text;
}

std::vector<NamedText> bed_map_texts(const Beside& beside, const Json& document, std::vector<Problem>& problems) {
  const View view(document, problems);
  const std::string list = "/bed_map/files";
  std::vector<NamedText> files;
  for (std::size_t i = 0; i < view.count(list); ++i) {
    const std::string pointer = list + "/" + std::to_string(i);
    const auto name = view.text(pointer);
    if (!name) continue;
    const std::size_t before = problems.size();
    if (leads_away(beside, *name)) {
      problems.push_back(
          {pointer, *name, "leaves the kit's folder", "put the file beside the kit and write its name only"});
      continue;
    }
    std::string text =
        bytes_beside(beside, *name, largest_map_bytes, pointer, "name the text file with the map", problems);
    if (problems.size() == before && !is_text(text))
      problems.push_back({pointer, *name, "is no UTF-8 text", "save the map as plain text"});
    files.push_back({*name, std::move(text)});
  }
  return files;
}

}  // namespace bedwright
