#include "layout/bench_kit.h"

#include "kit/hardware.h"

namespace bedwright {

std::vector<FrameHole> rectangular_holes(Vec2 pitch, Vec2 centre, double diameter) {
  std::vector<FrameHole> holes;
  const Vec2 side[4] = {{-1, -1}, {1, -1}, {-1, 1}, {1, 1}};
  for (int i = 0; i < 4; ++i)
    holes.push_back({placement_ids[i], centre + Vec2{side[i].x * pitch.x / 2, side[i].y * pitch.y / 2}, diameter});
  return holes;
}

PartRequest plate_request(const std::string& id) {
  PartRequest r;
  r.id = id;
  r.family = "adapter_plate";
  r.pointer = "/parts/0";
  r.settings = Json{{"id", id},
                    {"family", "adapter_plate"},
                    {"thickness_mm", 6.0},
                    {"boss_side", "down"},
                    {"boss_diameter_mm", 10.0},
                    {"boss_height_mm", 4.0},
                    {"carriage_screw", "M3"},
                    {"carriage_hole", "medium"},
                    {"frame_screw", "M4"},
                    {"insert", "m4-standard"},
                    {"slot_mm", 1.0},
                    {"slot_axis", "x"},
                    {"margin_mm", 4.0},
                    {"corner_radius_mm", 5.0},
                    {"bottom_chamfer_mm", 0.4},
                    {"seat", "full"},
                    {"pad_diameter_mm", 14.0},
                    {"head_cover_mm", 0.3},
                    {"mark", true}};
  return r;
}

Kit bench_kit() {
  Kit kit;
  kit.name = "bench";
  kit.revision = "A";
  kit.frame.sheet_thickness_mm = 2;
  kit.frame.dome.shape = "sphere";
  kit.frame.dome.radius_mm = 2600;
  kit.frame.holes = rectangular_holes({196, 150}, {0, 0}, 4.5);
  kit.rails.size = {"mini-12", 12, 7.75, 25, 10, 3.5, 6, 4.5, "M3"};
  kit.rails.pitch_mm = 150;
  kit.rails.length_mm = 370;
  kit.rails.travel_mm = 215;
  kit.rails.end_margin_mm = 4;
  kit.carriages.size = {"mini-12-short", "mini-12", 13, 27, 34.8, 20, 15, "M3", 3.5, 34};
  kit.carriages.spacing_mm = 90;
  kit.carriages.clearance_um = 5;
  kit.before.emplace();
  kit.before->bearing_length_mm = 45;
  kit.before->play_um = 80;
  kit.before->bed_height_mm = 62.0;
  kit.before->moving_mass_g = 1650.0;
  kit.bed.emplace();
  kit.bed->size_mm = {240, 240};
  kit.bed->mass_g = 780;
  kit.bed->max_temperature_c = 90;
  kit.parts = {plate_request()};
  return kit;
}

}  // namespace bedwright
