// Bed maps as people have them, read into plain points: lists of x, y, z; grids of numbers; text pasted from a screen.
// Map frame: as the file has it. Machine frame only after in_machine_frame, by a convention somebody stated or found
// out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Where a grid of numbers was taken, map frame: its first number stands at `first`, its last one at `last`.
struct GridExtent {
  Vec2 first, last;
};

/// Several readings of the same points. repeats[r][i] is the height at at[i], mm, as signed in the file.
struct BedMap {
  std::string source;
  std::vector<Vec2> at;
  std::vector<std::vector<double>> repeats;
};

/// Reads one file; several blocks of the same points in it are repeats. Without `extent` the rows are x, y, z (a header
/// may name them in another order), in any order; with it they are rows of a grid. Brackets, row and column labels,
/// signs, tabs, decimal commas and comments are coped with. Throws BadInput with line numbers.
BedMap read_bed_map(const std::string& text, const std::string& source, const std::optional<GridExtent>& extent);

/// One map of all repeats of several files. Throws BadInput where a file's points differ from the first one's.
BedMap together(const std::vector<BedMap>& maps);

/// How a machine's maps are to be read. p_map = turn(mirror(p_machine)), about the middle of the map's box.
struct MapConvention {
  bool positive_high = true;
  int quarter_turns = 0;  ///< counter-clockwise, of the map against the machine
  bool mirrored = false;  ///< left and right swapped, before turning
  Vec2 centre_mm{};       ///< where the middle of the map's box stands in the machine frame
};

/// Mean heights in the machine frame, +Z up, with the noise that the repeats show.
struct HeightMap {
  std::vector<Vec2> at;
  std::vector<double> z;
  int repeats = 1;
  /// Standard deviation of one reading about its point's mean, each repeat's own offset taken out, mm; from
  /// (points - 1)(repeats - 1) degrees of freedom. Nothing for a single map.
  std::optional<double> noise_mm;
  double drift_mm = 0;  ///< greatest difference between the repeats' mean heights
};

Vec2 box_middle(const std::vector<Vec2>& points);
Vec2 box_size(const std::vector<Vec2>& points);

/// `offset`: from the middle of the map's box, map frame. Returns the offset from centre_mm in the machine frame.
Vec2 machine_offset(const MapConvention& convention, Vec2 offset);
Vec2 map_offset(const MapConvention& convention, Vec2 offset);

HeightMap in_machine_frame(const BedMap& map, const MapConvention& convention);

/// Greatest less least; root mean square about the mean.
double range_of(const std::vector<double>& z);
double rms_of(const std::vector<double>& z);

}  // namespace bedwright
