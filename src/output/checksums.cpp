#include "output/checksums.h"

#include <algorithm>

#include "base/error.h"
#include "base/sha256.h"

namespace bedwright {
namespace {

constexpr std::size_t digest_digits = 64, most_lines = 4096;

bool is_digest(const std::string& text) {
  return text.size() == digest_digits &&
         std::all_of(text.begin(), text.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
}

bool is_plain_name(const std::string& name) {
  if (name.empty() || name.find('\\') != name.npos) return false;
  for (std::size_t from = 0; from <= name.size();) {
    const std::size_t to = std::min(name.find('/', from), name.size());
    const std::string step = name.substr(from, to - from);
    if (step.empty() || step == "." || step == "..") return false;
    from = to + 1;
  }
  return true;
}

}  // namespace

std::string checksums_of(const std::map<std::string, std::string>& files) {
  std::string text;
  for (const auto& [name, bytes] : files)
    if (name != checksums_name) text += sha256(bytes) + "  " + name + "\n";
  return text;
}

std::map<std::string, std::string> read_checksums(const std::string& text, const std::string& source) {
  std::map<std::string, std::string> sums;
  int line = 0;
  const auto refusal = [&](const std::string& what) {
    return BadInput(source, {{"line " + std::to_string(line), "", what, "take the list as it was written"}});
  };
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    const std::string one = text.substr(from, to - from);
    from = to + 1;
    if (++line > static_cast<int>(most_lines)) throw refusal("lists more files than a set has");
    if (one.size() < digest_digits + 3 || !is_digest(one.substr(0, digest_digits)) ||
        one.compare(digest_digits, 2, "  ") != 0)
      throw refusal("is no checksum and file name");
    const std::string name = one.substr(digest_digits + 2);
    if (!is_plain_name(name)) throw refusal("names a file outside of its folder");
    if (!sums.emplace(name, one.substr(0, digest_digits)).second) throw refusal("names " + name + " a second time");
  }
  return sums;
}

}  // namespace bedwright
