#include "base/close_pairs.h"

#include <algorithm>
#include <utility>

namespace bedwright {
namespace {

constexpr std::uint32_t leaf_items = 4;
constexpr int most_halvings = 64;  // of space; hostile boxes are parted by their number from there

struct Node {
  FloatBox box;
  std::uint32_t first = 0, count = 0;  ///< items, or groups where `whole` is set
  std::uint32_t left = 0;              ///< the left child, once there are children; the right one follows it
  std::uint32_t weight = 0;            ///< items
  bool whole = false, apart = false;
  int depth = 0;
};

float centre(const FloatBox& box, int axis) {
  return 0.5f * box.low[axis] + 0.5f * box.high[axis];
}

int longest(const FloatBox& box) {
  int axis = 0;
  for (int i = 1; i < 3; ++i)
    if (box.high[i] - box.low[i] > box.high[axis] - box.low[axis]) axis = i;
  return axis;
}

/// Two parts of a list, neither empty, and what box each has.
struct Parted {
  std::uint32_t first_count = 0;
  FloatBox first, second;
};

/// Puts `count` things into two parts by where they are.
template <typename Thing, typename BoxOf>
Parted parted(Thing* things, std::uint32_t count, const FloatBox& all, int depth, BoxOf box_of_thing) {
  Parted parts;
  if (depth < most_halvings) {
    const int axis = longest(all);
    const float twice_middle = all.low[axis] + all.high[axis];
    std::uint32_t low = 0, high = count;
    while (low < high) {
      const FloatBox& box = box_of_thing(things[low]);
      if (box.low[axis] + box.high[axis] < twice_middle) {
        widen(parts.first, box);
        ++low;
      } else {
        widen(parts.second, box);
        std::swap(things[low], things[--high]);
      }
    }
    parts.first_count = low;
    if (low > 0 && low < count) return parts;
  }
  FloatBox centres;
  for (std::uint32_t i = 0; i < count; ++i)
    for (int k = 0; k < 3; ++k) {
      centres.low[k] = std::min(centres.low[k], centre(box_of_thing(things[i]), k));
      centres.high[k] = std::max(centres.high[k], centre(box_of_thing(things[i]), k));
    }
  const int axis = longest(centres);
  parts = {count / 2, {}, {}};
  std::nth_element(things, things + parts.first_count, things + count, [&](const Thing& a, const Thing& b) {
    return centre(box_of_thing(a), axis) < centre(box_of_thing(b), axis);
  });
  for (std::uint32_t i = 0; i < count; ++i)
    widen(i < parts.first_count ? parts.first : parts.second, box_of_thing(things[i]));
  return parts;
}

class Search {
 public:
  explicit Search(BoxedGroups groups) : in_(std::move(groups)) {
    const std::size_t count = in_.apart.size();
    boxes_.resize(count);
    order_.resize(count);
    for (std::uint32_t g = 0; g < count; ++g) {
      order_[g] = g;
      for (std::uint32_t i = in_.first[g]; i < in_.first[g + 1]; ++i) widen(boxes_[g], in_.items[i].box);
    }
    if (count == 0) return;
    FloatBox all;
    for (const FloatBox& box : boxes_) widen(all, box);
    nodes_.push_back(over_groups(all, 0, static_cast<std::uint32_t>(count), 0));
  }

  void for_each(const std::function<bool(std::uint32_t, std::uint32_t)>& visit) {
    if (nodes_.empty()) return;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> stack{{0, 0}};
    while (!stack.empty()) {
      const auto [i, k] = stack.back();
      stack.pop_back();
      if (i == k) {
        if (nodes_[i].apart) continue;
        if (is_leaf(nodes_[i])) {
          if (!visit_within(nodes_[i], visit)) return;
          continue;
        }
        const std::uint32_t left = children(i);
        stack.insert(stack.end(), {{left, left}, {left, left + 1}, {left + 1, left + 1}});
        continue;
      }
      if (!overlap(nodes_[i].box, nodes_[k].box)) continue;
      const bool i_ends = is_leaf(nodes_[i]), k_ends = is_leaf(nodes_[k]);
      if (i_ends && k_ends) {
        if (!visit_between(nodes_[i], nodes_[k], visit)) return;
      } else if (k_ends || (!i_ends && nodes_[i].weight >= nodes_[k].weight)) {
        const std::uint32_t left = children(i);
        stack.insert(stack.end(), {{left, k}, {left + 1, k}});
      } else {
        const std::uint32_t left = children(k);
        stack.insert(stack.end(), {{i, left}, {i, left + 1}});
      }
    }
  }

