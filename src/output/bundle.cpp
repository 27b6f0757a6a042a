#include "output/bundle.h"

#include <algorithm>

#include "base/error.h"
#include "base/sha256.h"
#include "base/unzip.h"
#include "kit/read_kit.h"
#include "output/bundle_texts.h"
#include "output/checksums.h"
#include "output/trials.h"
#include "output/zip.h"

namespace bedwright {
namespace {

constexpr const char *kit_name = "kit.json", *set_folder = "set/", *picture_folder = "pictures/";
constexpr std::size_t most_entries = 2000;

std::string lower(std::string text) {
  for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return text;
}

bool is_picture(const std::string& bytes) {
  return bytes.compare(0, 3, "\xff\xd8\xff") == 0 || bytes.compare(0, 8, std::string("\x89PNG\r\n\x1a\n", 8)) == 0;
}

/// The trial that a picture's name stands for; throws where it is none.
std::string trial_of(const std::string& name) {
  const std::size_t dot = name.find_last_of('.');
  std::string stem = name.substr(0, dot);
  const std::string ending = dot == name.npos ? "" : name.substr(dot);
  const bool known = std::any_of(trials().begin(), trials().end(),
                                 [&](const Trial& t) { return *t.picture != '\0' && stem == t.id; });
  if (known && (ending == ".jpg" || ending == ".png")) return stem;
  std::string places;
  for (const Trial& t : trials())
    if (*t.picture != '\0') places += (places.empty() ? "" : ", ") + std::string(t.id);
  throw BadInput(name, {{"", "", "is no place for a picture", "name it .jpg or .png after one of " + places}});
}

/// Names relative to the one folder that all entries lie in.
std::string common_folder(const std::vector<ZipEntry>& entries, const std::string& source) {
  if (entries.empty()) throw BadInput(source, {{"", "", "is empty", "is it the right file?"}});
  const std::size_t slash = entries.front().name.find('/');
  std::string top = slash == std::string::npos ? "" : entries.front().name.substr(0, slash + 1);
  for (const ZipEntry& e : entries)
    if (top.empty() || e.name.compare(0, top.size(), top) != 0 || e.name.size() == top.size())
      throw BadInput(source, {{e.name.substr(0, 80), "", "does not lie in the one folder that a bundle is",
                               "take the archive as publish wrote it"}});
  return top;
}

void check_all(const Files& files, const std::string& source) {
  const auto list = files.find(checksums_name);
  if (list == files.end())
    throw BadInput(source, {{"", "", "has no SHA256SUMS: it is no bundle that publish wrote", "unpack it yourself"}});
  std::vector<Problem> problems;
  const auto sums = read_checksums(list->second, source + ": " + checksums_name);
  const std::string again = "fetch the bundle again, from whoever published it";
  for (const auto& [name, sum] : sums) {
    const auto file = files.find(name);
    if (file == files.end())
      problems.push_back({name, "", "is missing, though SHA256SUMS names it", again});
    else if (sha256(file->second) != sum)
      problems.push_back({name, "", "is not the file that SHA256SUMS names: its checksum is another", again});
  }
  for (const auto& [name, bytes] : files)
    if (name != checksums_name && !sums.count(name))
      problems.push_back({name, "", "is a stranger: SHA256SUMS does not name it", again});
  if (problems.size() > 20) problems.resize(20);
  if (!problems.empty()) throw BadInput(source, problems);
}

}  // namespace

Files bundle_files(const Kit& kit, const Report& report, const BundleSource& source) {
  std::vector<std::string> have;
  Files files;
  std::map<std::string, std::string> taken;  // lower case: file systems differ
  const auto put = [&](const std::string& name, const std::string& bytes) {
    if (!taken.emplace(lower(name), name).second)
      throw BadInput(kit.name, {{"", name, "is a name that the bundle needs for a file of its own",
                                 "rename the file beside the kit"}});
    files[name] = bytes;
  };
  for (const auto& [name, bytes] : source.pictures) {
    const std::string trial = trial_of(name);
    if (std::find(have.begin(), have.end(), trial) != have.end())
      throw BadInput(name, {{"", "", "is the second picture for one place", "keep one"}});
    if (!is_picture(bytes)) throw BadInput(name, {{"", "", "is neither a JPEG nor a PNG picture", "export it again"}});
    have.push_back(trial);
    put(picture_folder + name, bytes);
  }
  put(kit_name, source.kit_text);
  put("README.md", bundle_readme(kit, report));
  put("CAUTIONS.md", cautions_page(report));
  put("TESTED.md", tested_page(kit, report));
  put("PRINTING.md", printing_page(kit, report));
  put("print-settings.csv", print_settings_csv(kit, report));
  put("ASSEMBLY.md", assembly_page(report));
  put("RUN-IN.md", run_in_card(report));
  put("CHANGES.md", changes_page(kit));
  put(std::string(picture_folder) + "README.md", pictures_page(kit, have));
  for (const auto& [name, bytes] : source.set) put(set_folder + name, bytes);
  taken.emplace(lower(checksums_name), checksums_name);
  for (const auto& [name, bytes] : source.named) put(name, bytes);
  files[checksums_name] = checksums_of(files);
  return files;
}

std::string to_bundle(const Kit& kit, const Files& files) {
  std::vector<std::pair<std::string, std::string>> entries;
  for (const auto& [name, bytes] : files) entries.push_back({kit.name + "-" + kit.revision + "/" + name, bytes});
  return to_zip(entries);
}

bool is_bundle(const std::string& bytes) {
  return bytes.compare(0, 4, "PK\x03\x04") == 0 || bytes.compare(0, 4, "PK\x05\x06") == 0;
}

Bundle read_bundle(const std::string& bytes, const std::string& source) {
  ZipLimits limits;
  limits.entries = most_entries;
  limits.unpacked_bytes = largest_bundle_bytes;
  const std::vector<ZipEntry> entries = list_zip(bytes, source, limits);
  const std::string top = common_folder(entries, source);
  Files files;
  for (const ZipEntry& e : entries) files[e.name.substr(top.size())] = unzip(bytes, e, source);
  check_all(files, source);
  const auto kit = files.find(kit_name);
  if (kit == files.end())
    throw BadInput(source, {{"", "", "has no kit.json: nothing can be made of it", "ask whoever published it"}});
  Bundle bundle;
  bundle.kit_text = kit->second;
  for (const auto& [name, text] : files)
    if (name.compare(0, 4, set_folder) == 0) bundle.set[name.substr(4)] = text;
  bundle.beside.in_memory = true;
  bundle.beside.files = std::move(files);
  return bundle;
}

}  // namespace bedwright
