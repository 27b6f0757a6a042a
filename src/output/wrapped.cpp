#include "output/wrapped.h"

#include <algorithm>

namespace bedwright {
namespace {

constexpr std::size_t line_width = 100;

}  // namespace

std::string wrapped(const std::string& first, const std::string& text, std::size_t indent) {
  std::string out = first;
  std::size_t column = first.size();
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::size_t word = end - at;
    if (column + word > line_width && column > indent) {
      while (!out.empty() && out.back() == ' ') out.pop_back();
      out += "\n" + std::string(indent, ' ');
      column = indent;
    }
    out += text.substr(at, word) + (end < text.size() ? " " : "");
    column += word + 1;
    at = end + 1;
  }
  return out + "\n";
}

}  // namespace bedwright
