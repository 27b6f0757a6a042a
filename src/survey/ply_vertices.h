// Vertices of a binary PLY that all have the same length, so that any of them can be read. Private to the survey.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/vec.h"
#include "survey/byte_source.h"

namespace bedwright {

struct PlyVertices {
  enum class Scalar { i8, u8, i16, u16, i32, u32, f32, f64 };

  std::uint64_t count = 0, begins = 0;  ///< begins: byte of the file
  std::size_t stride = 0, offset[3] = {};
  Scalar kind[3] = {};
  bool big = false, floats = false;  ///< floats: all three are f32
};

/// Nothing of a text, of vertices with lists, or where others come first. Throws BadInput: no such header, cut short.
std::optional<PlyVertices> plain_vertices(ByteSource& in, const std::string& path);

/// `count` vertices from their bytes; whether all are finite.
bool decode(const PlyVertices& vertices, const char* bytes, std::size_t count, Vec3* out);

}  // namespace bedwright
