#include "base/unzip.h"

#include <zlib.h>

#include <algorithm>
#include <set>

#include "base/crc32.h"
#include "base/error.h"

namespace bedwright {
namespace {

constexpr std::uint32_t local_mark = 0x04034b50, directory_mark = 0x02014b50, end_mark = 0x06054b50;
constexpr std::size_t local_bytes = 30, directory_bytes = 46, end_bytes = 22, longest_comment = 65535;
constexpr std::uint32_t encrypted_flags = 0x2041;  // encrypted, strongly encrypted, masked headers
constexpr std::uint32_t file_kind = 0xf000, link_kind = 0xa000;
constexpr std::uint32_t made_on_unix = 3;

class Archive {
 public:
  Archive(const std::string& bytes, const std::string& source, const ZipLimits& limits)
      : bytes_(bytes), source_(source), limits_(limits) {}

  std::vector<ZipEntry> list() {
    const std::size_t end = find_end();
    const std::size_t count = u16(end + 10), size = u32(end + 12), start = u32(end + 16);
    if (count == 0xffff || size == 0xffffffffu || start == 0xffffffffu)
      refuse("", "is a ZIP64 archive; only plain ones, below 4 GiB, are read");
    if (u16(end + 4) != 0 || u16(end + 6) != 0 || u16(end + 8) != count) refuse("", "is one part of a split archive");
    if (count > limits_.entries)
      refuse("",
             "claims " + std::to_string(count) + " entries; at most " + std::to_string(limits_.entries) + " are read");
    if (start > end || size > end - start)
      refuse("", "its list of contents lies outside the file: cut short or damaged");
    std::vector<ZipEntry> entries;
    std::size_t at = start;
    for (std::size_t i = 0; i < count; ++i) at = read_one(at, start + size, entries);
    refuse_overlap(entries, start);
    return entries;
  }

 private:
  [[noreturn]] void refuse(const std::string& entry, const std::string& why) const {
    throw BadInput(source_, {Problem{entry, "", why, "have it packed again, by a program you trust"}});
  }
  std::uint32_t u16(std::size_t at) const { return byte(at) | byte(at + 1) << 8; }
  std::uint32_t u32(std::size_t at) const { return u16(at) | u16(at + 2) << 16; }
  std::uint32_t byte(std::size_t at) const { return static_cast<unsigned char>(bytes_[at]); }

  std::size_t find_end() const {
    if (bytes_.size() >= end_bytes) {
      const std::size_t last = bytes_.size() - end_bytes, first = last > longest_comment ? last - longest_comment : 0;
      for (std::size_t at = last + 1; at-- > first;)
        if (u32(at) == end_mark && at + end_bytes + u16(at + 20) == bytes_.size()) return at;
    }
    refuse("", "has no list of contents at its end: no ZIP archive, or cut short");
  }

  std::size_t read_one(std::size_t at, std::size_t end, std::vector<ZipEntry>& entries) {
    if (at + directory_bytes > end || u32(at) != directory_mark) refuse("", "its list of contents is damaged");
    const std::size_t name_bytes = u16(at + 28);
    const std::size_t next = at + directory_bytes + name_bytes + u16(at + 30) + u16(at + 32);
    if (next > end) refuse("", "its list of contents is damaged");
    ZipEntry entry;
    entry.name = bytes_.substr(at + directory_bytes, name_bytes);
    check_name(entry.name);
    const std::string shown = entry.name.substr(0, 80);
    if (u16(at + 8) & encrypted_flags) refuse(shown, "is encrypted");
    const bool from_unix = u16(at + 4) >> 8 == made_on_unix;
    if (from_unix && ((u32(at + 38) >> 16) & file_kind) == link_kind)
      refuse(shown, "is a link to another file; only plain files are read");
    entry.method = static_cast<int>(u16(at + 10));
    if (entry.method != 0 && entry.method != 8)
      refuse(shown, "is packed by method " + std::to_string(entry.method) + "; only stored and deflate are read");
    entry.crc = u32(at + 16);
    entry.packed_bytes = u32(at + 20);
    entry.unpacked_bytes = u32(at + 24);
    check_size(entry, shown);
    const std::size_t local = u32(at + 42);
    if (local + local_bytes > bytes_.size() || u32(local) != local_mark)
      refuse(shown, "is not where the list of contents says");
    const std::size_t local_name = u16(local + 26);
    entry.at = local + local_bytes + local_name + u16(local + 28);
    if (local_name != name_bytes || entry.at > bytes_.size() || entry.packed_bytes > bytes_.size() - entry.at ||
        bytes_.compare(local + local_bytes, local_name, entry.name) != 0)
      refuse(shown, "is described in two ways that do not agree");
    if (entry.name.back() != '/') entries.push_back(std::move(entry));
    return next;
  }

