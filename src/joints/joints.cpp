#include "joints/joints.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "joints/stack.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

// Lengths and grips are sums of decimals: a length exactly at its limit must not fail by a rounding error.
constexpr double same_mm = 1e-6;

double counted_tolerance(const JointRules& rules, double length) {
  return rules.length_tolerance ? length_tolerance_mm(length) : 0;
}

bool fits(const JointSolution& s, double length) {
  const double t = counted_tolerance(s.joint.rules, length);
  return length - t >= s.window_least_mm - same_mm &&
         (!s.window_greatest_mm || length + t <= *s.window_greatest_mm + same_mm);
}

/// At hand first, then first choice, then second; in each the shortest first: it holds, and reaches least far.
void list_fitting(JointSolution& s) {
  std::vector<double> stock = s.joint.stock_mm;
  std::sort(stock.begin(), stock.end());
  stock.erase(std::unique(stock.begin(), stock.end()), stock.end());
  const std::vector<StockLength> lengths = standard_lengths(s.joint.thread);
  for (double mm : stock) {
    if (!fits(s, mm)) continue;
    const auto standard =
        std::find_if(lengths.begin(), lengths.end(), [&](const StockLength& l) { return l.mm == mm; });
    s.fits.push_back({mm, standard == lengths.end() ? 2 : standard->choice, true});
  }
  for (int choice : {1, 2})
    for (const StockLength& length : lengths)
      if (length.choice == choice && fits(s, length.mm) && !std::binary_search(stock.begin(), stock.end(), length.mm))
        s.fits.push_back(length);
}

std::string mm_text(double mm) {
  return decimal(mm, 2) + " mm";
}

std::string remedy_for(const JointSolution& s) {
  const Joint& joint = s.joint;
  if (joint.anchor.depth_mm < s.needed_mm - same_mm)
    return "use an anchor with at least " + mm_text(s.needed_mm) + " of thread, or a finer screw";
  std::string text;
  for (const std::string& one : remedies_for(s)) text += (text.empty() ? "" : "; or ") + one;
  if (!text.empty()) return text;
  if (s.window_greatest_mm && *s.window_greatest_mm < s.window_least_mm)
    return "an anchor " + mm_text(s.window_least_mm - *s.window_greatest_mm) +
           " deeper, or more room behind it, or layers known that much more closely";
  return "use a screw cut to length";
}

std::string why_for(const JointSolution& s) {
  const Joint& joint = s.joint;
  if (s.ok) {
    std::string text = joint.thread + "x" + decimal(*s.pick_mm, 1) + " holds in at least " + mm_text(s.engagement_mm) +
                       " of thread (" + mm_text(s.needed_mm) + " needed)";
    if (s.tip_free_mm)
      text += ", its tip at least " + mm_text(*s.tip_free_mm) + " short of " +
              (joint.anchor.blind ? std::string("the bottom") : joint.behind.what);
    if (s.second_choice) text += "; second choice, no first-choice length fits";
    return text;
  }
  if (joint.anchor.depth_mm < s.needed_mm - same_mm)
    return "only " + mm_text(joint.anchor.depth_mm) + " of thread where " + joint.thread + " needs " +
           mm_text(s.needed_mm);
  if (s.window_greatest_mm && *s.window_greatest_mm < s.window_least_mm - same_mm)
    return "a screw long enough to hold (" + mm_text(s.window_least_mm) + ") is too long for what lies ahead of it (" +
           mm_text(*s.window_greatest_mm) + ")";
  return "no stock length from " + mm_text(s.window_least_mm) +
         (s.window_greatest_mm ? " to " + mm_text(*s.window_greatest_mm) : " up");
}

void sum_grip(JointSolution& s) {
  const Joint& joint = s.joint;
  std::vector<StackLink> links = {{joint.washer_mm, 0}, {joint.nut_washer_mm, 0}};
  double settling = 0;
  for (const JointLayer& layer : joint.layers) {
    links.push_back({layer.mm, layer.plus_minus_mm});
    if (layer.printed) settling += joint.rules.settling_share * layer.mm;
  }
  const Stack stack = stack_of(links);
  s.grip_greatest_mm = stack.mm + stack.worst_mm;
  s.grip_least_mm = stack.mm - stack.worst_mm - settling;
  s.grip_rss_greatest_mm = stack.mm + stack.rss_mm;
  s.grip_rss_least_mm = stack.mm - stack.rss_mm - settling;
}

}  // namespace

double least_engagement_mm(const std::string& thread, const Anchor& anchor, const JointRules& rules) {
  const ThreadSize* size = find_thread(thread);
  if (!size) return 0;
  const double need = rules.engagement_pitches * size->pitch_mm;
  if (anchor.kind != "nut") return need;
  for (const Json& row : hardware_table("nuts").at("rows"))
    if (row.at("thread") == thread) return std::min(need, row.at("height_mm").get<double>());
  return need;
}

std::optional<double> reach_mm(const Anchor& anchor, const Behind& behind, const JointRules& rules) {
  if (anchor.blind) return anchor.depth_mm - rules.tip_clearance_mm;
  if (behind.clear_mm) return anchor.depth_mm + *behind.clear_mm - rules.tip_clearance_mm;
  return std::nullopt;
}

GripRange grips_for(double length_mm, const std::string& thread, const Anchor& anchor, const JointRules& rules) {
  const double t = counted_tolerance(rules, length_mm) + rules.printed_plus_minus_mm;
  const auto reach = reach_mm(anchor, {}, rules);
  GripRange range;
  // The layer may settle to (1 - settling_share) of its height; the tip then comes nearer to the bottom.
  range.least = reach ? (length_mm + t - *reach) / (1 - rules.settling_share) : 0;
  range.greatest = length_mm - t - least_engagement_mm(thread, anchor, rules);
  return range;
}

JointSolution solve_window(const Joint& joint) {
  JointSolution s;
  s.joint = joint;
  sum_grip(s);
  s.needed_mm = least_engagement_mm(joint.thread, joint.anchor, joint.rules);
  s.window_least_mm = s.grip_greatest_mm + s.needed_mm;
  // Where a screw held well, its successor must reach as deep as it did.
  if (joint.existing)
    s.window_least_mm = std::max(s.window_least_mm, joint.existing->length_mm + joint.existing->grows_mm);
  const auto reach = reach_mm(joint.anchor, joint.behind, joint.rules);
  if (reach) s.window_greatest_mm = s.grip_least_mm + *reach;
  if (joint.anchor.depth_mm >= s.needed_mm - same_mm) list_fitting(s);
  s.ok = !s.fits.empty();
  if (s.ok) {
    s.pick_mm = s.fits.front().mm;
    s.second_choice = s.fits.front().choice == 2;
    s.length_tolerance_mm = length_tolerance_mm(*s.pick_mm);
    const double t = counted_tolerance(joint.rules, *s.pick_mm);
    s.engagement_mm = std::min(*s.pick_mm - t - s.grip_greatest_mm, joint.anchor.depth_mm);
    if (const ThreadSize* size = find_thread(joint.thread)) s.engagement_turns = s.engagement_mm / size->pitch_mm;
    if (reach) s.tip_free_mm = *s.window_greatest_mm + joint.rules.tip_clearance_mm - *s.pick_mm - t;
  }
  s.why = why_for(s);
  if (!s.ok) s.remedy = remedy_for(s);
  return s;
}

}  // namespace bedwright
