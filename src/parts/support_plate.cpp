#include "parts/support_plate.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/loose_part.h"
#include "parts/marks.h"
#include "parts/screw_pick.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double least_under_head_mm = 2;  // material that a head clamps
constexpr double head_room_mm = 1.5;       // round a head, for a washer and the key
constexpr double beside_carriage_mm = 2;   // the sheet stays whole beyond the carriage
constexpr double round_standoff_mm = 3;
constexpr double relief_mm = 0.5;      // pocket beyond the insert
constexpr double least_web_mm = 0.8;   // plastic between an insert and the standoff's top
constexpr double least_window_mm = 8;  // smaller ones save nothing
constexpr double least_rib_mm = 15;    // between two heads a stump stiffens nothing
constexpr double window_corner_mm = 3;
constexpr double same_mm = 1e-9;

struct Rectangle {
  Vec2 low, high;
  Vec2 centre() const { return 0.5 * (low + high); }
  Vec2 size() const { return high - low; }
};

struct Disc {
  Vec2 at;
  double radius = 0;
};

bool overlap(const Rectangle& a, const Rectangle& b) {
  return a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y;
}

Rectangle about(Vec2 centre, Vec2 size) {
  return {centre - 0.5 * size, centre + 0.5 * size};
}

struct Designer {
  const Kit& kit;
  const Layout& layout;
  const PartRequest& request;
  const Json& s = request.settings;
  double sheet = s.at("thickness_mm").get<double>(), rib_width = s.at("rib_width_mm").get<double>();
  double rib_top = sheet + s.at("rib_height_mm").get<double>(), standoff_top = s.at("standoff_mm").get<double>();
  double standoff_diameter = s.at("standoff_diameter_mm").get<double>();
  const InsertSize& insert = *find_insert(s.at("insert").get<std::string>());
  ScrewPick pick{};
  Rectangle body{};
  std::vector<Rectangle> whole{};  ///< no window here
  std::vector<Disc> heads{};       ///< no rib here
  Part part{};

  const Compensation& compensation() const { return kit.printer.compensation; }

  void settle_body() {
    const CarriageSize& c = kit.carriages.size;
    Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
    const auto reach = [&](Vec2 at, Vec2 half) {
      low = {std::min(low.x, at.x - half.x), std::min(low.y, at.y - half.y)};
      high = {std::max(high.x, at.x + half.x), std::max(high.y, at.y + half.y)};
    };
    for (const Placement& p : layout.placements) {
      const Vec2 half{c.width_mm / 2, c.length_mm / 2};
      reach(p.at, half);
      whole.push_back(about(p.at, {c.width_mm + 2 * beside_carriage_mm, c.length_mm + 2 * beside_carriage_mm}));
    }
    for (const FrameHole& m : kit.frame.mounts) {
      const double r = standoff_diameter / 2;
      reach(m.at_mm, {r, r});
      whole.push_back(about(m.at_mm, {2 * (r + round_standoff_mm), 2 * (r + round_standoff_mm)}));
    }
    const double margin = s.at("margin_mm").get<double>();
    body = {low - Vec2{margin, margin}, high + Vec2{margin, margin}};
    const Vec2 size = body.size();
    const double corner = s.at("corner_radius_mm").get<double>(), grown = compensation().outline_mm;
    part = flat_body(kit, request, rectangle_loop(body.centre(), size, corner),
                     rectangle_loop(body.centre(), {size.x + grown, size.y + grown}, corner), sheet);
  }

  std::vector<double> lines(bool across) const {
    const int count = s.at("ribs").at(across ? 0 : 1).get<int>();
    const double low = across ? body.low.x : body.low.y, high = across ? body.high.x : body.high.y;
    // The outer ribs stand half a rib inside the rim, clear of its rounding.
    const double first = low + rib_width, last = high - rib_width;
    std::vector<double> at;
    for (int i = 0; i < count; ++i)
      at.push_back(count == 1 ? (low + high) / 2 : first + (last - first) * i / (count - 1));
    return at;
  }

  void add_block(const std::string& id, Vec2 centre, Vec2 size, double corner, double top) {
    Feature f;
    f.id = id;
    f.kind = FeatureKind::boss;
    f.effect = Effect::add;
    f.profile = {rectangle_loop(centre, size, corner)};
    f.from = Bound::at(0);
    f.to = Bound::at(top);
    f.at = {centre.x, centre.y, top};
    part.features.push_back(std::move(f));
  }

