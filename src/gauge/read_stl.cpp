#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <fstream>
#include <optional>
#include <string_view>

#include "base/chars.h"
#include "base/error.h"
#include "base/large_pages.h"
#include "gauge/read_mesh.h"

namespace bedwright {
namespace {

constexpr std::size_t header_bytes = 84;  // 80 of text, 4 of count (StereoLithography interface specification, 1989)
constexpr std::size_t facet_bytes = 50;
constexpr std::size_t most_bytes = std::size_t{2} << 30;  // 2 GiB: the limit of a scan

[[noreturn]] void refuse(const std::string& source, const std::string& where, const std::string& value,
                         const std::string& message, const std::string& hint = {}) {
  throw BadInput(source, {Problem{where, value, message, hint}});
}

std::uint32_t little_endian(const char* at) {
  unsigned char b[4];
  std::memcpy(b, at, 4);
  return b[0] | (std::uint32_t{b[1]} << 8) | (std::uint32_t{b[2]} << 16) | (std::uint32_t{b[3]} << 24);
}

bool is_finite(std::uint32_t float_bits) {
  constexpr std::uint32_t exponent = 0x7f800000;  // all of it set: no finite number (IEEE 754)
  return (float_bits & exponent) != exponent;
}

float float_of(std::uint32_t bits) {
  float f;
  std::memcpy(&f, &bits, 4);
  return f;
}

bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\v' || c == '\f';
}
char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool same_word(std::string_view token, std::string_view word) {
  if (token.size() != word.size()) return false;
  for (std::size_t i = 0; i < token.size(); ++i)
    if (lower(token[i]) != word[i]) return false;
  return true;
}

/// Words of a text, with the line they stand on for messages.
class Words {
 public:
  explicit Words(std::string_view text) : text_(text) {}

  std::string_view next() {
    while (at_ < text_.size() && is_space(text_[at_])) line_ += text_[at_++] == '\n';
    const std::size_t from = at_;
    while (at_ < text_.size() && !is_space(text_[at_])) ++at_;
    return text_.substr(from, at_ - from);
  }
  void skip_line() {
    while (at_ < text_.size() && text_[at_] != '\n') ++at_;
  }
  std::size_t line() const { return line_; }

 private:
  std::string_view text_;
  std::size_t at_ = 0, line_ = 1;
};

std::string shortened(std::string_view token) {
  return std::string(token.substr(0, 24));
}

class AsciiReader {
 public:
  AsciiReader(std::string_view text, const std::string& source) : words_(text), source_(source) {}

  Mesh read() {
    std::string_view token = words_.next();
    while (!token.empty()) {
      if (same_word(token, "solid") || same_word(token, "endsolid")) {
        words_.skip_line();
      } else if (same_word(token, "facet")) {
        read_facet();
      } else {
        wrong(token, "facet");
      }
      token = words_.next();
    }
    if (mesh_.triangles.empty()) refuse(source_, "", "", "holds no facets", "export the part again");
    return std::move(mesh_);
  }

 private:
  std::string here() const {
    return "facet " + std::to_string(mesh_.triangles.size() + 1) + " (line " + std::to_string(words_.line()) + ")";
  }
  [[noreturn]] void wrong(std::string_view token, const std::string& wanted) {
    if (token.empty()) refuse(source_, here(), "", "the file ends inside a facet", "it was cut short: export it again");
    refuse(source_, here(), shortened(token), "expected \"" + wanted + "\"", "not a text STL, or damaged");
  }
  void expect(std::string_view word) {
    const std::string_view token = words_.next();
    if (!same_word(token, word)) wrong(token, std::string(word));
  }
  double coordinate() {
    const std::string_view token = words_.next();
    std::string_view digits = token;
    if (!digits.empty() && digits[0] == '+') digits.remove_prefix(1);
    double value = 0;
    const auto [length, status] = read_chars(digits, value);
    if (token.empty()) wrong(token, "a coordinate");
    if (status == std::errc::result_out_of_range) {
      refuse(source_, here(), shortened(token), "the coordinate is out of range");
    }
    if (status != std::errc() || length != digits.size()) wrong(token, "a coordinate");
    const double rounded = static_cast<float>(value);
    if (!std::isfinite(rounded)) refuse(source_, here(), shortened(token), "the coordinate is not a finite number");
    return rounded;
  }
  void read_facet() {
    expect("normal");
    // The normal is not used (the order of the corners decides), so "nan" in it is harmless.
    for (int i = 0; i < 3; ++i)
      if (words_.next().empty()) wrong({}, "a normal");
    expect("outer");
    expect("loop");
    const auto first = static_cast<std::uint32_t>(mesh_.vertices.size());
    for (int i = 0; i < 3; ++i) {
      expect("vertex");
      const double x = coordinate(), y = coordinate(), z = coordinate();
      mesh_.vertices.push_back({x, y, z});
    }
    std::string_view token = words_.next();
    if (same_word(token, "vertex")) refuse(source_, here(), "", "has more than three corners");
    if (!same_word(token, "endloop")) wrong(token, "endloop");
    expect("endfacet");
    mesh_.triangles.push_back({first, first + 1, first + 2});
  }

