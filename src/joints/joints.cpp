#include "joints/joints.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

// Lengths and grips are sums of decimals: a length exactly at its limit must not fail by a rounding error.
constexpr double same_mm = 1e-6;

struct StockLength {
  double mm = 0;
  int choice = 1;
};

// Shortest length that ISO 4762:2004 table 1 lists (from memory).
double shortest_length(const std::string& thread) {
  if (thread == "M2") return 3;
  if (thread == "M2.5") return 4;
  if (thread == "M3") return 5;
  if (thread == "M4") return 6;
  if (thread == "M5") return 8;
  return 10;
}

std::vector<StockLength> standard_lengths(const std::string& thread) {
  std::vector<StockLength> lengths;
  for (const Json& row : hardware_table("screw_lengths").at("rows"))
    if (row.at("length_mm").get<double>() >= shortest_length(thread))
      lengths.push_back({row.at("length_mm").get<double>(), row.at("choice").get<int>()});
  std::sort(lengths.begin(), lengths.end(), [](const StockLength& a, const StockLength& b) { return a.mm < b.mm; });
  return lengths;
}

/// Free way of the tip past the start of the thread; empty where nothing limits it.
std::optional<double> reach_mm(const Joint& joint) {
  if (joint.anchor.blind) return joint.anchor.depth_mm - tip_clearance_mm;
  if (joint.behind.clear_mm) return joint.anchor.depth_mm + *joint.behind.clear_mm - tip_clearance_mm;
  return std::nullopt;
}

bool fits(const JointSolution& s, double length) {
  return length >= s.window_least_mm - same_mm && (!s.window_greatest_mm || length <= *s.window_greatest_mm + same_mm);
}

/// The shortest that fits: it holds, and reaches least far into what is behind.
void pick_length(JointSolution& s) {
  std::vector<double> stock = s.joint.stock_mm;
  std::sort(stock.begin(), stock.end());
  for (double mm : stock)
    if (fits(s, mm)) {
      s.pick_mm = mm;
      return;
    }
  const std::vector<StockLength> lengths = standard_lengths(s.joint.thread);
  for (int choice : {1, 2})
    for (const StockLength& length : lengths)
      if (length.choice == choice && fits(s, length.mm)) {
        s.pick_mm = length.mm;
        s.second_choice = choice == 2;
        return;
      }
}

std::string mm_text(double mm) {
  return decimal(mm, 2) + " mm";
}

std::string remedy_for(const JointSolution& s) {
  const Joint& joint = s.joint;
  const double need = least_engagement_mm(joint.thread);
  if (joint.anchor.depth_mm < need - same_mm)
    return "use an anchor with at least " + mm_text(need) + " of thread, or a finer screw";
  if (s.window_greatest_mm && *s.window_greatest_mm < s.window_least_mm)
    return "an anchor " + mm_text(s.window_least_mm - *s.window_greatest_mm) +
           " deeper, or layers known that much more closely";
  std::vector<double> lengths = joint.stock_mm;
  for (const StockLength& length : standard_lengths(joint.thread))
    if (length.choice == 1) lengths.push_back(length.mm);
  double shorter = 0, longer = 0;
  for (double mm : lengths) {
    if (mm < s.window_least_mm && mm > shorter) shorter = mm;
    if (s.window_greatest_mm && mm > *s.window_greatest_mm && (longer == 0 || mm < longer)) longer = mm;
  }
  std::string text;
  if (shorter > 0)
    text = joint.thread + "x" + decimal(shorter, 1) + " fits if the grip is " + mm_text(s.window_least_mm - shorter) +
           " less";
  if (longer > 0)
    text += std::string(text.empty() ? "" : ", ") + joint.thread + "x" + decimal(longer, 1) + " if it is " +
            mm_text(longer - *s.window_greatest_mm) + " more";
  return text;
}