  /// A rib from end to end, broken where a screw's head is.
  void add_rib(bool along_x, double at, int number) {
    const double corner = s.at("corner_radius_mm").get<double>();
    const double low = (along_x ? body.low.x : body.low.y) + rib_width / 2 + corner / 2;
    const double high = (along_x ? body.high.x : body.high.y) - rib_width / 2 - corner / 2;
    std::vector<std::pair<double, double>> gaps;
    for (const Disc& d : heads) {
      const double across = (along_x ? d.at.y : d.at.x) - at, along = along_x ? d.at.x : d.at.y;
      if (std::fabs(across) < d.radius + rib_width / 2) gaps.push_back({along - d.radius, along + d.radius});
    }
    std::sort(gaps.begin(), gaps.end());
    gaps.push_back({high, high});
    double from = low;
    int piece = 0;
    for (const auto& gap : gaps) {
      if (gap.first - from > least_rib_mm) {
        const Vec2 centre = along_x ? Vec2{(from + gap.first) / 2, at} : Vec2{at, (from + gap.first) / 2};
        const Vec2 size = along_x ? Vec2{gap.first - from, rib_width} : Vec2{rib_width, gap.first - from};
        add_block(std::string(along_x ? "rib-x-" : "rib-y-") + std::to_string(number) + "-" + std::to_string(++piece),
                  centre, size, 0, rib_top);
      }
      from = std::max(from, gap.second);
    }
  }

  void add_windows() {
    if (!s.at("windows").get<bool>()) return;
    const double web = s.at("web_mm").get<double>() + rib_width / 2;
    const std::vector<double> xs = lines(true), ys = lines(false);
    int number = 0;
    for (std::size_t j = 0; j + 1 < ys.size(); ++j)
      for (std::size_t i = 0; i + 1 < xs.size(); ++i) {
        const Rectangle window{{xs[i] + web, ys[j] + web}, {xs[i + 1] - web, ys[j + 1] - web}};
        if (window.size().x < least_window_mm || window.size().y < least_window_mm) continue;
        if (std::any_of(whole.begin(), whole.end(), [&](const Rectangle& r) { return overlap(window, r); })) continue;
        Feature f;
        f.id = "window-" + std::to_string(++number);
        f.kind = FeatureKind::notch;
        f.effect = Effect::cut;
        f.profile = {rectangle_loop(window.centre(), window.size(), window_corner_mm)};
        f.from = f.to = Bound::open();
        f.through = true;
        f.at = {window.centre().x, window.centre().y, sheet};
        part.features.push_back(std::move(f));
      }
    part.statements.push_back(std::to_string(number) + " windows between the ribs");
  }

  void add_standoffs() {
    for (const FrameHole& m : kit.frame.mounts) {
      Feature f = boss_to_seat("standoff-" + m.id, m.at_mm, standoff_diameter, sheet, standoff_top, compensation());
      f.from = Bound::at(0);
      f.to = Bound::at(standoff_top + compensation().height_mm);
      f.at.z = f.to.z_mm;
      // Equal heights are what levels the bed: each is measured, from the plate's underside up.
      f.dimensions.push_back(dimension("rise", standoff_top, f.to.z_mm, height_tolerance_mm));
      part.features.push_back(std::move(f));
    }
    if (s.contains("pads")) {
      int number = 0;
      for (const Json& pad : s.at("pads")) {
        const Vec2 at = plane_size(pad.at("at_mm")), size = plane_size(pad.at("size_mm"));
        const double top = sheet + pad.at("height_mm").get<double>();
        add_block("pad-" + std::to_string(++number), at, size, 1, top);
        if (pad.contains("hole_mm"))
          part.features.push_back(clearance_hole("pad-hole-" + std::to_string(number), at,
                                                 pad.at("hole_mm").get<double>(), Bound::open(), Bound::open(), top,
                                                 compensation()));
      }
    }
  }