  Words words_;
  const std::string& source_;
  Mesh mesh_;
};

constexpr std::size_t facets_in_cache = 100;  // what they hold stays in the nearest cache until it is where it belongs
// From so many on, a file is read in two shares, which may be read at once.
constexpr std::size_t facets_in_shares = 200'000;

/// Takes whole binary facets as they come, in pieces of any number. Facets near each other in a file share most of
/// their corners: one that was seen a short while ago is not kept again.
class BinaryReader {
 public:
  /// Facets go to `to`, their corners numbered from 0; `before`: how many facets come before in the file.
  BinaryReader(const std::string& source, std::size_t before, std::size_t count, std::array<std::uint32_t, 3>* to)
      : source_(source), before_(before), to_(to), seen_(seen_corners) {
    reserve_large(vertices_, 3 * count);
  }

  void take(const char* facets, std::size_t count) {
    for (std::size_t done = 0; done < count; done += facets_in_cache)
      take_some(facets + facet_bytes * done, std::min(facets_in_cache, count - done));
  }
  std::vector<Vec3> vertices() { return std::move(vertices_); }

 private:
  struct Seen {
    std::uint32_t x, y, z, vertex = no_vertex;
  };
  static constexpr std::uint32_t no_vertex = 0xffffffffu;
  static constexpr std::size_t seen_corners = 8192;

  static std::size_t place_of(std::uint32_t x, std::uint32_t y, std::uint32_t z) {
    const std::uint32_t mixed = (x * 0x9E3779B1u) ^ (y * 0x85EBCA77u) ^ (z * 0xC2B2AE3Du);
    return (mixed ^ (mixed >> 15)) * 0x2C1B3C6Du >> 19;
  }

  void take_some(const char* facets, std::size_t count) {
    const auto vertices = static_cast<std::uint32_t>(vertices_.size());
    std::uint32_t fresh = 0;
    const char* at = facets + 12;
    for (std::size_t f = 0; f < count; ++f, at += facet_bytes, ++to_) {
      int beyond = 0;  // how many are not finite: counted, which takes less time than asking one by one
      for (std::size_t k = 0; k < 3; ++k) {
        const char* corner = at + 12 * k;
        const std::uint32_t x = little_endian(corner), y = little_endian(corner + 4), z = little_endian(corner + 8);
        beyond += !is_finite(x) + !is_finite(y) + !is_finite(z);
        Seen& seen = seen_[place_of(x, y, z)];
        if (seen.x != x || seen.y != y || seen.z != z || seen.vertex == no_vertex) {
          seen = {x, y, z, vertices + fresh};
          corners_[fresh++] = {float_of(x), float_of(y), float_of(z)};
        }
        (*to_)[k] = seen.vertex;
      }
      if (beyond > 0)
        refuse(source_, "facet " + std::to_string(before_ + f + 1), "", "a coordinate is not a finite number");
    }
    before_ += count;
    vertices_.insert(vertices_.end(), corners_.begin(), corners_.begin() + fresh);
  }

  const std::string& source_;
  std::size_t before_;
  std::array<std::uint32_t, 3>* to_;
  std::vector<Vec3> vertices_;
  std::vector<Seen> seen_;
  std::array<Vec3, 3 * facets_in_cache> corners_;
};

/// Room for so many facets, of which there must be some.
Mesh room_for(std::size_t count, const std::string& source) {
  if (count == 0) refuse(source, "", "", "holds no facets", "export the part again");
  Mesh mesh;
  assign_large(mesh.triangles, count, {});
  return mesh;
}

Mesh read_binary(const std::string& bytes, const std::string& source, std::size_t count) {
  Mesh mesh = room_for(count, source);
  BinaryReader reader(source, 0, count, mesh.triangles.data());
  reader.take(bytes.data() + header_bytes, count);
  mesh.vertices = reader.vertices();
  return mesh;
}

/// A text STL starts with "solid", and its next words are a name and "facet" or "endsolid": no byte is zero up to
/// there.
bool looks_like_text(const std::string& bytes) {
  Words words(std::string_view(bytes).substr(0, 4096));
  if (!same_word(words.next(), "solid")) return false;
  for (std::string_view token = words.next(); !token.empty(); token = words.next()) {
    if (token.find('\0') != std::string_view::npos) return false;
    if (same_word(token, "facet") || same_word(token, "endsolid")) return true;
  }
  return false;
}

}  // namespace

