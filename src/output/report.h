// The report as a plain struct; text and JSON are two printers of it.
#pragma once

#include <string>
#include <vector>

#include "base/finding.h"
#include "checks/envelope.h"
#include "checks/hole_float.h"
#include "checks/interference.h"
#include "checks/seat_gap.h"
#include "gauge/compare.h"
#include "joints/joints.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "mechanics/machine_answers.h"
#include "parts/part.h"
#include "print/pack.h"
#include "print/pose.h"

namespace bedwright {

struct PartReport {
  Part part;
  Pose pose;
  std::string file;                       ///< "stl/adapter-a.stl"
  std::string mating_code, mating_group;  ///< parts/mating.h
  std::string sha256;                     ///< of the written bytes
  std::string shape_sha256;               ///< parts/digest.h
  std::size_t bytes = 0, triangles = 0;
  double volume_mm3 = 0, area_mm2 = 0, mass_g = 0;
  Vec3 box_mm{};  ///< print frame
  MeshHealth mesh;
  std::vector<MeasuredDimension> dimensions;
};

struct HardwareLine {
  std::string item;
  int quantity = 0;
  std::string purpose;
  std::string kind;  ///< screw, washer, nut, insert, rail, carriage, filament, oil, tool, old screw
  int spares = 0;    ///< to buy beside the quantity
  std::string ask;   ///< what to ask the seller, or empty
};

struct Step {
  int n = 0;
  std::string what;
  std::vector<std::string> parts, joints, cautions;
  std::string tightness;
  std::string feel;     ///< what to move by hand after it, and how that should feel; empty: nothing
  std::string machine;  ///< "off, unplugged, cold" where it must be; "on, watched"; empty: it does not matter
};

/// What to do once it runs.
struct ServiceLine {
  std::string when, what;
};

struct Caution {
  std::string at, text;
};

/// What a machine that prints its own parts must print before it is taken apart.
struct FirstPrint {
  std::string part;
  int quantity = 0, spares = 0;
  std::string why;
};
struct OldPart {
  std::string what, why;
};
struct PrintFirst {
  std::vector<FirstPrint> parts;  ///< in the order to print them
  std::vector<OldPart> keep;
};

struct BedReport {
  std::string file;  ///< "north-bench.3mf"
  Bed bed;
};

struct Report {
  std::string kit, revision, title, input_sha256;
  Layout layout;
  std::vector<PartReport> parts;
  std::vector<JointSolution> joints;
  Json wrong_ways = Json::array();
  std::vector<SeatGap> seat_gaps;
  std::vector<HoleFloat> floats;
  std::vector<Interference> interferences;
  std::vector<EnvelopeRow> envelope;
  std::vector<Finding> findings;
  std::vector<HardwareLine> hardware;
  std::vector<Step> steps;
  std::vector<ServiceLine> service;
  std::vector<Caution> cautions;
  MachineAnswers machine;
  std::vector<BedReport> beds;
  PrintFirst print_first;
  Vec2 bed_mm;  ///< of the printer
  DrawingSettings drawing;
  std::string drawing_general;  ///< class of ISO 2768-1
  std::vector<Note> notes, assumed;
  std::vector<std::string> files;  ///< every file of the set, report.json included: what a later run may replace
};

/// The document that report.json holds (docs/report.schema.json): numbers rounded to their stated step, no
/// dimension that was not measured.
Json report_document(const Report& report);
/// The same as text: sorted keys, two-space indent, one final newline.
std::string to_json(const Report& report);
/// The table, findings and cautions that `make` and `check` print.
std::string to_text(const Report& report);

/// The findings as people read them, wrapped, each with what to do below it.
std::string findings_text(const std::vector<Finding>& findings);

/// Parts of the document that `gauge` and `layout` print too.
Json mesh_json(const MeshHealth& mesh);
Json dimensions_json(const std::vector<MeasuredDimension>& dimensions);
Json point_json(Vec3 p);
Json point_json(Vec2 p);

}  // namespace bedwright
