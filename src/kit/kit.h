// The kit file as plain values: one machine, its conversion, and the parts wanted of it.
// Everything here has been read, checked against its range and against what it must agree with, and
// completed with defaults; see read_kit.h. Frame and words: docs/conventions.md. Lengths mm, angles degrees
// as the file has them (names say so).
#pragma once

#include <array>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "base/loop.h"
#include "base/vec.h"
#include "kit/print_wishes.h"

namespace bedwright {

/// Sorted keys, so that the same kit always prints the same text.
using Json = nlohmann::json;

/// The four placements, always in this order.
inline constexpr std::array<const char*, 4> placement_ids = {"front-left", "front-right", "rear-left", "rear-right"};

struct ToleranceSettings {
  double chord_mm = 0.01;
  std::string general = "m";  ///< ISO 2768-1 class: f, m, c, v
};

struct Dome {
  std::string shape = "flat";  ///< flat, sphere, cylinder, two_radius, measured
  bool crown_up = true;
  double radius_mm = 0;                     ///< sphere, cylinder; as measured, on the face that measured_on says
  double radius_x_mm = 0, radius_y_mm = 0;  ///< two_radius: curvature seen along x, along y
  std::string axis = "y";                   ///< cylinder: the straight direction, "x" or "y"
  Vec2 apex_mm{};
  bool measured_on_upper = false;
  std::string points_file;      ///< measured: as the kit names it, beside the kit
  std::vector<Vec3> points_mm;  ///< measured: the file's heights, machine X and Y, z up
};

struct FrameHole {
  std::string id;
  Vec2 at_mm;
  double diameter_mm = 0;
};

struct FrameSettings {
  double sheet_thickness_mm = 0;
  double mass_g = 0;  ///< 0: not given
  std::string material = "steel";
  Dome dome;
  std::vector<FrameHole>
      holes;  ///< hole_pattern, expanded; rectangular: front-left, front-right, rear-left, rear-right
  std::vector<FrameHole> mounts;  ///< bed_mounts, expanded; may be empty
  double reach_mm = 80;           ///< farthest a frame hole may be from its carriage
};

/// A miniature profile rail size by width; params/hardware/rails.json says where the values come from.
struct RailSize {
  std::string id;  ///< "mini-12"
  double width_mm = 0, height_mm = 0, hole_pitch_mm = 0, end_distance_mm = 0;
  double hole_mm = 0, counterbore_mm = 0, counterbore_depth_mm = 0;
  std::string screw;
};

struct CarriageSize {
  std::string id;  ///< "mini-12-short"
  std::string rail;
  double assembly_height_mm = 0, width_mm = 0, length_mm = 0;
  double hole_across_mm = 0, hole_along_mm = 0;  ///< across the rail (x), along it (y)
  std::string thread;
  double thread_depth_mm = 0;
  double mass_g = 0;
};

/// What the rails are screwed to.
struct RailBase {
  std::string kind = "tapped";  ///< tapped, nut
  double depth_mm = 0;          ///< usable thread
  bool blind = false;
  double between_mm = 0;  ///< between rail and thread: a sheet, the lip of a slot
  std::string behind = "nothing";
  std::optional<double> clear_mm;
};

/// Something under a rail other than the machine's base: a bracket's pad.
struct RailPad {
  double from_mm = 0, to_mm = 0;  ///< along Y
  double stiffness_n_mm = 0;      ///< of the whole pad against being pressed down; 0: rigid
};

/// What ends the carriages' way, from the rail's end to the face that the carriage meets. 0: nothing there.
struct RailStops {
  double front_mm = 0, rear_mm = 0;
};

struct RailSettings {
  RailSize size;
  double under_head_mm = 0;      ///< of the rail under its screws' heads
  std::optional<RailBase> base;  ///< empty: the kit does not say
  double pitch_mm = 0;
  double length_mm = 0;
  double travel_mm = 0;
  double end_margin_mm = 0;
  std::optional<std::string> reference;  ///< left, right
  double lift_mm = 0;                    ///< spacers under the rails, above the machine's base
  double lift_plus_minus_mm = 0;
  std::optional<RailStops> stops;
  std::vector<RailPad> pads;
};

/// One bought carriage, measured by itself.
struct MeasuredCarriage {
  std::string id;    ///< as scratched or written on it
  std::string rail;  ///< left, right: matched to that rail; empty: free
  double height_mm = 0;
  std::optional<double> length_mm;
  std::optional<Vec2> hole_pitch_mm;  ///< across the rail, along it
};

struct CarriageSettings {
  CarriageSize size;  ///< with the kit's own measured overrides applied
  double spacing_mm = 0;
  bool widest = false;  ///< spacing_mm was "widest": as much as travel and end margins leave
  double clearance_um = 0;
  std::vector<MeasuredCarriage> measured;
  std::optional<std::array<double, 4>> pad_heights_mm;  ///< plates as printed or installed, by placement
};

/// The switch that tells where the bed's travel ends.
struct EndSwitch {
  double bed_y_mm = 0;   ///< where the bed's centre stands when it trips
  double height_mm = 0;  ///< middle of its lever, above the machine's base
  double window_mm = 2;  ///< how far above or below that the flag may meet it
};

/// The old guides. Heights are above the machine's base: what the rails, or the spacers under them, will lie on.
struct BeforeSettings {
  double bearing_length_mm = 0, play_um = 0;
  std::optional<double> bed_height_mm, moving_mass_g;
  double plus_minus_mm = 0.2;  ///< of the heights
  std::optional<double> rod_diameter_mm, rod_height_mm, belt_height_mm, nozzle_gap_mm;
  std::optional<double>
      stand_mm;  ///< all that stood between the old frame and its bed; empty: as much as stands there now
  std::vector<Vec2> blocks_mm;  ///< bearing blocks, one bushing each
  std::optional<EndSwitch> end_switch;
};

struct BedSettings {
  Vec2 size_mm{};
  double mass_g = 0;
  std::string material = "aluminium";
  double max_temperature_c = 0;
  std::optional<double> thickness_mm;  ///< heater and printing surface included
  std::optional<double> height_mm;     ///< wanted: its top above the machine's base
  double stand_mm = 0;                 ///< between frame and bed beside the spacers: springs pressed together, washers
  double stand_plus_minus_mm = 0;
  std::string spacer;       ///< the spacer part under each mount; empty: none
  std::string fixed_mount;  ///< the mount that does not slide; empty: not said
  std::string mount_screw;  ///< thread of the mounts' screws; empty: not said
  double print_height_mm = 100;
};

/// A rectangle of the machine's base that is higher than the rails' face, or open.
struct BaseArea {
  std::string id;
  Vec2 low, high;
  double height_mm = 0;  ///< above that face; openings: 0
};

inline constexpr double base_chord_mm = 0.01;

/// The machine's base from above. Its face, where rails or the spacers under them lie, is at z = -(carriage assembly
/// height) - lift_mm.
struct BaseProfile {
  std::vector<Vec2> outline_mm;  ///< corners; arcs of `outline` as chords within base_chord_mm
  Loop outline;                  ///< the same with its arcs, counter-clockwise
  std::string material = "steel";
  double thickness_mm = 0;  ///< downward from that face; 0: not known
  std::vector<BaseArea> raised, openings;
};

/// Temperatures while printing hot, and without power.
struct HeatSettings {
  double room_c = 20, frame_c = 45, base_c = 25;
};

/// What drives the bed, and what a proof piece showed.
struct DriveSettings {
  double belt_unit_strain_n = 10000;  ///< force at unit strain of one belt
  Vec2 belt_spans_mm{};               ///< from the bed's clamp to the motor, and round the idler to it
  std::optional<double> speed_mm_s, ripple_mm;
  std::string proof;  ///< "away", "everywhere", "ripples": where the proof piece is bad; empty: not printed yet
};

struct Compensation {
  double hole_mm = 0;     ///< added to hole diameters
  double outline_mm = 0;  ///< added to outer widths and lengths (both sides together)
  double height_mm = 0;   ///< added to calibrated heights
};

/// What a coupon said, and of what: compensation of another material or nozzle is none of this one's.
struct Calibrated {
  std::string on;  ///< year-month-day
  std::string material;
  std::optional<double> nozzle_mm;
};

struct PrinterProfile {
  std::string name;  ///< empty: not given
  std::optional<double> nozzle_mm;
  std::optional<Calibrated> calibrated;
  Vec3 bed_mm{220, 220, 240};
  double layer_mm = 0.2, first_layer_mm = 0.2, line_mm = 0.45;
  std::string material = "petg";
  Compensation compensation;
  double infill_percent = 100;
  int walls = 3;  ///< lines round every face
  PrintWishes wishes;
};

/// What every screw is held to; all common practice without a source, and all the kit's to change.
struct JointRules {
  double engagement_pitches = 5;        ///< least thread that must hold
  double tip_clearance_mm = 0.3;        ///< free length ahead of the tip
  double settling_share = 0.01;         ///< of a clamped printed layer's thickness, lost with time
  double printed_plus_minus_mm = 0;     ///< a derived part's printed height against its drawing
  bool length_tolerance = false;        ///< whether the screw's own length tolerance counts in the worst case
  double clamp_limit_mpa = 15;          ///< on printed plastic under a head or washer
  bool clamp_limit_by_material = true;  ///< not the kit's number but its material's, params/hardware/materials.json
  double pattern_plus_minus_mm = 0.1;   ///< how far a hole of a carriage or a frame may be off its place
};

/// One thing that somebody tried on the machine; what is not listed is untested.
struct TestedThing {
  std::string what;  ///< output/tests_of.h has the list
  std::string result, on;
  std::string revision;  ///< of the kit that was tested; empty: this one
};

struct RevisionNote {
  std::string revision, what;
};

/// How the workshop drawings are laid out.
struct DrawingSettings {
  bool third_angle = false;  ///< ISO 5456-2; else first angle
  bool a3 = false;           ///< sheet size, ISO 5457: else A4
  std::string on;            ///< year-month-day for the title block; empty: no date
};

/// What others must know before they use a bundle.
struct PublishSettings {
  std::string licence_file;  ///< as the kit names it, beside the kit; empty: none chosen
  std::string licence_text;
  std::string licence;  ///< its short name
  std::vector<TestedThing> tested;
  std::vector<RevisionNote> changes;  ///< newest last
};

/// A part as asked for. The family's own settings stay JSON, already checked and completed by the schema,
/// so that a new family needs nothing here.
struct PartRequest {
  std::string id, family;
  std::optional<int> quantity;
  std::vector<std::string> placements;  ///< empty unless given
  Json settings;                        ///< the whole part object, defaults filled in
  std::string pointer;                  ///< "/parts/0"
};

struct Note {
  std::string pointer, text;
};

/// A file beside the kit, as the kit names it.
struct NamedText {
  std::string name, text;
};

struct Kit {
  std::string name, revision, title;
  ToleranceSettings tolerance;
  FrameSettings frame;
  RailSettings rails;
  CarriageSettings carriages;
  std::optional<BeforeSettings> before;
  std::optional<BedSettings> bed;
  std::optional<BaseProfile> base;
  HeatSettings heat;
  std::optional<DriveSettings> drive;
  PrinterProfile printer;
  std::vector<PartRequest> parts;
  Json joints = Json::array();     ///< checked; for src/joints
  Json keep_outs = Json::array();  ///< checked; for src/checks
  Json open = Json::array();       ///< checked; what a published page lets others change
  Json stock = Json::array();      ///< checked; at hand: thread, lengths_mm (screws), insert_lengths_mm
  JointRules joint_rules;
  PublishSettings publish;
  DrawingSettings drawing;
  std::vector<std::string> named_files;  ///< beside the kit, as it names them
  std::vector<NamedText> bed_map_files;  ///< bed_map.files with their bytes, in its order
  Json bed_map;                          ///< checked; how to read this machine's bed maps; null if the kit says nothing
  std::vector<Note> notes;               ///< every `note` of the file
  std::vector<Note> assumed;             ///< every default used: pointer and "6 mm"
  std::string input_sha256;              ///< of the document after --set (canonical text) and every file it names
};

}  // namespace bedwright
