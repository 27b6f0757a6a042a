// Memory that will be written from end to end, in the system's large pages where it has some: a first touch of each
// small page takes longer than writing it. A hint: what is computed does not depend on it.
#pragma once

#include <cstddef>
#include <vector>

namespace bedwright {

/// For memory that was just taken and not touched yet. Does nothing for a few megabytes or fewer, and where the system
/// knows no such thing.
void want_large_pages(void* begin, std::size_t bytes);

/// `reserve`, with the hint.
template <typename T>
void reserve_large(std::vector<T>& list, std::size_t count) {
  if (count <= list.capacity()) return;
  list.reserve(count);
  want_large_pages(list.data() + list.size(), (list.capacity() - list.size()) * sizeof(T));
}

/// `count` values of one kind, as `assign` gives them, with the hint.
template <typename T>
void assign_large(std::vector<T>& list, std::size_t count, const T& value) {
  list.clear();
  reserve_large(list, count);
  list.assign(count, value);
}

}  // namespace bedwright