Mesh read_stl(const std::string& bytes, const std::string& source) {
  if (bytes.size() >= header_bytes) {
    const std::size_t count = little_endian(bytes.data() + 80);
    if (bytes.size() == header_bytes + facet_bytes * count) return read_binary(bytes, source, count);
  }
  if (looks_like_text(bytes)) return AsciiReader(bytes, source).read();
  if (bytes.empty()) refuse(source, "", "", "the file is empty", "export the part again");
  if (bytes.size() < header_bytes) refuse(source, "", "", "too short for an STL", "is it the right file?");
  const std::size_t count = little_endian(bytes.data() + 80);
  const std::size_t held = (bytes.size() - header_bytes) / facet_bytes;
  if (count > held) {
    refuse(
        source, "facet " + std::to_string(held + 1), "",
        "claims " + std::to_string(count) + " facets, but the file ends in or before facet " + std::to_string(held + 1),
        "it was cut short, or is not an STL: export or copy it again");
  }
  refuse(source, "", "", "holds more bytes than its " + std::to_string(count) + " facets need",
         "not an STL, or damaged");
}

namespace {

std::size_t opened(std::ifstream& in, const std::string& path) {
  in.rdbuf()->pubsetbuf(nullptr, 0);  // read in large pieces only: nothing to gain by another copy
  in.open(path, std::ios::binary | std::ios::ate);
  if (!in) throw FileError(path, "cannot open");
  const std::streamoff size = in.tellg();
  if (size < 0) throw FileError(path, "cannot read");
  if (static_cast<std::size_t>(size) > most_bytes) throw FileError(path, "larger than 2 GiB, the limit here");
  in.seekg(0);
  return static_cast<std::size_t>(size);
}

void read_bytes(std::ifstream& in, const std::string& path, char* to, std::size_t count) {
  in.read(to, static_cast<std::streamsize>(count));
  if (!in || in.gcount() != static_cast<std::streamsize>(count)) throw FileError(path, "cannot read");
}

constexpr std::size_t facets_per_read = 4000;

/// The file's facets from `first` on, piece by piece, so that its bytes are never all in memory beside its mesh.
std::vector<Vec3> read_share(const std::string& path, std::size_t first, std::size_t count, Mesh& mesh) {
  std::ifstream in;
  opened(in, path);
  in.seekg(static_cast<std::streamoff>(header_bytes + facet_bytes * first));
  BinaryReader reader(path, first, count, mesh.triangles.data() + first);
  std::vector<char> piece(facet_bytes * std::min(count, facets_per_read));
  for (std::size_t done = 0; done < count;) {
    const std::size_t some = std::min(count - done, piece.size() / facet_bytes);
    read_bytes(in, path, piece.data(), facet_bytes * some);
    reader.take(piece.data(), some);
    done += some;
  }
  return reader.vertices();
}

/// Nothing where it is no binary STL.
std::optional<Mesh> binary_stl_file(std::ifstream& in, const std::string& path, std::size_t size,
                                    const AtOnce& at_once) {
  if (size < header_bytes) return std::nullopt;
  char header[header_bytes];
  read_bytes(in, path, header, header_bytes);
  const std::size_t count = little_endian(header + 80);
  if (size != header_bytes + facet_bytes * count) {
    in.seekg(0);
    return std::nullopt;
  }
  Mesh mesh = room_for(count, path);
  if (count < facets_in_shares) {
    mesh.vertices = read_share(path, 0, count, mesh);
    return mesh;
  }
  const std::size_t half = count / 2;
  std::vector<Vec3> second;
  at_once({[&] { mesh.vertices = read_share(path, 0, half, mesh); },
           [&] { second = read_share(path, half, count - half, mesh); }});
  const auto shift = static_cast<std::uint32_t>(mesh.vertices.size());
  at_once({[&] { mesh.vertices.insert(mesh.vertices.end(), second.begin(), second.end()); },
           [&] {
             for (std::size_t f = half; f < count; ++f)
               for (std::uint32_t& v : mesh.triangles[f]) v += shift;
           }});
  return mesh;
}

std::string rest_of(std::ifstream& in, const std::string& path, std::size_t size) {
  std::string bytes(size, '\0');
  read_bytes(in, path, bytes.data(), size);
  return bytes;
}

std::vector<MeshItem> one_item(Mesh mesh) {
  std::vector<MeshItem> items(1);
  items[0].mesh = std::move(mesh);
  return items;
}

}  // namespace

Mesh read_stl_file(const std::string& path, const AtOnce& at_once) {
  std::ifstream in;
  const std::size_t size = opened(in, path);
  if (std::optional<Mesh> mesh = binary_stl_file(in, path, size, at_once)) return std::move(*mesh);
  return read_stl(rest_of(in, path, size), path);
}

std::vector<MeshItem> read_mesh_file(const std::string& path, const AtOnce& at_once) {
  std::ifstream in;
  const std::size_t size = opened(in, path);
  char begins[4] = {};
  read_bytes(in, path, begins, std::min<std::size_t>(size, sizeof begins));
  in.seekg(0);
  if (std::memcmp(begins, "PK\x03\x04", sizeof begins) != 0)
    if (std::optional<Mesh> mesh = binary_stl_file(in, path, size, at_once)) return one_item(std::move(*mesh));
  const std::string bytes = rest_of(in, path, size);
  // What every ZIP archive that holds anything begins with.
  if (bytes.compare(0, 4, "PK\x03\x04") == 0) return read_3mf(bytes, path);
  return one_item(read_stl(bytes, path));
}

}  // namespace bedwright
