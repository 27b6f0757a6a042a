#include "output/trials.h"

#include <algorithm>

namespace bedwright {

// All of it common practice, no source.
const std::vector<Trial>& trials() {
  static const std::vector<Trial> list = {
      {"coupon", "Fit coupon", "print it in the material and on the printer of the parts, measure it cold, calibrate",
       "the compensation is in the kit's printer", "the coupon beside a caliper"},
      {"printed", "Parts printed", "print one of each as it lies in its file, measure it against its table",
       "each dimension within 0.1 mm, no layers parted", "every part, once, on a dark ground"},
      {"fit", "Assembly", "assemble without force, each screw by hand first",
       "each screw starts by hand, no gap under a seat that a 0.1 mm feeler enters", "the plates on their carriages, bed off"},
      {"screw-tips", "Screw tips", "look at each tip from behind, with power off and unplugged",
       "no tip reaches a supply, a board, a wire, a heater or a belt", "the screws' tips from behind"},
      {"travel", "Travel", "push the bed by hand over its whole travel, unplugged",
       "nothing touches, the same light drag everywhere", "the bed at its rear end"},
      {"earth", "Protective earth", "have the earth of bed and frame tested by a qualified person",
       "tested as local codes ask", ""},
      {"rocking", "Rocking", "dial gauge at the bed's front edge, press and let go with 5 N",
       "no more than layout says, before and after written down", "the dial gauge in its place"},
      {"proof-piece", "Proof piece", "print one in the middle, at the front and at the rear",
       "all three alike, better than before", "the six proof pieces, before and after"},
      {"hot-soak", "Hot soak", "an hour at the highest bed temperature, beside the machine",
       "no part soft, no screw loose, frame's temperature written down", ""},
      {"bed-map", "Bed map", "map the warm bed before and after", "range and RMS written down", "both maps"},
      {"ten-hours", "Ten hours", "print ten hours, tighten again, map again", "nothing loose, nothing cracked", ""}};
  return list;
}

const TestedThing* result_of_trial(const Kit& kit, const std::string& trial) {
  const auto found = std::find_if(kit.publish.tested.begin(), kit.publish.tested.end(), [&](const TestedThing& t) {
    return t.what == trial && (t.revision.empty() || t.revision == kit.revision);
  });
  return found == kit.publish.tested.end() ? nullptr : &*found;
}

}  // namespace bedwright
