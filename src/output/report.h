// The report as a plain struct; text and JSON are two printers of it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/finding.h"
#include "gauge/compare.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"
#include "print/pose.h"

namespace bedwright {

struct PartReport {
  Part part;
  Pose pose;
  std::string file;    ///< "stl/adapter-a.stl"
  std::string sha256;  ///< of the written bytes
  std::size_t bytes = 0, triangles = 0;
  double volume_mm3 = 0, area_mm2 = 0, mass_g = 0;
  Vec3 box_mm{};
  MeshHealth mesh;
  std::vector<MeasuredDimension> dimensions;
};

struct JointLine {
  std::string id, screw;
  double grip_least_mm = 0, grip_greatest_mm = 0, window_least_mm = 0, window_greatest_mm = 0;
  std::optional<double> pick_mm;
  bool ok = false;
  std::string why;
};

struct HardwareLine {
  std::string item;
  int quantity = 0;
  std::string purpose;
};

struct Step {
  int n = 0;
  std::string what;
  std::vector<std::string> parts, joints, cautions;
  std::string tightness;
};

struct Caution {
  std::string at, text;
};

struct Report {
  std::string kit, revision, title, input_sha256;
  Layout layout;
  std::vector<PartReport> parts;
  std::vector<JointLine> joints;
  Json wrong_ways = Json::array();
  std::vector<Finding> findings;
  std::vector<HardwareLine> hardware;
  std::vector<Step> steps;
  std::vector<Caution> cautions;
  std::vector<Note> notes, assumed;
};

/// report.json as docs/report.schema.json has it: sorted keys, two-space indent, numbers rounded to their stated step.
std::string to_json(const Report& report);
/// The table and findings that `make` and `check` print.
std::string to_text(const Report& report);

}  // namespace bedwright