std::string why_for(const JointSolution& s) {
  const Joint& joint = s.joint;
  const double need = least_engagement_mm(joint.thread);
  if (s.ok) {
    std::string text = joint.thread + "x" + decimal(*s.pick_mm, 1) + " holds in at least " + mm_text(s.engagement_mm) +
                       " of thread (" + mm_text(need) + " needed)";
    if (s.window_greatest_mm)
      text += ", its tip at least " + mm_text(*s.window_greatest_mm + tip_clearance_mm - *s.pick_mm) + " short of " +
              (joint.anchor.blind ? std::string("the bottom") : joint.behind.what);
    if (s.second_choice) text += "; no first-choice length fits";
    return text;
  }
  if (joint.anchor.depth_mm < need - same_mm)
    return "only " + mm_text(joint.anchor.depth_mm) + " of thread where " + joint.thread + " needs " + mm_text(need);
  if (s.window_greatest_mm && *s.window_greatest_mm < s.window_least_mm - same_mm)
    return "a screw long enough to hold (" + mm_text(s.window_least_mm) + ") is too long for what lies ahead of it (" +
           mm_text(*s.window_greatest_mm) + ")";
  return "no stock length from " + mm_text(s.window_least_mm) +
         (s.window_greatest_mm ? " to " + mm_text(*s.window_greatest_mm) : " up");
}

}  // namespace

double least_engagement_mm(const std::string& thread) {
  const ThreadSize* size = find_thread(thread);
  return size ? least_engagement_pitches * size->pitch_mm : 0;
}

JointSolution solve_window(const Joint& joint) {
  JointSolution s;
  s.joint = joint;
  s.grip_least_mm = s.grip_greatest_mm = joint.washer_mm;
  for (const JointLayer& layer : joint.layers) {
    s.grip_greatest_mm += layer.mm + layer.plus_minus_mm;
    s.grip_least_mm += layer.mm - layer.plus_minus_mm - (layer.printed ? settling_share * layer.mm : 0);
  }
  const double need = least_engagement_mm(joint.thread);
  s.window_least_mm = s.grip_greatest_mm + need;
  if (const auto reach = reach_mm(joint)) s.window_greatest_mm = s.grip_least_mm + *reach;
  if (joint.anchor.depth_mm >= need - same_mm) pick_length(s);
  s.ok = s.pick_mm.has_value();
  if (s.ok) s.engagement_mm = std::min(*s.pick_mm - s.grip_greatest_mm, joint.anchor.depth_mm);
  s.why = why_for(s);
  if (!s.ok) s.remedy = remedy_for(s);
  return s;
}

std::vector<double> stock_lengths_of(const Kit& kit, const std::string& thread) {
  std::vector<double> lengths;
  for (const Json& row : kit.stock)
    if (row.at("thread") == thread)
      for (const Json& length : row.at("lengths_mm")) lengths.push_back(length.get<double>());
  return lengths;
}

std::vector<Joint> joints_of_kit(const Kit& kit) {
  std::vector<Joint> joints;
  const auto was_assumed = [&](const std::string& pointer) {
    return std::any_of(kit.assumed.begin(), kit.assumed.end(), [&](const Note& n) { return n.pointer == pointer; });
  };
  for (std::size_t i = 0; i < kit.joints.size(); ++i) {
    const Json& from = kit.joints[i];
    Joint j;
    j.id = from.at("id").get<std::string>();
    j.thread = from.at("screw").get<std::string>();
    j.head = from.value("head", "socket");
    j.washer_mm = from.value("washer_mm", 0.0);
    for (const Json& layer : from.at("layers"))
      j.layers.push_back({layer.value("name", ""), layer.at("mm").get<double>(), layer.value("plus_minus_mm", 0.0),
                          layer.value("printed", false)});
    const Json& anchor = from.at("anchor");
    j.anchor.kind = anchor.at("kind").get<std::string>();
    j.anchor.depth_mm = anchor.at("depth_mm").get<double>();
    j.anchor.blind = j.anchor.kind == "carriage" || anchor.value("blind", false);
    const Json behind = from.value("behind", Json("unknown"));
    if (behind.is_object()) {
      j.behind.what = behind.value("what", "nothing");
      if (j.behind.what != "nothing") j.behind.clear_mm = behind.value("clear_mm", 0.0);
    } else {
      j.behind.known = false;
      j.behind.what = "unknown";
    }
    // A default is not an answer.
    const bool answered = !was_assumed("/joints/" + std::to_string(i) + "/also_holds");
    j.also_holds = answered ? from.value("also_holds", "") : "";
    j.stock_mm = from.contains("stock") ? from.at("stock").get<std::vector<double>>() : stock_lengths_of(kit, j.thread);
    j.purpose = j.id;
    joints.push_back(std::move(j));
  }
  return joints;
}

}  // namespace bedwright
