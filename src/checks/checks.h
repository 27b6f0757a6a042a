// The checks: each looks at what is known and adds what it finds. Codes: docs/findings.md.
#pragma once

#include <vector>

#include "base/finding.h"
#include "base/tasks.h"
#include "checks/known.h"

namespace bedwright {

// The file
void check_mesh(const Known& known, std::vector<Finding>& findings);        ///< mesh-invalid
void check_sliver(const Known& known, std::vector<Finding>& findings);      ///< mesh-sliver
void check_likeness(const Known& known, std::vector<Finding>& findings);    ///< not-as-drawn
void check_dimensions(const Known& known, std::vector<Finding>& findings);  ///< dimension-off, not-measured
// Printing
void check_printer_size(const Known& known, std::vector<Finding>& findings);  ///< part-too-big
void check_layers(const Known& known, std::vector<Finding>& findings);        ///< whole-layers, thin-shim
void check_overhang(const Known& known, std::vector<Finding>& findings);      ///< overhang
void check_thin_wall(const Known& known, std::vector<Finding>& findings);     ///< thin-wall
void check_softening(const Known& known, std::vector<Finding>& findings);     ///< softening
// Joints
/// no-screw, unknown-behind, also-holds, insert-pulls-out, clamp-stress, old-screw, second-choice
void check_joints(const Known& known, std::vector<Finding>& findings);
void check_head_proud(const Known& known, std::vector<Finding>& findings);  ///< head-proud
void check_head_slope(const Known& known, std::vector<Finding>& findings);  ///< head-slope
void check_insert(const Known& known, std::vector<Finding>& findings);      ///< insert-wall, insert-bottom, insert-edge
void check_insert_stock(const Known& known, std::vector<Finding>& findings);  ///< insert-stock
void check_stock_screws(const Known& known, std::vector<Finding>& findings);  ///< stock-screw
// Assembly
void check_wrong_ways(const Known& known, std::vector<Finding>& findings);    ///< wrong-way-unmarked, -slight, -marked
void check_key(const Known& known, std::vector<Finding>& findings);           ///< key-open
void check_old_revision(const Known& known, std::vector<Finding>& findings);  ///< old-revision
void check_seat_gap(const Known& known, std::vector<Finding>& findings);      ///< seat-gap
void check_hole_float(const Known& known, std::vector<Finding>& findings);    ///< holes-miss, holes-tight
void check_interference(const Known& known, std::vector<Finding>& findings);  ///< interference
void check_mark_truth(const Known& known, std::vector<Finding>& findings);  ///< mark-hidden, mark-mirrored, mark-false
void check_driver(const Known& known, std::vector<Finding>& findings);      ///< driver-blocked
// The machine
void check_travel(const Known& known, std::vector<Finding>& findings);      ///< travel-short
void check_guideway(const Known& known, std::vector<Finding>& findings);    ///< guideway-limits
/// measured-beyond, measured-left-out, measured-rough
void check_measured(const Known& known, std::vector<Finding>& findings);
/// carriage-height, carriage-hole-pitch, rail-holes
void check_carriages(const Known& known, std::vector<Finding>& findings);
void check_distinct(const Known& known, std::vector<Finding>& findings);    ///< distinct-parts
void check_mark(const Known& known, std::vector<Finding>& findings);        ///< mark-missing
void check_rail_screws(const Known& known, std::vector<Finding>& findings);  ///< rail-screws
void check_earth_path(const Known& known, std::vector<Finding>& findings);  ///< earth-path

/// rail-hole-lost, rail-end-loose
void check_rail_hold(const Known& known, std::vector<Finding>& findings);
void check_stops(const Known& known, std::vector<Finding>& findings);  ///< no-stop, stop-early
/// first-homing, bed-height, belt-line, switch-beyond, switch-missed, before-missing
void check_heights(const Known& known, std::vector<Finding>& findings);
/// no-reference, reference-rail, slot-spent, mount-slot, pad-height
void check_constraints(const Known& known, std::vector<Finding>& findings);

/// All of them, sorted.
std::vector<Finding> run_checks(const Known& known, const AtOnce& at_once);
/// Worst first, then by part, code and feature.
void sort_findings(std::vector<Finding>& findings);

}  // namespace bedwright
