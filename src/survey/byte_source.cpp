#include "survey/byte_source.h"

#include <cstring>
#include <filesystem>

#include "base/error.h"

namespace bedwright {
namespace {

constexpr std::size_t piece = std::size_t{1} << 20;
constexpr std::uint64_t most_bytes = std::uint64_t{2} << 30;

}  // namespace

ByteSource::ByteSource(const std::string& path) : path_(path), buffer_(2 * piece) {
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) throw FileError(path, "is a folder, not a file");
  in_.open(path, std::ios::binary | std::ios::ate);
  if (!in_) throw FileError(path, "cannot open");
  const std::streamoff size = in_.tellg();
  if (size < 0) throw FileError(path, "cannot read");
  size_ = static_cast<std::uint64_t>(size);
  if (size_ > most_bytes) throw FileError(path, "larger than 2 GiB, the limit here");
  in_.seekg(0);
}

bool ByteSource::fill(std::size_t wanted) {
  if (end_ - at_ >= wanted) return true;
  std::memmove(buffer_.data(), buffer_.data() + at_, end_ - at_);
  end_ -= at_;
  at_ = 0;
  while (end_ < wanted && in_) {
    in_.read(buffer_.data() + end_, static_cast<std::streamsize>(buffer_.size() - end_));
    end_ += static_cast<std::size_t>(in_.gcount());
    if (in_.bad()) throw FileError(path_, "cannot read");
  }
  return end_ >= wanted;
}

const char* ByteSource::take(std::size_t count) {
  if (count > piece || !fill(count)) return nullptr;
  const char* at = buffer_.data() + at_;
  at_ += count;
  taken_ += count;
  return at;
}

bool ByteSource::line(std::string_view& text) {
  std::size_t looked = 0;
  for (;;) {
    const void* found =
        end_ - at_ > looked ? std::memchr(buffer_.data() + at_ + looked, '\n', end_ - at_ - looked) : nullptr;
    if (found) {
      const auto length = static_cast<std::size_t>(static_cast<const char*>(found) - (buffer_.data() + at_));
      text = {buffer_.data() + at_, length};
      at_ += length + 1;
      taken_ += length + 1;
      break;
    }
    looked = end_ - at_;
    if (looked > piece)
      throw BadInput(path_, {{"line " + std::to_string(line_number_ + 1), "", "the line is longer than 1 MiB",
                              "it is not a text file of points"}});
    if (fill(looked + 1)) continue;
    if (looked == 0) return false;
    text = {buffer_.data() + at_, looked};
    at_ = end_;
    taken_ += looked;
    break;
  }
  ++line_number_;
  if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
  return true;
}

void ByteSource::rewind() {
  in_.clear();
  in_.seekg(0);
  at_ = end_ = line_number_ = 0;
  taken_ = 0;
}

}  // namespace bedwright
