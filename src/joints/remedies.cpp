#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/numbers.h"
#include "joints/joints.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;
// A remedy keeps this much inside the window where the window allows.
constexpr double ease_mm = 0.1;
// A layer is not made thinner than this, nor than half of what it was.
constexpr double least_layer_mm = 0.6;

/// Changes of the grip with which one length fits.
struct Change {
  double least = 0, greatest = 0;
  bool holds(double d) const { return d >= least - same_mm && d <= greatest + same_mm; }
};

struct Option {
  double change_mm = 0;
  std::string text;
};

/// The layer to change: the thickest printed one, else the thickest.
const JointLayer* layer_to_change(const Joint& joint) {
  const JointLayer* best = nullptr;
  for (const JointLayer& layer : joint.layers)
    if (!best || std::make_pair(layer.printed, layer.mm) > std::make_pair(best->printed, best->mm)) best = &layer;
  return best;
}

Change change_for(const JointSolution& s, double length) {
  const Joint& joint = s.joint;
  const double t = joint.rules.length_tolerance ? length_tolerance_mm(length) : 0;
  const auto reach = reach_mm(joint.anchor, joint.behind, joint.rules);
  Change c;
  c.least = reach ? length + t - *reach - s.grip_least_mm : -std::numeric_limits<double>::infinity();
  // A printed layer's change settles with it.
  const JointLayer* layer = layer_to_change(joint);
  if (layer && layer->printed) c.least /= 1 - joint.rules.settling_share;
  c.greatest = length - t - s.window_least_mm;
  return c;
}

std::string size_text(double mm) {
  const bool tenths = std::fabs(mm * 10 - std::round(mm * 10)) < 1e-6;
  return tenths ? fmt::format("{:.1f}", mm) : decimal(mm, 2);
}

/// The neatest change near the end of the range that is nearest to none.
double neat(const Change& c, const JointLayer& layer, bool thinner) {
  const double ease = std::min(ease_mm, (c.greatest - c.least) / 2);
  const double wanted = layer.mm + (thinner ? c.greatest - ease : c.least + ease);
  const double tenth = (thinner ? std::floor(wanted * 10 + same_mm) : std::ceil(wanted * 10 - same_mm)) / 10 - layer.mm;
  return c.holds(tenth) ? tenth : wanted - layer.mm;
}

double standard_washer_mm(const std::string& thread) {
  for (const Json& row : hardware_table("washers").at("rows"))
    if (row.at("thread") == thread) return row.at("thickness_mm").get<double>();
  return 0;
}

void add_options(const JointSolution& s, const std::string& screw, const Change& c, std::vector<Option>& options) {
  const Joint& joint = s.joint;
  const double washer = standard_washer_mm(joint.thread);
  if (joint.washer_mm > 0 && c.holds(-joint.washer_mm))
    options.push_back({-joint.washer_mm, "no washer takes " + screw});
  if (joint.washer_mm == 0 && washer > 0 && c.holds(washer))
    options.push_back({washer, "washer " + size_text(washer) + " takes " + screw});
  const JointLayer* layer = layer_to_change(joint);
  if (!layer || c.holds(0)) return;
  const double d = neat(c, *layer, c.greatest < 0);
  const double mm = layer->mm + d;
  if (d < 0 && mm < std::max(least_layer_mm, layer->mm / 2)) return;
  const std::string name = layer->name.empty() ? "layer" : layer->name;
  options.push_back({d, name + " " + size_text(layer->mm) + " -> " + size_text(mm) + " takes " + screw});
}

const Option* nearest(const std::vector<Option>& options, int sign) {
  const Option* best = nullptr;
  for (const Option& o : options) {
    if (sign * o.change_mm <= 0) continue;
    if (!best || std::fabs(o.change_mm) < std::fabs(best->change_mm) - same_mm) best = &o;
  }
  return best;
}

}  // namespace

std::vector<std::string> remedies_for(const JointSolution& s) {
  std::vector<double> lengths = s.joint.stock_mm;
  for (const StockLength& length : standard_lengths(s.joint.thread))
    if (length.choice == 1) lengths.push_back(length.mm);
  std::vector<Option> options;
  for (double length : lengths) {
    const Change c = change_for(s, length);
    if (c.least > c.greatest + same_mm) continue;
    add_options(s, s.joint.thread + "x" + decimal(length, 1), c, options);
  }
  std::vector<std::string> texts;
  for (int sign : {-1, 1})
    if (const Option* o = nearest(options, sign)) texts.push_back(o->text);
  return texts;
}

}  // namespace bedwright
