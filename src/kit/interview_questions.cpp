#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "kit/interview.h"

namespace bedwright {

namespace {

/// A question being written down, so that the table below reads from top to bottom.
struct Draft : Question {
  Draft& help_is(std::string text) { return help = std::move(text), *this; }
  Draft& range_as(const char* other) { return range_of = other, *this; }
  Draft& optional() { return may_skip = true, *this; }
  Draft& only_if(bool (*f)(const Answers&)) { return wanted = f, *this; }
  Draft& usually(std::string (*f)(const Answers&)) { return usual = f, *this; }
  Draft& unless(std::string (*f)(const Answers&, const Json&)) { return objection = f, *this; }
  Draft& then_say(std::string (*f)(const Answers&)) { return remark = f, *this; }
};

Draft asked(int section, int place, const char* key, const char* label, Ask ask, const char* pointer, const char* how) {
  Draft q;
  q.section = section;
  q.place = place;
  q.key = key;
  q.label = label;
  q.ask = ask;
  q.pointer = pointer;
  q.how = how;
  return q;
}

Draft chosen(int section, int place, const char* key, const char* label, const char* pointer, const char* how,
             std::vector<Choice> choices) {
  Draft q = asked(section, place, key, label, Ask::choice, pointer, how);
  q.choices = std::move(choices);
  return q;
}

double number(const Answers& a, const char* key) {
  const auto found = a.find(key);
  return found != a.end() && found->second.is_number() ? found->second.get<double>() : 0;
}

std::string text(const Answers& a, const char* key) {
  const auto found = a.find(key);
  return found != a.end() && found->second.is_string() ? found->second.get<std::string>() : "";
}

bool yes(const Answers& a, const char* key) {
  const auto found = a.find(key);
  return found != a.end() && found->second == true;
}

std::string mm(double value) {
  return decimal(value, 4);
}

/// The carriage of the rail's size whose table length is nearest to the measured one; the short one before that is
/// known.
const CarriageSize* nearest_carriage(const Answers& a) {
  const std::string rail = "mini-" + text(a, "rail-width");
  const CarriageSize* brief = find_carriage(rail + "-short");
  const CarriageSize* extended = find_carriage(rail + "-long");
  const double length = number(a, "carriage-length");
  if (!brief || !extended || length <= 0) return brief;
  return std::fabs(length - extended->length_mm) < std::fabs(length - brief->length_mm) ? extended : brief;
}

template <double CarriageSize::*member>
std::string of_carriage(const Answers& a) {
  const CarriageSize* size = nearest_carriage(a);
  return size ? mm(size->*member) : "";
}

/// n = floor((L - 2 e) / p) + 1 holes that leave the same at both ends (arithmetic; e is the least end distance).
std::string usual_first_hole(const Answers& a) {
  const RailSize* rail = find_rail("mini-" + text(a, "rail-width"));
  const double length = number(a, "rail-length");
  if (!rail || length <= 0) return "";
  const double gaps = std::floor((length - 2 * rail->end_distance_mm) / rail->hole_pitch_mm);
  const double first = (length - gaps * rail->hole_pitch_mm) / 2;
  return gaps < 0 || first < 1 ? "" : mm(first);
}

std::string rail_too_short(const Answers& a) {
  const double needed =
      number(a, "travel") + number(a, "carriage-spacing") + number(a, "carriage-length") + 2 * number(a, "end-margin");
  const double length = number(a, "rail-length");
  if (needed <= length) return "";
  return "Travel, carriage spacing, carriage length and margins need " + mm(needed) + " mm of rail, and yours are " +
         mm(length) + " mm. Check 4.8, 5.2 and 5.3; make will say the same.";
}

std::string gap_objection(const Answers& a, const Json& value, const char* length_key) {
  const double length = number(a, length_key), gap = value.get<double>();
  if (gap < 0)
    return "A gap is 0 or more. If it bows the other way in this direction, answer 0 and put it down: that is a "
           "saddle.";
  if (gap == 0) return "";
  const double least_radius_mm = 200;  // as the schema has it
  if (gap >= length / 2 || radius_from_straightedge(length, gap) < least_radius_mm) {
    return "A gap of " + mm(gap) + " mm over " + mm(length) +
           " mm is a bowl, not a sheet. Is the gap in millimetres, and the length that of the straightedge?";
  }
  return "";
}

std::string gap_x_objection(const Answers& a, const Json& v) {
  return gap_objection(a, v, "edge-x");
}
std::string gap_y_objection(const Answers& a, const Json& v) {
  return gap_objection(a, v, "edge-y");
}
std::string gap_d_objection(const Answers& a, const Json& v) {
  return gap_objection(a, v, "edge-diagonal");
}

std::string dome_remark(const Answers& a) {
  const StraightedgeDome dome = dome_of(a);
  return "That makes " + dome.words + "." + (dome.warning.empty() ? "" : " " + dome.warning);
}

bool compared(const Answers& a) {
  return yes(a, "compare");
}
bool domed(const Answers& a) {
  return text(a, "crown") == "up" || text(a, "crown") == "down";
}
bool mounted(const Answers& a) {
  return yes(a, "mounts");
}
bool with_riser(const Answers& a) {
  return yes(a, "riser");
}
bool with_shim(const Answers& a) {
  return yes(a, "shim");
}
std::string nought(const Answers&) {
  return "0";
}
std::string no(const Answers&) {
  return "no";
}

/// The largest thread with an insert whose fine clearance hole the frame's hole is (ISO 273).
std::string usual_frame_screw(const Answers& a) {
  std::string best = "M2.5";
  for (const char* thread : {"M3", "M4", "M5"}) {
    const double hole = clearance_hole_mm(thread, "fine");
    if (hole > 0 && hole <= number(a, "frame-hole") + 1e-9) best = thread;
  }
  return best;
}

std::string screw_objection(const Answers& a, const Json& value) {
  const ThreadSize* thread = find_thread(value.get<std::string>());
  if (!thread || thread->diameter_mm < number(a, "frame-hole")) return "";
  return thread->id + " does not pass a hole of " + mm(number(a, "frame-hole")) + " mm.";
}

const std::vector<Choice> sheet_materials = {{"steel", "steel"},
                                             {"stainless", "stainless steel"},
                                             {"aluminium", "aluminium"},
                                             {"aluminium-5052", "aluminium 5052"},
                                             {"glass", "glass"}};

void add_safety_and_names(std::vector<Question>& list) {
  list.push_back(
      asked(1, 1, "safe", "Unplugged and cool", Ask::confirm, "",
            "Pull the mains plug, not the switch, and let the bed cool.\n"
            "Is the machine unplugged and cold? Type yes.")
          .help_is("Wires under a bed rub through, and a bed burns for half an hour after it is switched off.\n"
                   "Unplug it, wait, and keep the plug where you see it."));
  list.push_back(asked(2, 1, "kit", "Kit name", Ask::name, "/kit", "Small letters, digits and hyphens: north-bench.")
                     .help_is("The folder with the parts gets this name, and the parts carry it."));
  list.push_back(
      asked(2, 2, "revision", "Revision", Ask::text, "/revision", "Letter or number of this state of the kit.")
          .usually([](const Answers&) { return std::string("A"); })
          .help_is("It is cut into the parts. Change it when you change the kit, so that sets do not mix."));
  list.push_back(asked(2, 3, "title", "Title", Ask::text, "/title", "One line for people: machine, owner, place.")
                     .optional()
                     .help_is("Shown on the report. Leave it empty if the name says enough."));
}

void add_before(std::vector<Question>& list) {
  list.push_back(
      asked(3, 1, "compare", "Compare with before", Ask::yes_no, "",
            "Do you want the report to compare old and new? Four more measurements.")
          .usually(no)
          .help_is("Without a baseline nobody can prove an improvement. Take it before anything comes off."));
  list.push_back(asked(3, 2, "old-bearing", "Old bearing length", Ask::length, "/before/bearing_length_mm",
                       "From the outer end of the front bearing to the outer end of the rear one, on one rod.")
                     .only_if(compared)
                     .help_is("Play over this length is what lets the bed rock; the longer, the less."));
  list.push_back(asked(3, 3, "old-play", "Old play", Ask::small_length, "/before/play_um",
                       "Rock one bearing on its rod against a dial gauge, up and down; 80 if you cannot.")
                     .only_if(compared)
                     .usually([](const Answers&) { return std::string("80"); })
                     .help_is("Micrometres: 0.08 mm is 80. Worn bushings reach 100 and more."));
  list.push_back(asked(3, 4, "old-height", "Old bed height", Ask::length, "/before/bed_height_mm",
                       "From the base under the bed up to the bed's top, at a place you find again.")
                     .only_if(compared)
                     .optional()
                     .help_is("A bed that comes out higher meets the nozzle at the first homing."));
  list.push_back(asked(3, 5, "old-mass", "Old moving mass", Ask::mass, "/before/moving_mass_g",
                       "Everything that moves with the bed, on a kitchen scale, cable left out.")
                     .only_if(compared)
                     .optional()
                     .help_is("Lighter rings less. Skip it if you will not take the bed off today."));
}

void add_rails(std::vector<Question>& list) {
  list.push_back(chosen(4, 1, "rail-width", "Rail width", "/rails/size", "Caliper across the rail's top.",
                        {{"7", "7 mm"}, {"9", "9 mm"}, {"12", "12 mm"}, {"15", "15 mm"}})
                     .help_is("Miniature profile rails are named by this width."));
  list.push_back(asked(4, 2, "carriage-height", "Carriage height on rail", Ask::length, "/carriages/height_mm",
                       "From the rail's foot to the carriage's top, carriage on the rail. Measure all four;\n"
                       "give the largest, and pair those that are alike.")
                     .usually(of_carriage<&CarriageSize::assembly_height_mm>)
                     .help_is("Carriages of one set differ by 0.02 mm, loose ones by half a millimetre."));
  list.push_back(asked(4, 3, "carriage-width", "Carriage width", Ask::length, "/carriages/width_mm", "Across the rail.")
                     .usually(of_carriage<&CarriageSize::width_mm>)
                     .help_is("Over the metal; wipers may be narrower."));
  list.push_back(asked(4, 4, "carriage-length", "Carriage length", Ask::length, "/carriages/length_mm",
                       "Along the rail, end caps and wipers included.")
                     .usually(of_carriage<&CarriageSize::length_mm>)
                     .help_is("Data sheets leave out the wipers: measured carriages are up to 1 mm longer.\n"
                              "Never pull a carriage off the rail to measure it: the balls fall out."));
  list.push_back(asked(4, 5, "holes-across", "Carriage holes, across", Ask::length, "/carriages/hole_pitch_mm/0",
                       "Hole centre to hole centre across the rail: outer edge to outer edge, less one hole.")
                     .usually(of_carriage<&CarriageSize::hole_across_mm>)
                     .unless([](const Answers& a, const Json& v) {
                       return v.get<double>() < number(a, "carriage-width")
                                  ? std::string()
                                  : "The holes cannot be farther apart than the carriage is wide (" +
                                        mm(number(a, "carriage-width")) + " mm).";
                     })
                     .help_is("Four threaded holes in the carriage's top."));
  list.push_back(asked(4, 6, "holes-along", "Carriage holes, along", Ask::length, "/carriages/hole_pitch_mm/1",
                       "The same along the rail.")
                     .usually(of_carriage<&CarriageSize::hole_along_mm>)
                     .unless([](const Answers& a, const Json& v) {
                       return v.get<double>() < number(a, "carriage-length")
                                  ? std::string()
                                  : "The holes cannot be farther apart than the carriage is long (" +
                                        mm(number(a, "carriage-length")) + " mm).";
                     })
                     .help_is("Short and long carriages differ here."));
  list.push_back(
      chosen(4, 7, "preload", "Play of the carriages", "/carriages/preload", "Hold the rail, twist the carriage.",
             {{"clearance", "it ticks a little"}, {"zero", "no play, runs freely"}, {"light", "no play, runs tight"}})
          .usually([](const Answers&) { return std::string("clearance"); })
          .help_is("The seller's preload class if you know it. Home-made bases suit clearance or zero."));
  list.push_back(asked(4, 8, "rail-length", "Rail length", Ask::length, "/rails/length_mm",
                       "End to end, both rails; give the shorter.")
                     .help_is("Steel rule or tape, read to half a millimetre."));
  list.push_back(asked(4, 9, "first-hole", "Rail end to first hole", Ask::length, "/rails/end_distance_mm",
                       "From the rail's end to the centre of its first hole.")
                     .usually(usual_first_hole)
                     .help_is("Cut rails differ from end to end: measure the front end."));
}

void add_places(std::vector<Question>& list) {
  list.push_back(asked(5, 1, "rail-pitch", "Rail pitch", Ask::length, "/rails/pitch_mm",
                       "Left edge of one rail to left edge of the other, at both ends; give the mean.")
                     .unless([](const Answers& a, const Json& v) {
                       return v.get<double>() >= number(a, "carriage-width")
                                  ? std::string()
                                  : "At " + mm(v.get<double>()) + " mm the two carriages would overlap: one is " +
                                        mm(number(a, "carriage-width")) + " mm wide.";
                     })
                     .help_is("Not fitted yet? Give the distance that you plan: wide is stiff.\n"
                              "Edge to edge on the same side is the same as centre to centre."));
  list.push_back(asked(5, 2, "carriage-spacing", "Carriage spacing", Ask::length, "/carriages/spacing_mm",
                       "Along one rail, front edge of one carriage to front edge of the other.")
                     .unless([](const Answers& a, const Json& v) {
                       return v.get<double>() >= number(a, "carriage-length")
                                  ? std::string()
                                  : "At " + mm(v.get<double>()) + " mm the two carriages would overlap: one is " +
                                        mm(number(a, "carriage-length")) + " mm long.";
                     })
                     .help_is("The farther apart, the less the bed rocks, and the less is left for travel."));
  list.push_back(asked(5, 3, "travel", "Travel", Ask::length, "/rails/travel_mm",
                       "How far the bed has to move from stop to stop; by hand, tape on the bed's edge.")
                     .help_is("Printing depth plus what homing and parking need."));
  list.push_back(asked(5, 4, "end-margin", "Left free at each rail end", Ask::length, "/rails/end_margin_mm",
                       "A carriage must never run off its rail.")
                     .usually([](const Answers&) { return std::string("4"); })
                     .then_say(rail_too_short)
                     .help_is("Stops at the rails' ends take this much."));
}

void add_frame(std::vector<Question>& list) {
  list.push_back(asked(6, 1, "sheet", "Sheet thickness", Ask::length, "/frame/sheet_thickness_mm",
                       "Before you turn the sheet over, mark FRONT and UP on it with a pen.\n"
                       "Then the caliper over the flat sheet, paint included, away from burrs; three places, the mean.")
                     .help_is("Which face is up decides whether the dome is up or down; a pen mark saves the set."));
  list.push_back(
      chosen(6, 2, "sheet-material", "Sheet material", "/frame/material", "A magnet sticks to steel.", sheet_materials)
          .usually([](const Answers&) { return std::string("steel"); })
          .help_is("For mass and for what the heat does."));
  list.push_back(asked(6, 3, "sheet-mass", "Sheet mass", Ask::mass, "/frame/mass_g", "Kitchen scale.")
                     .optional()
                     .help_is("Skip it if the sheet stays on the machine today."));
  list.push_back(
      asked(6, 4, "holes-x", "Frame holes, left to right", Ask::length, "/frame/hole_pattern/pitch_mm/0",
            "The four holes that the carriages' plates will be screwed to, centre to centre:\n"
            "left edge to left edge, flat on the sheet.")
          .help_is("Caliper or steel rule, not a photograph: a photograph is off by up to half a millimetre.\n"
                   "Holes that form no rectangle: answer the mean here, then list them in the kit file."));
  list.push_back(asked(6, 5, "holes-y", "Frame holes, front to rear", Ask::length, "/frame/hole_pattern/pitch_mm/1",
                       "The same from front to rear. Then compare the diagonals: equal within 0.3 mm?")
                     .help_is("Unequal diagonals mean that the pattern leans: list the holes in the kit file."));
  list.push_back(asked(6, 6, "frame-hole", "Frame hole diameter", Ask::length, "/frame/hole_pattern/diameter_mm",
                       "Inside jaws of the caliper; or the largest drill whose shank passes.")
                     .help_is("The smallest of the four counts."));
  list.push_back(asked(6, 7, "centre-x", "Holes right of carriages", Ask::length, "/frame/hole_pattern/centre_mm/0",
                       "How far the middle of the four holes lies to the right of the middle of the four\n"
                       "carriages, seen from the front. Minus for left.")
                     .usually(nought)
                     .help_is("0 if the sheet sits in the middle of the rails."));
  list.push_back(asked(6, 8, "centre-y", "Holes behind carriages", Ask::length, "/frame/hole_pattern/centre_mm/1",
                       "How far it lies to the rear. Minus for front.")
                     .usually(nought)
                     .help_is("0 if the sheet sits in the middle of the carriages."));
}

void add_dome(std::vector<Question>& list) {
  list.push_back(chosen(7, 1, "crown", "Crown", "/frame/dome/crown",
                        "Lay the straightedge on the sheet through its middle, in both directions and both diagonals.\n"
                        "Seen as the sheet sits in the machine, which way does its middle bow?",
                        {{"up", "the middle is higher than the rim"},
                         {"down", "the middle is lower than the rim"},
                         {"flat", "the thinnest feeler goes under nowhere"}})
                     .help_is("A sheet that is flat along X and along Y may still be twisted: try the diagonals too.\n"
                              "Do not press on the sheet, it bends. Wipe off burrs and paint drops first."));
  list.push_back(chosen(7, 2, "face", "Face measured", "/frame/dome/measured_on",
                        "On which face does the straightedge lie, as the sheet sits in the machine?",
                        {{"underside", "the face towards the rails"}, {"upper", "the face towards the bed"}})
                     .only_if(domed)
                     .usually([](const Answers&) { return std::string("underside"); })
                     .help_is("The two faces differ by the thickness of the sheet; the program allows for that."));
  list.push_back(asked(7, 3, "edge-x", "Straightedge along X", Ask::length, "/frame/dome",
                       "Length that bears, left to right. On the hollow face: between the two ends that touch.\n"
                       "On the bulging face: hold it so that both ends stand off alike, and give its length.")
                     .range_as("/bed/size_mm/0")
                     .only_if(domed)
                     .help_is("Longer is better: twice the length makes four times the gap."));
  list.push_back(asked(7, 4, "gap-x", "Gap along X", Ask::length, "/frame/dome",
                       "Feelers: in the middle on the hollow face, at the ends on the bulging face (mean of both).\n"
                       "0 if no leaf goes under.")
                     .only_if(domed)
                     .unless(gap_x_objection)
                     .help_is("The thickest pack that slides in with light drag. Feel, do not force."));
  list.push_back(asked(7, 5, "edge-y", "Straightedge along Y", Ask::length, "/frame/dome", "The same, front to rear.")
                     .range_as("/bed/size_mm/0")
                     .only_if(domed)
                     .usually([](const Answers& a) { return mm(number(a, "edge-x")); })
                     .help_is("Another length is fine."));
  list.push_back(asked(7, 6, "gap-y", "Gap along Y", Ask::length, "/frame/dome", "The same, front to rear.")
                     .only_if(domed)
                     .unless(gap_y_objection)
                     .help_is("If it bows the other way than along X, answer 0 and put it down: that is a saddle."));
  list.push_back(asked(7, 7, "edge-diagonal", "Straightedge, diagonals", Ask::length, "/frame/dome",
                       "The same for both diagonals.")
                     .range_as("/bed/size_mm/0")
                     .only_if(domed)
                     .usually([](const Answers& a) { return mm(number(a, "edge-y")); })
                     .help_is("The same length for both, so that the gaps can be compared."));
  list.push_back(
      asked(7, 8, "gap-d1", "Gap, front left to rear right", Ask::length, "/frame/dome", "Diagonal through the middle.")
          .only_if(domed)
          .unless(gap_d_objection)
          .help_is("As before."));
  list.push_back(
      asked(7, 9, "gap-d2", "Gap, front right to rear left", Ask::length, "/frame/dome", "The other diagonal.")
          .only_if(domed)
          .unless(gap_d_objection)
          .then_say(dome_remark)
          .help_is("Equal gaps on both diagonals: a dome. Unequal: a twisted sheet."));
  list.push_back(asked(7, 10, "apex-x", "Apex, right of middle", Ask::length, "/frame/dome/apex_mm/0",
                       "Where the gap is largest (hollow face) or the edge touches (bulging face): how far right of\n"
                       "the middle of the four carriages. Minus for left.")
                     .only_if(domed)
                     .usually(nought)
                     .help_is("Slide the straightedge sideways and watch where the gap changes least."));
  list.push_back(asked(7, 11, "apex-y", "Apex, behind middle", Ask::length, "/frame/dome/apex_mm/1",
                       "And how far to the rear. Minus for front.")
                     .only_if(domed)
                     .usually(nought)
                     .help_is("As before, front to rear."));
}

void add_bed(std::vector<Question>& list) {
  list.push_back(asked(8, 1, "mounts", "Bed on four mounts", Ask::yes_no, "",
                       "Does the bed stand on four mounts at the corners of a rectangle?")
                     .usually([](const Answers&) { return std::string("yes"); })
                     .help_is("Three mounts, or no rectangle: answer no and list them in the kit file."));
  list.push_back(asked(8, 2, "mounts-x", "Bed mounts, left to right", Ask::length, "/frame/bed_mounts/pitch_mm/0",
                       "Centre to centre.")
                     .only_if(mounted)
                     .help_is("Left edge to left edge of two holes."));
  list.push_back(asked(8, 3, "mounts-y", "Bed mounts, front to rear", Ask::length, "/frame/bed_mounts/pitch_mm/1",
                       "Centre to centre.")
                     .only_if(mounted)
                     .help_is("Front edge to front edge of two holes."));
  list.push_back(asked(8, 4, "mount-hole", "Bed mount hole", Ask::length, "/frame/bed_mounts/diameter_mm",
                       "Inside jaws of the caliper.")
                     .only_if(mounted)
                     .usually([](const Answers& a) { return mm(number(a, "frame-hole")); })
                     .help_is("The smallest counts."));
  list.push_back(asked(8, 5, "bed-width", "Bed, left to right", Ask::length, "/bed/size_mm/0",
                       "Outer edge to outer edge of the plate.")
                     .help_is("The heated plate, not the printed area."));
  list.push_back(
      asked(8, 6, "bed-depth", "Bed, front to rear", Ask::length, "/bed/size_mm/1", "Outer edge to outer edge.")
          .usually([](const Answers& a) { return mm(number(a, "bed-width")); })
          .help_is("The heated plate, not the printed area."));
  list.push_back(
      asked(8, 7, "bed-mass", "Bed mass", Ask::mass, "/bed/mass_g", "Plate, heater and surface on a kitchen scale.")
          .optional()
          .help_is("Skip it if the bed stays on today."));
  list.push_back(chosen(8, 8, "bed-material", "Bed material", "/bed/material", "Of the plate itself.", sheet_materials)
                     .usually([](const Answers&) { return std::string("aluminium"); })
                     .help_is("For heat growth: the plate grows, the frame hardly."));
  list.push_back(asked(8, 9, "bed-temperature", "Hottest bed", Ask::temperature, "/bed/max_temperature_c",
                       "The highest temperature that you set.")
                     .usually([](const Answers&) { return std::string("90"); })
                     .help_is("It decides which plastic the parts can be made of."));
}

void add_printer(std::vector<Question>& list) {
  list.push_back(asked(9, 1, "printer-x", "Printable width", Ask::length, "/printer/bed_mm/0",
                       "Of the printer that makes the parts.")
                     .usually([](const Answers&) { return std::string("220"); })
                     .help_is("What it really reaches, clips left out."));
  list.push_back(asked(9, 2, "printer-y", "Printable depth", Ask::length, "/printer/bed_mm/1", "")
                     .usually([](const Answers& a) { return mm(number(a, "printer-x")); })
                     .help_is("What it really reaches, clips left out."));
  list.push_back(asked(9, 3, "printer-z", "Printable height", Ask::length, "/printer/bed_mm/2", "")
                     .usually([](const Answers&) { return std::string("240"); })
                     .help_is("What it really reaches."));
  list.push_back(asked(9, 4, "layer", "Layer height", Ask::length, "/printer/layer_mm", "Of all layers but the first.")
                     .usually([](const Answers&) { return std::string("0.2"); })
                     .help_is("Shims come in whole layers: 0.1 gives finer steps."));
  list.push_back(asked(9, 5, "first-layer", "First layer height", Ask::length, "/printer/first_layer_mm",
                       "As the printer really lays it.")
                     .usually([](const Answers& a) { return mm(number(a, "layer")); })
                     .help_is("Print one layer, let it cool, measure it away from the rim."));
  list.push_back(asked(9, 6, "line", "Line width", Ask::length, "/printer/line_mm", "Of one printed line.")
                     .usually([](const Answers&) { return std::string("0.45"); })
                     .help_is("About the nozzle plus a tenth."));
  list.push_back(chosen(9, 7, "plastic", "Material of the parts", "/printer/material", "What the parts are printed in.",
                        {{"pla", "PLA"},
                         {"petg", "PETG"},
                         {"abs", "ABS"},
                         {"asa", "ASA"},
                         {"pc", "polycarbonate"},
                         {"pa-cf", "polyamide with carbon fibre"},
                         {"petg-cf", "PETG with carbon fibre"}})
                     .usually([](const Answers& a) {
                       // PETG softens from about 65 to 75 C (trade pages, no test); the parts stay below the bed's
                       // temperature.
                       return std::string(number(a, "bed-temperature") > 70 ? "asa" : "petg");
                     })
                     .help_is("PLA creeps under a warm bed. ASA and ABS hold to about 100 C."));
}

void add_parts(std::vector<Question>& list) {
  list.push_back(asked(10, 1, "plate", "Adapter plate thickness", Ask::length, "/parts/0/thickness_mm",
                       "Plates between carriages and sheet; the least distance, where the dome comes nearest.")
                     .usually([](const Answers&) { return std::string("6"); })
                     .help_is("Thin enough for the bed height, thick enough for the screw heads: 5 to 8."));
  list.push_back(chosen(10, 2, "boss-side", "Bosses", "/parts/0/boss_side",
                        "Bosses round the inserts for the frame screws.",
                        {{"down", "they hang beside the carriage; lowest bed"},
                         {"up", "they stand on the plate and carry the sheet"}})
                     .usually([](const Answers&) { return std::string("down"); })
                     .help_is("down needs the frame's holes clear of carriage and rail."));
  list.push_back(chosen(10, 3, "frame-screw", "Frame screw", "/parts/0/frame_screw",
                        "From above through the sheet into a heat-set insert.",
                        {{"M2.5", ""}, {"M3", ""}, {"M4", ""}, {"M5", ""}})
                     .usually(usual_frame_screw)
                     .unless(screw_objection)
                     .help_is("The largest that passes the frame's hole with a little room."));
  list.push_back(asked(10, 4, "slot", "Slots, carriage screws", Ask::length, "/parts/0/slot_mm",
                       "How much longer than round the holes are, across the rails; 0 for round.")
                     .usually([](const Answers&) { return std::string("1"); })
                     .help_is("Slots take up what the pitch is off by and what the heat moves."));
  list.push_back(asked(10, 5, "riser", "Bed spacers", Ask::yes_no, "", "Four spacers under the bed's mounts as well?")
                     .usually(no)
                     .help_is("They set the bed's height. Their thickness can be changed in the kit later."));
  list.push_back(asked(10, 6, "riser-height", "Spacer thickness", Ask::length, "/parts/1/thickness_mm",
                       "Old bed height less the new stack without spacers.")
                     .only_if(with_riser)
                     .help_is("Measure again once rails and plates are on; print the spacers last."));
  list.push_back(
      asked(10, 7, "shim", "Shims", Ask::yes_no, "", "Two horseshoe shims to start levelling with?")
          .usually(no)
          .help_is("They slip in without taking a screw out. bedwright level works out others from a bed map."));
  list.push_back(asked(10, 8, "shim-thickness", "Shim thickness", Ask::length, "/parts/2/thickness_mm",
                       "A whole number of layers.")
                     .only_if(with_shim)
                     .usually([](const Answers& a) { return mm(number(a, "first-layer") + number(a, "layer")); })
                     .help_is("First layer plus whole layers is what the printer can really lay."));
}

std::vector<Question> all_questions() {
  std::vector<Question> list;
  add_safety_and_names(list);
  add_before(list);
  add_rails(list);
  add_places(list);
  add_frame(list);
  add_dome(list);
  add_bed(list);
  add_printer(list);
  add_parts(list);
  return list;
}

}  // namespace

const std::vector<Section>& sections() {
  static const std::vector<Section> list = {
      {1, "Safety", "Bedwright cannot see your machine. Local codes and licensed people decide what is allowed."},
      {2, "Names", ""},
      {3, "Before anything comes off", ""},
      {4, "Rails and carriages", "On the bench. Leave the carriages on their rails. Caliper, steel rule."},
      {5, "Where the carriages sit", "From the front of the machine: X to the right, Y to the rear."},
      {6, "Frame sheet", "Gloves: the edges are sharp."},
      {7, "Dome of the sheet", "Straightedge and feeler gauge; the sheet free, not screwed down, not pressed."},
      {8, "Bed", ""},
      {9, "The printer that makes the parts", ""},
      {10, "Parts", "Enter takes what is in brackets; everything can be changed in the kit file later."},
  };
  return list;
}

const std::vector<Question>& questions() {
  static const std::vector<Question> list = all_questions();
  return list;
}

}  // namespace bedwright
