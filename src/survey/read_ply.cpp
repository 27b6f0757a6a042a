#include <algorithm>
#include <array>
#include <cstring>
#include <limits>

#include "base/large_pages.h"
#include "survey/ply_vertices.h"
#include "survey/scan_text.h"

namespace bedwright {
namespace {

constexpr std::size_t most_header_lines = 10000;
constexpr std::size_t vertices_at_once = 256;  // they stay in the nearest cache until they are where they belong

using Scalar = PlyVertices::Scalar;

struct Property {
  std::string name;
  bool list = false;
  Scalar count = Scalar::u8, value = Scalar::f32;
};
struct Element {
  std::string name;
  std::uint64_t count = 0;
  std::vector<Property> properties;
};
enum class Order { text, little, big };
struct Header {
  Order order = Order::text;
  std::vector<Element> elements;
};

std::size_t size_of(Scalar s) {
  switch (s) {
    case Scalar::i8:
    case Scalar::u8:
      return 1;
    case Scalar::i16:
    case Scalar::u16:
      return 2;
    case Scalar::f64:
      return 8;
    default:
      return 4;
  }
}

bool scalar_of(std::string_view word, Scalar& s) {
  const struct {
    const char* name;
    Scalar scalar;
  } names[] = {{"char", Scalar::i8},   {"int8", Scalar::i8},     {"uchar", Scalar::u8},   {"uint8", Scalar::u8},
               {"short", Scalar::i16}, {"int16", Scalar::i16},   {"ushort", Scalar::u16}, {"uint16", Scalar::u16},
               {"int", Scalar::i32},   {"int32", Scalar::i32},   {"uint", Scalar::u32},   {"uint32", Scalar::u32},
               {"float", Scalar::f32}, {"float32", Scalar::f32}, {"double", Scalar::f64}, {"float64", Scalar::f64}};
  for (const auto& n : names) {
    if (word != n.name) continue;
    s = n.scalar;
    return true;
  }
  return false;
}

std::uint64_t bits_at(const char* at, std::size_t size, bool big) {
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < size; ++i) {
    const auto byte = static_cast<unsigned char>(at[big ? i : size - 1 - i]);
    bits = bits << 8 | byte;
  }
  return bits;
}

/// The usual case, written so that the compiler makes one load of it.
double float_at(const char* at, bool big) {
  unsigned char b[4];
  std::memcpy(b, at, 4);
  const std::uint32_t bits =
      big ? std::uint32_t{b[0]} << 24 | std::uint32_t{b[1]} << 16 | std::uint32_t{b[2]} << 8 | b[3]
          : std::uint32_t{b[3]} << 24 | std::uint32_t{b[2]} << 16 | std::uint32_t{b[1]} << 8 | b[0];
  float f;
  std::memcpy(&f, &bits, sizeof f);
  return static_cast<double>(f);
}

double value_at(const char* at, Scalar s, bool big) {
  const std::uint64_t bits = bits_at(at, size_of(s), big);
  switch (s) {
    case Scalar::i8:
      return static_cast<std::int8_t>(bits);
    case Scalar::u8:
      return static_cast<std::uint8_t>(bits);
    case Scalar::i16:
      return static_cast<std::int16_t>(bits);
    case Scalar::u16:
      return static_cast<std::uint16_t>(bits);
    case Scalar::i32:
      return static_cast<std::int32_t>(bits);
    case Scalar::u32:
      return static_cast<std::uint32_t>(bits);
    case Scalar::f32:
      return float_at(at, big);
    default: {
      double d;
      std::memcpy(&d, &bits, sizeof d);
      return d;
    }
  }
}

Header read_header(ByteSource& in, const std::string& path) {
  Header header;
  bool format = false;
  std::string_view line;
  for (std::size_t n = 0; n < most_header_lines && in.line(line); ++n) {
    std::string_view rest = line;
    const std::string_view word = next_word(rest);
    if (word == "end_header") {
      if (!format) refuse_scan(path, line_name(in), "the header names no format");
      return header;
    }
    if (word == "format") {
      const std::string_view kind = next_word(rest);
      format = true;
      if (kind == "ascii")
        header.order = Order::text;
      else if (kind == "binary_little_endian")
        header.order = Order::little;
      else if (kind == "binary_big_endian")
        header.order = Order::big;
      else
        refuse_scan(path, line_name(in), "the format \"" + std::string(kind.substr(0, 24)) + "\" is unknown");
    } else if (word == "element") {
      Element e;
      e.name = next_word(rest);
      const std::string_view count = next_word(rest);
      const auto [end, status] = std::from_chars(count.data(), count.data() + count.size(), e.count);
      if (status != std::errc() || end != count.data() + count.size() || count.empty())
        refuse_scan(path, line_name(in), "an element without a count");
      header.elements.push_back(std::move(e));
    } else if (word == "property") {
      if (header.elements.empty()) refuse_scan(path, line_name(in), "a property before any element");
      Property p;
      std::string_view type = next_word(rest);
      if (type == "list") {
        p.list = true;
        if (!scalar_of(next_word(rest), p.count)) refuse_scan(path, line_name(in), "an unknown kind of number");
        type = next_word(rest);
      }
      if (!scalar_of(type, p.value)) refuse_scan(path, line_name(in), "an unknown kind of number");
      p.name = next_word(rest);
      header.elements.back().properties.push_back(std::move(p));
    }
  }
  refuse_scan(path, line_name(in), "the header does not end");
}

struct Places {
  std::size_t property[3];  ///< of x, y, z
  std::size_t offset[3];    ///< bytes, where no list stands before
  std::size_t stride = 0;   ///< bytes of a vertex; 0: it has lists
};

Places places_of(const Element& vertex, const std::string& path) {
  Places at{};
  bool lists = false;
  std::size_t offset = 0;
  bool found[3] = {};
  for (std::size_t i = 0; i < vertex.properties.size(); ++i) {
    const Property& p = vertex.properties[i];
    for (int k = 0; k < 3; ++k) {
      if (p.list || p.name != std::string(1, static_cast<char>('x' + k))) continue;
      found[k] = true;
      at.property[k] = i;
      at.offset[k] = offset;
    }
    lists = lists || p.list;
    offset += size_of(p.value);
  }
  if (!found[0] || !found[1] || !found[2])
    refuse_scan(path, "", "its vertices have no x, y and z", "export it with coordinates");
  at.stride = lists ? 0 : offset;
  return at;
}

/// Skips or reads one binary element with lists.
void one_by_one(ByteSource& in, const Element& e, bool big, const std::string& path, double* values) {
  const auto need = [&](std::size_t count) {
    const char* at = in.take(count);
    if (!at) refuse_scan(path, "", "the file ends inside \"" + e.name + "\"");
    return at;
  };
  for (std::size_t i = 0; i < e.properties.size(); ++i) {
    const Property& p = e.properties[i];
    if (!p.list) {
      const double v = value_at(need(size_of(p.value)), p.value, big);
      if (values) values[i] = v;
      continue;
    }
    const double count = value_at(need(size_of(p.count)), p.count, big);
    if (!(count >= 0) || count * static_cast<double>(size_of(p.value)) > static_cast<double>(in.left()))
      refuse_scan(path, "", "a list in \"" + e.name + "\" is longer than the file");
    for (double k = 0; k < count; ++k) need(size_of(p.value));
  }
}

template <typename Value>
bool decoded(const PlyVertices& v, const char* bytes, std::size_t count, Vec3* out, const Value& value) {
  const std::size_t x = v.offset[0], y = v.offset[1], z = v.offset[2], stride = v.stride;
  double odd = 0;
  for (std::size_t i = 0; i < count; ++i, bytes += stride) {
    const Vec3 p{value(bytes + x, 0), value(bytes + y, 1), value(bytes + z, 2)};
    out[i] = p;
    // A difference of what is not finite with itself is not a number, and no sum with it is one.
    odd += (p.x - p.x) + (p.y - p.y) + (p.z - p.z);
  }
  return odd == 0;
}

PlyVertices vertices_of(const Element& e, const Places& at, bool big) {
  PlyVertices v;
  v.count = e.count;
  v.stride = at.stride;
  v.big = big;
  v.floats = true;
  for (int k = 0; k < 3; ++k) {
    v.offset[k] = at.offset[k];
    v.kind[k] = e.properties[at.property[k]].value;
    v.floats = v.floats && v.kind[k] == Scalar::f32;
  }
  return v;
}

/// Throws where the file is too short for the vertices that it claims.
void require_all_there(const PlyVertices& v, const ByteSource& in, const std::string& path) {
  if (v.count > in.left() / v.stride)
    refuse_scan(path, "",
                "claims " + std::to_string(v.count) + " vertices, but the file ends in or before vertex " +
                    std::to_string(in.left() / v.stride + 1));
}

void binary_vertices(ByteSource& in, const PlyVertices& v, const std::string& path, PointFile& file) {
  require_all_there(v, in, path);
  reserve_large(file.points, static_cast<std::size_t>(std::min<std::uint64_t>(v.count, most_scan_points)));
  const std::uint64_t block = std::max<std::size_t>(1, 65536 / v.stride);
  std::array<Vec3, vertices_at_once> some_points;
  for (std::uint64_t done = 0; done < v.count;) {
    const auto some = static_cast<std::size_t>(std::min(block, v.count - done));
    const char* bytes = in.take(some * v.stride);
    if (!bytes) refuse_scan(path, "vertex " + std::to_string(done + 1), "the file ends here");
    for (std::size_t from = 0; from < some; from += vertices_at_once) {
      const std::size_t count = std::min(vertices_at_once, some - from);
      const bool finite = decode(v, bytes + from * v.stride, count, some_points.data());
      if (finite && file.points.size() + count <= most_scan_points)
        file.points.insert(file.points.end(), some_points.begin(),
                           some_points.begin() + static_cast<std::ptrdiff_t>(count));
      else
        for (std::size_t i = 0; i < count; ++i) keep_point(file, some_points[i], path);
    }
    done += some;
  }
}

}  // namespace

