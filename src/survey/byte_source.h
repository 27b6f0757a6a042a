// Plain buffered reading of a file from front to back. Private to the survey.
#pragma once

#include <cstddef>
#include <cstdint>
#include <fstream>
#include <string>
#include <string_view>
#include <vector>

namespace bedwright {

class ByteSource {
 public:
  /// Throws FileError: cannot open, a folder, over 2 GiB.
  explicit ByteSource(const std::string& path);

  std::uint64_t size() const { return size_; }
  /// What has not been handed out yet.
  std::uint64_t left() const { return size_ - taken_; }
  /// `count` bytes in one piece (at most 1 MiB), or nullptr if the file ends before.
  const char* take(std::size_t count);
  /// The next line without its end; false at the file's end. A line over 1 MiB throws BadInput.
  bool line(std::string_view& text);
  std::size_t line_number() const { return line_number_; }
  void rewind();

 private:
  bool fill(std::size_t wanted);
  std::string path_;
  std::ifstream in_;
  std::vector<char> buffer_;
  std::size_t at_ = 0, end_ = 0, line_number_ = 0;
  std::uint64_t size_ = 0, taken_ = 0;
};

}  // namespace bedwright
