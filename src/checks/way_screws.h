// What becomes of the screws picked for a place when a part is offered up there in another way. Millimetres.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/way_blocked.h"

namespace bedwright {

/// The screws that the right part at a place is put on with, as its joints pick them.
struct WayScrews {
  std::string carriage_thread, frame_thread;
  std::optional<double> carriage_length_mm;
  struct FrameScrew {
    Vec2 at;  ///< part frame
    double length_mm = 0;
  };
  std::vector<FrameScrew> frame;
  double head_radius_mm = 0, head_height_mm = 0;  ///< of the carriage screws
  double carriage_depth_mm = 0;
};
WayScrews screws_of_part(const Kit& kit, const Part& part);

struct ScrewState {
  std::string blocked;             ///< why a screw cannot be driven; empty if all can
  bool hold = true;                ///< all keep their least engagement, and none bottoms
  std::vector<std::string> words;  ///< what is lost
};
/// `drop_mm`: the sheet's shift at first contact.
ScrewState screws_in(const Surroundings& around, const Offered& offered, const WayScrews& screws, double drop_mm);

}  // namespace bedwright
