#include <cmath>

#include "base/error.h"
#include "kit/hardware.h"
#include "kit/interview.h"

namespace bedwright {

namespace {

using Ordered = nlohmann::ordered_json;

const Json& answer(const Answers& answers, const char* key) {
  const auto found = answers.find(key);
  if (found == answers.end()) throw Error(std::string("the interview has no answer to ") + key);
  return found->second;
}

double number(const Answers& answers, const char* key) {
  return answer(answers, key).get<double>();
}

bool yes(const Answers& answers, const char* key) {
  return answer(answers, key) == true;
}

void put(Ordered& object, const char* name, const Json& value) {
  if (!value.is_null()) object[name] = Ordered(value);
}

Ordered pair(const Answers& answers, const char* first, const char* second) {
  return Ordered::array({Ordered(answer(answers, first)), Ordered(answer(answers, second))});
}

Ordered whole(double value) {
  return Ordered(static_cast<long long>(std::floor(value + 0.5)));
}

std::string gaps_note(const Answers& a) {
  const auto part = [&](const char* where, const char* gap, const char* edge) {
    return std::string(where) + " " + answer(a, gap).dump() + " over " + answer(a, edge).dump();
  };
  return "Straightedge and feelers, mm: " + part("X", "gap-x", "edge-x") + ", " + part("Y", "gap-y", "edge-y") +
         ", front left to rear right " + answer(a, "gap-d1").dump() + " and front right to rear left " +
         answer(a, "gap-d2").dump() + " over " + answer(a, "edge-diagonal").dump() + ".";
}

Ordered dome_document(const Answers& a) {
  const StraightedgeDome dome = dome_of(a);
  Ordered out;
  out["shape"] = dome.shape;
  const bool measured = answer(a, "crown") != "flat";
  if (dome.shape == "sphere" || dome.shape == "cylinder") out["radius_mm"] = whole(dome.radius_mm);
  if (dome.shape == "cylinder") out["axis"] = dome.axis;
  if (dome.shape == "two_radius") {
    out["radius_x_mm"] = whole(dome.radius_x_mm);
    out["radius_y_mm"] = whole(dome.radius_y_mm);
  }
  if (dome.shape != "flat") {
    put(out, "crown", answer(a, "crown"));
    out["apex_mm"] = pair(a, "apex-x", "apex-y");
    put(out, "measured_on", answer(a, "face"));
  }
  if (measured) out["note"] = gaps_note(a) + (dome.saddle ? " The diagonals disagree: a twisted sheet." : "");
  return out;
}

Ordered frame_document(const Answers& a) {
  Ordered frame;
  put(frame, "sheet_thickness_mm", answer(a, "sheet"));
  put(frame, "mass_g", answer(a, "sheet-mass"));
  put(frame, "material", answer(a, "sheet-material"));
  frame["dome"] = dome_document(a);
  frame["hole_pattern"] = {{"kind", "rectangular"},
                           {"pitch_mm", pair(a, "holes-x", "holes-y")},
                           {"centre_mm", pair(a, "centre-x", "centre-y")},
                           {"diameter_mm", Ordered(answer(a, "frame-hole"))}};
  if (yes(a, "mounts")) {
    frame["bed_mounts"] = {{"kind", "rectangular"},
                           {"pitch_mm", pair(a, "mounts-x", "mounts-y")},
                           {"diameter_mm", Ordered(answer(a, "mount-hole"))}};
  }
  return frame;
}

std::string carriage_id(const Answers& a) {
  const std::string rail = "mini-" + answer(a, "rail-width").get<std::string>();
  const CarriageSize* brief = find_carriage(rail + "-short");
  const CarriageSize* extended = find_carriage(rail + "-long");
  const double length = number(a, "carriage-length");
  const bool is_long =
      brief && extended && std::fabs(length - extended->length_mm) < std::fabs(length - brief->length_mm);
  return rail + (is_long ? "-long" : "-short");
}

Ordered rails_document(const Answers& a) {
  Ordered rails;
  rails["size"] = "mini-" + answer(a, "rail-width").get<std::string>();
  put(rails, "pitch_mm", answer(a, "rail-pitch"));
  put(rails, "length_mm", answer(a, "rail-length"));
  put(rails, "travel_mm", answer(a, "travel"));
  put(rails, "end_margin_mm", answer(a, "end-margin"));
  put(rails, "end_distance_mm", answer(a, "first-hole"));
  return rails;
}

Ordered carriages_document(const Answers& a) {
  Ordered carriages;
  carriages["size"] = carriage_id(a);
  put(carriages, "spacing_mm", answer(a, "carriage-spacing"));
  put(carriages, "preload", answer(a, "preload"));
  put(carriages, "height_mm", answer(a, "carriage-height"));
  put(carriages, "width_mm", answer(a, "carriage-width"));
  put(carriages, "length_mm", answer(a, "carriage-length"));
  carriages["hole_pitch_mm"] = pair(a, "holes-across", "holes-along");
  return carriages;
}

Ordered parts_document(const Answers& a) {
  Ordered parts = Ordered::array();
  Ordered plate;
  plate["id"] = "adapter";
  plate["family"] = "adapter_plate";
  put(plate, "thickness_mm", answer(a, "plate"));
  put(plate, "boss_side", answer(a, "boss-side"));
  put(plate, "frame_screw", answer(a, "frame-screw"));
  put(plate, "slot_mm", answer(a, "slot"));
  parts.push_back(plate);
  // A ring of 5 mm round the screw bears a bed; common practice, no source.
  const Json hole = yes(a, "mounts") ? answer(a, "mount-hole") : answer(a, "frame-hole");
  const Ordered outer = whole(std::ceil(hole.get<double>() + 10 - 1e-9));
  if (yes(a, "riser")) {
    parts.push_back({{"id", "riser"},
                     {"family", "spacer"},
                     {"quantity", 4},
                     {"thickness_mm", Ordered(answer(a, "riser-height"))},
                     {"outer_mm", outer},
                     {"hole_mm", Ordered(hole)}});
  }
  if (yes(a, "shim")) {
    parts.push_back({{"id", "shim"},
                     {"family", "shim"},
                     {"quantity", 2},
                     {"thickness_mm", Ordered(answer(a, "shim-thickness"))},
                     {"outline", "horseshoe"},
                     {"outer_mm", outer},
                     {"hole_mm", Ordered(hole)}});
  }
  return parts;
}

}  // namespace

StraightedgeDome dome_of(const Answers& a) {
  StraightedgeDome flat;
  flat.shape = flat.words = "flat";
  if (answer(a, "crown") == "flat") return flat;
  return dome_from_straightedge({number(a, "edge-x"), number(a, "gap-x"), number(a, "edge-y"), number(a, "gap-y"),
                                 number(a, "edge-diagonal"), number(a, "gap-d1"), number(a, "gap-d2")});
}

nlohmann::ordered_json kit_document(const Answers& a) {
  Ordered kit;
  kit["format"] = "bedwright/kit/1";
  put(kit, "kit", answer(a, "kit"));
  put(kit, "revision", answer(a, "revision"));
  put(kit, "title", answer(a, "title"));
  kit["frame"] = frame_document(a);
  kit["rails"] = rails_document(a);
  kit["carriages"] = carriages_document(a);
  if (yes(a, "compare")) {
    Ordered before;
    put(before, "bearing_length_mm", answer(a, "old-bearing"));
    put(before, "play_um", answer(a, "old-play"));
    put(before, "bed_height_mm", answer(a, "old-height"));
    put(before, "moving_mass_g", answer(a, "old-mass"));
    kit["before"] = before;
  }
  Ordered bed;
  bed["size_mm"] = pair(a, "bed-width", "bed-depth");
  put(bed, "mass_g", answer(a, "bed-mass"));
  put(bed, "material", answer(a, "bed-material"));
  put(bed, "max_temperature_c", answer(a, "bed-temperature"));
  kit["bed"] = bed;
  Ordered printer;
  printer["bed_mm"] = Ordered::array(
      {Ordered(answer(a, "printer-x")), Ordered(answer(a, "printer-y")), Ordered(answer(a, "printer-z"))});
  put(printer, "layer_mm", answer(a, "layer"));
  put(printer, "first_layer_mm", answer(a, "first-layer"));
  put(printer, "line_mm", answer(a, "line"));
  put(printer, "material", answer(a, "plastic"));
  kit["printer"] = printer;
  kit["parts"] = parts_document(a);
  return kit;
}

}  // namespace bedwright
