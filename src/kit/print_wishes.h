// What the printer can bear, and how the kit wants its parts laid on the bed.
#pragma once

#include <string>

namespace bedwright {

struct PrintWishes {
  double overhang_deg = 45;     ///< from vertical; what is flatter hangs over
  double bridge_mm = 10;        ///< longest span that bridges
  double seat_step_mm = 0.1;    ///< allowed on a seat
  std::string cooling_from;     ///< front, rear, left, right of the print bed; empty: from all round, or not known
  double part_gap_mm = 4;       ///< between parts on one bed
  double bed_edge_mm = 5;       ///< kept clear
  std::string beds = "fewest";  ///< fewest, sets (one complete set a bed), kinds (one kind a bed)
  int sets = 1;                 ///< complete sets to lay out
  bool prints_itself = false;   ///< the machine to be converted prints the parts
};

}  // namespace bedwright