  void check_name(const std::string& name) {
    const std::string shown = name.substr(0, 80);
    if (name.empty()) refuse("", "has an entry without a name");
    if (name.front() == '/' || name.find('\\') != name.npos || name.find(':') != name.npos ||
        std::any_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) < 32; }))
      refuse(shown, "is no plain relative name");
    std::string folded;
    for (std::size_t from = 0; from < name.size();) {
      const std::size_t to = std::min(name.find('/', from), name.size());
      const std::string step = name.substr(from, to - from);
      if (step.empty() || step == "." || step == "..") refuse(shown, "leads out of its folder");
      from = to + 1;
    }
    for (const char c : name) folded += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (!names_.insert(folded).second) refuse(shown, "is there twice");
  }

  void check_size(const ZipEntry& entry, const std::string& shown) {
    total_ += entry.unpacked_bytes;
    if (total_ > limits_.unpacked_bytes)
      refuse(shown, "would unpack to more than " + std::to_string(limits_.unpacked_bytes >> 20) + " MiB in all");
    if (entry.unpacked_bytes > limits_.small_bytes && entry.unpacked_bytes / limits_.ratio > entry.packed_bytes)
      refuse(shown, "would unpack to " + std::to_string(entry.unpacked_bytes >> 20) + " MiB from " +
                        std::to_string(entry.packed_bytes >> 10) + " KiB: no real file packs so well");
    if (entry.method == 0 && entry.packed_bytes != entry.unpacked_bytes) refuse(shown, "states two sizes");
  }

  void refuse_overlap(const std::vector<ZipEntry>& entries, std::size_t directory) const {
    std::vector<const ZipEntry*> sorted;
    for (const ZipEntry& e : entries) sorted.push_back(&e);
    std::sort(sorted.begin(), sorted.end(), [](const ZipEntry* a, const ZipEntry* b) { return a->at < b->at; });
    for (std::size_t i = 0; i < sorted.size(); ++i) {
      const std::size_t end = sorted[i]->at + sorted[i]->packed_bytes;
      const std::size_t next =
          i + 1 < sorted.size() ? sorted[i + 1]->at - local_bytes - sorted[i + 1]->name.size() : directory;
      if (end > next) refuse(sorted[i]->name.substr(0, 80), "lies over another entry");
    }
  }

  const std::string& bytes_;
  const std::string& source_;
  const ZipLimits& limits_;
  std::set<std::string> names_;
  std::uint64_t total_ = 0;
};

/// Raw deflate into exactly `size` bytes; false where the stream is damaged, short, or holds more.
bool inflate_raw(const char* packed, std::size_t packed_bytes, std::string& out) {
  z_stream stream{};
  if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) throw Error("no memory to unpack with");
  // zlib does not write through next_in; its type is older than const.
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed));
  stream.avail_in = static_cast<uInt>(packed_bytes);
  char none = 0;
  stream.next_out = reinterpret_cast<Bytef*>(out.empty() ? &none : out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  const int status = inflate(&stream, Z_FINISH);
  const bool all = status == Z_STREAM_END && stream.avail_out == 0 && stream.avail_in == 0;
  inflateEnd(&stream);
  return all;
}

}  // namespace

std::vector<ZipEntry> list_zip(const std::string& bytes, const std::string& source, const ZipLimits& limits) {
  return Archive(bytes, source, limits).list();
}

std::string unzip(const std::string& bytes, const ZipEntry& entry, const std::string& source) {
  std::string out;
  bool good = true;
  if (entry.method == 0) {
    out = bytes.substr(entry.at, entry.packed_bytes);
  } else {
    out.resize(entry.unpacked_bytes);
    good = inflate_raw(bytes.data() + entry.at, entry.packed_bytes, out);
  }
  if (!good || crc32(out) != entry.crc)
    throw BadInput(
        source, {Problem{entry.name, "", "is damaged: it does not unpack to what the archive says", "copy it again"}});
  return out;
}

}  // namespace bedwright