  void add_mount_holes() {
    const double hole = clearance_hole_mm(s.at("mount_screw").get<std::string>(), "medium");
    const double depth = insert.length_mm + relief_mm, top = standoff_top + compensation().height_mm;
    if (depth + least_web_mm > standoff_top)
      throw CannotBuild("standoff-low",
                        "a standoff " + decimal(standoff_top, 2) + " mm high has no room for the insert " + insert.id +
                            ", which needs " + decimal(depth + least_web_mm, 2),
                        "make standoff_mm at least " + decimal(depth + least_web_mm, 1) + ", or take a shorter insert",
                        {"standoff-" + kit.frame.mounts.front().id});
    for (const FrameHole& m : kit.frame.mounts) {
      part.features.push_back(
          clearance_hole("mount-hole-" + m.id, m.at_mm, hole, Bound::open(), Bound::open(), top, compensation()));
      // From below, so that the bed's screw pulls it into the plastic.
      part.features.push_back(insert_pocket("insert-" + m.id, m.at_mm, insert.hole_mm, 0, depth, compensation()));
    }
  }

  void add_carriage_holes() {
    const std::string& thread = kit.carriages.size.thread;
    const double hole = clearance_hole_mm(thread, "medium"), head = find_thread(thread)->counterbore_mm;
    int number = 0;
    for (const Placement& p : layout.placements)
      for (const Vec2 offset : carriage_holes(kit.carriages.size)) {
        const Vec2 at = p.at + offset;
        const std::string n = std::to_string(++number);
        part.features.push_back(
            clearance_hole("carriage-hole-" + n, at, hole, Bound::open(), Bound::open(), sheet, compensation()));
        if (pick.grip_mm < sheet - same_mm)
          part.features.push_back(counterbore("counterbore-" + n, at, head, pick.grip_mm, sheet, compensation()));
      }
  }

  Part run() {
    if (kit.frame.mounts.empty())
      throw CannotBuild("support-plate-no-mounts", request.id + " has nothing to carry: the kit has no bed mounts",
                        "give frame/bed_mounts", {"outline"});
    const std::string& thread = kit.carriages.size.thread;
    Anchor anchor;
    anchor.kind = "carriage";
    anchor.depth_mm = kit.carriages.size.thread_depth_mm;
    anchor.blind = true;
    const auto found = pick_screw(thread, anchor, kit.joint_rules, least_under_head_mm, sheet);
    if (!found)
      throw CannotBuild("no-screw-length",
                        "no " + thread + " screw of a stock length suits a sheet of " + decimal(sheet, 2) + " mm",
                        "try another thickness_mm", {"carriage-hole-1"});
    pick = *found;
    settle_body();
    for (const Placement& p : layout.placements)
      for (const Vec2 offset : carriage_holes(kit.carriages.size))
        heads.push_back({p.at + offset, find_thread(thread)->counterbore_mm / 2 + head_room_mm});
    if (s.contains("pads"))
      for (const Json& pad : s.at("pads"))
        whole.push_back(about(plane_size(pad.at("at_mm")), plane_size(pad.at("size_mm"))));
    int number = 0;
    for (const double y : lines(false)) add_rib(true, y, ++number);
    number = 0;
    for (const double x : lines(true)) add_rib(false, x, ++number);
    add_standoffs();
    add_windows();
    add_carriage_holes();
    add_mount_holes();
    part.statements.push_back("carriage screw ISO 4762 " + thread + "x" + decimal(pick.length_mm, 1) +
                              ": the head bears at z = " + decimal(pick.grip_mm, 2) + " mm");
    part.statements.push_back("the bed rests " + decimal(standoff_top, 2) +
                              " mm above the carriages, on standoffs of one height; it does not follow the old "
                              "sheet's dome");
    return part;
  }
};

}  // namespace

std::vector<Part> derive_support_plate(const Kit& kit, const Layout& layout, const PartRequest& request) {
  return {Designer{kit, layout, request}.run()};
}

void mark_support_plate(const Kit& kit, const Layout&, const PartRequest& request, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  wish.words.push_back("UP");
  wish.arrow = Arrow{{0, -1}, "F", "arrow to the front"};
  wish.depth_mm = std::min(mark_depth_mm, request.settings.at("thickness_mm").get<double>() / 3);
  engrave(part, wish, "upper face of the sheet");
}

}  // namespace bedwright
