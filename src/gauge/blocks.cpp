#include "gauge/blocks.h"

namespace bedwright {
namespace {

// A block ends where it would hold more facets, or be so many times as large as the largest of them: its box says too
// little then.
constexpr std::uint32_t most_in_block = 16;
constexpr double most_growth = 6;

}  // namespace

Blocks blocks_of(const Mesh& mesh, const Sheets& sheets) {
  const auto size = [](const Box& box) {
    const Vec3 d = box.high - box.low;
    return d.x + d.y + d.z;
  };
  Blocks blocks;
  for (std::size_t s = 0; s < sheets.proven.size(); ++s) {
    blocks.first_of_sheet.push_back(static_cast<std::uint32_t>(blocks.boxes.size()));
    std::uint32_t room = 0;
    Box block;
    double largest = 0;
    for (std::uint32_t i = sheets.first[s]; i < sheets.first[s + 1]; ++i) {
      const Box box = boxed(mesh, sheets.facets[i]).box, wider = both(block, box);
      largest = std::max(largest, size(box));
      if (room > 0 && size(wider) <= most_growth * largest) {
        block = wider;
        --room;
        continue;
      }
      if (i > sheets.first[s]) blocks.boxes.push_back(block);
      blocks.first.push_back(i);
      room = sheets.proven[s] ? most_in_block - 1 : 0;
      block = box;
      largest = size(box);
    }
    blocks.boxes.push_back(block);
  }
  blocks.first_of_sheet.push_back(static_cast<std::uint32_t>(blocks.boxes.size()));
  blocks.first.push_back(static_cast<std::uint32_t>(sheets.facets.size()));
  return blocks;
}

}  // namespace bedwright