bool decode(const PlyVertices& v, const char* bytes, std::size_t count, Vec3* out) {
  // Each order in a loop of its own: the usual ones are loads and no more.
  if (v.floats && !v.big) return decoded(v, bytes, count, out, [](const char* at, int) { return float_at(at, false); });
  if (v.floats) return decoded(v, bytes, count, out, [](const char* at, int) { return float_at(at, true); });
  return decoded(v, bytes, count, out, [&](const char* at, int k) { return value_at(at, v.kind[k], v.big); });
}

std::optional<PlyVertices> plain_vertices(ByteSource& in, const std::string& path) {
  const Header header = read_header(in, path);
  if (header.order == Order::text || header.elements.empty() || header.elements.front().name != "vertex")
    return std::nullopt;
  const Element& e = header.elements.front();
  const Places at = places_of(e, path);
  if (at.stride == 0) return std::nullopt;
  PlyVertices v = vertices_of(e, at, header.order == Order::big);
  require_all_there(v, in, path);
  v.begins = in.size() - in.left();
  return v;
}

PointFile read_ply(ByteSource& in, const std::string& path) {
  const Header header = read_header(in, path);
  PointFile file;
  for (const Element& e : header.elements) {
    const bool vertices = e.name == "vertex";
    if (vertices) {
      const Places at = places_of(e, path);
      if (header.order != Order::text && at.stride > 0) {
        binary_vertices(in, vertices_of(e, at, header.order == Order::big), path, file);
        return file;
      }
      std::vector<double> values(e.properties.size());
      std::string_view line;
      for (std::uint64_t i = 0; i < e.count; ++i) {
        if (header.order != Order::text) {
          one_by_one(in, e, header.order == Order::big, path, values.data());
        } else {
          do {
            if (!in.line(line)) refuse_scan(path, "vertex " + std::to_string(i + 1), "the file ends here");
          } while (line.empty());
          for (std::size_t k = 0; k < e.properties.size(); ++k) {
            const std::string_view word = next_word(line);
            if (word.empty() || !scan_number(word, values[k]))
              refuse_scan(path, line_name(in),
                          word.empty() ? "a vertex has too few numbers"
                                       : "\"" + std::string(word.substr(0, 24)) + "\" is not a number");
            if (!e.properties[k].list) continue;
            for (double left = values[k]; left > 0; --left)
              if (next_word(line).empty()) refuse_scan(path, line_name(in), "a list is cut short");
          }
        }
        keep_point(file, {values[at.property[0]], values[at.property[1]], values[at.property[2]]}, path);
      }
      return file;
    }
    std::string_view line;
    if (e.properties.empty() && header.order != Order::text) continue;
    for (std::uint64_t i = 0; i < e.count; ++i) {
      if (header.order == Order::text) {
        if (!in.line(line)) refuse_scan(path, "", "the file ends inside \"" + e.name + "\"");
      } else {
        one_by_one(in, e, header.order == Order::big, path, nullptr);
      }
    }
  }
  refuse_scan(path, "", "holds no vertices", "export it with points");
}

}  // namespace bedwright