 private:
  static bool is_leaf(const Node& n) { return !n.whole && n.count <= leaf_items; }

  bool visit_within(const Node& n, const std::function<bool(std::uint32_t, std::uint32_t)>& visit) const {
    for (std::uint32_t p = n.first; p < n.first + n.count; ++p)
      for (std::uint32_t q = p + 1; q < n.first + n.count; ++q)
        if (overlap(in_.items[p].box, in_.items[q].box) && !visit(in_.items[p].what, in_.items[q].what)) return false;
    return true;
  }
  bool visit_between(const Node& a, const Node& b,
                     const std::function<bool(std::uint32_t, std::uint32_t)>& visit) const {
    for (std::uint32_t p = a.first; p < a.first + a.count; ++p) {
      if (!overlap(in_.items[p].box, b.box)) continue;
      for (std::uint32_t q = b.first; q < b.first + b.count; ++q)
        if (overlap(in_.items[p].box, in_.items[q].box) && !visit(in_.items[p].what, in_.items[q].what)) return false;
    }
    return true;
  }

  /// Of a list of groups, or of the items of one.
  Node over_groups(const FloatBox& box, std::uint32_t first, std::uint32_t count, int depth) const {
    Node n;
    n.box = box;
    n.depth = depth;
    for (std::uint32_t i = first; i < first + count; ++i) n.weight += in_.first[order_[i] + 1] - in_.first[order_[i]];
    n.whole = count > 1;
    n.first = n.whole ? first : in_.first[order_[first]];
    n.count = n.whole ? count : n.weight;
    n.apart = !n.whole && in_.apart[order_[first]] != 0;
    return n;
  }
  static Node over_items(const FloatBox& box, std::uint32_t first, std::uint32_t count, const Node& parent) {
    Node n = parent;
    n.box = box;
    n.first = first;
    n.count = n.weight = count;
    n.left = 0;
    ++n.depth;
    return n;
  }

  /// Builds them where that was not done yet; returns the left one.
  std::uint32_t children(std::uint32_t of) {
    const Node parent = nodes_[of];
    if (parent.left != 0) return parent.left;
    const auto left = static_cast<std::uint32_t>(nodes_.size());
    nodes_[of].left = left;
    const std::uint32_t first = parent.first, count = parent.count;
    if (parent.whole) {
      const Parted parts = parted(&order_[first], count, parent.box, parent.depth,
                                  [this](std::uint32_t g) -> const FloatBox& { return boxes_[g]; });
      nodes_.push_back(over_groups(parts.first, first, parts.first_count, parent.depth + 1));
      nodes_.push_back(
          over_groups(parts.second, first + parts.first_count, count - parts.first_count, parent.depth + 1));
    } else {
      const Parted parts = parted(&in_.items[first], count, parent.box, parent.depth,
                                  [](const Boxed& item) -> const FloatBox& { return item.box; });
      nodes_.push_back(over_items(parts.first, first, parts.first_count, parent));
      nodes_.push_back(over_items(parts.second, first + parts.first_count, count - parts.first_count, parent));
    }
    return left;
  }

  BoxedGroups in_;
  std::vector<FloatBox> boxes_;       ///< per group
  std::vector<std::uint32_t> order_;  ///< of the groups
  std::vector<Node> nodes_;
};

}  // namespace

void for_each_close_pair(BoxedGroups groups, const std::function<bool(std::uint32_t, std::uint32_t)>& visit) {
  Search search(std::move(groups));
  search.for_each(visit);
}

}  // namespace bedwright
