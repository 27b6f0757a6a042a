#include "joints/clamp.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

constexpr double nut_factor = 0.2;
constexpr double mm_per_m = 1000;
constexpr double aim_share = 2.0 / 3;  // aim 10 MPa of 15; common practice, no source

// What guideway makers allow for rail screws into aluminium (M2 and M3 from such a table, the rest from memory).
double aluminium_torque_nm(const std::string& thread) {
  if (thread == "M2") return 0.29;
  if (thread == "M2.5") return 0.59;
  if (thread == "M3") return 0.98;
  if (thread == "M4") return 2.06;
  if (thread == "M5") return 4.41;
  if (thread == "M6") return 6.86;
  return 14.7;
}

double table_number(const char* table, const std::string& thread, const char* key) {
  for (const Json& row : hardware_table(table).at("rows"))
    if (row.at("thread") == thread) return row.value(key, 0.0);
  return 0;
}

double head_mm(const Joint& joint) {
  if (joint.washer_mm > 0)
    return joint.washer_outer_mm > 0 ? joint.washer_outer_mm : table_number("washers", joint.thread, "outer_mm");
  return joint.head == "button" ? table_number("button_screws", joint.thread, "head_diameter_mm")
                                : table_number("cap_screws", joint.thread, "head_plain_mm");
}

}  // namespace

double clamp_force_n(double torque_nm, double diameter_mm) {
  return torque_nm * mm_per_m / (nut_factor * diameter_mm);
}

double torque_for_nm(double force_n, double diameter_mm) {
  return force_n * nut_factor * diameter_mm / mm_per_m;
}

double bearing_area_mm2(double outer_mm, double hole_mm, double slot_mm) {
  if (hole_mm >= outer_mm) return 0;
  const double radius = outer_mm / 2, half = hole_mm / 2;
  if (hole_mm + slot_mm <= outer_mm) return pi * (radius * radius - half * half) - hole_mm * slot_mm;
  const double segment = radius * radius * acos_rad(half / radius) - half * std::sqrt(radius * radius - half * half);
  return 2 * segment;
}

double stress_area_mm2(double diameter_mm, double pitch_mm) {
  const double d = diameter_mm - 0.9382 * pitch_mm;
  return pi / 4 * d * d;
}

Clamp clamp_of(const Joint& joint) {
  Clamp c;
  const ThreadSize* size = find_thread(joint.thread);
  if (!size) return c;
  c.outer_mm = head_mm(joint);
  for (const JointLayer& layer : joint.layers) {
    c.on_plastic = layer.printed;
    if (layer.printed) break;
    if (layer.spreads) c.outer_mm += layer.mm;
  }
  if (c.on_plastic && joint.printed_outer_mm > 0) c.outer_mm = std::min(c.outer_mm, joint.printed_outer_mm);
  const double hole = joint.hole_mm > 0 ? joint.hole_mm : size->clearance_medium_mm;
  c.area_mm2 = bearing_area_mm2(c.outer_mm, hole, joint.slot_mm);
  // A nut's washer presses the plastic from the other side, over less.
  if (joint.nut_washer_mm > 0)
    c.area_mm2 = std::min(c.area_mm2, bearing_area_mm2(table_number("washers", joint.thread, "outer_mm"), hole, joint.slot_mm));
  const double metal = aluminium_torque_nm(joint.thread), limit = joint.rules.clamp_limit_mpa;
  const double plastic = torque_for_nm(limit * c.area_mm2, size->diameter_mm);
  if (c.on_plastic && plastic < metal) {
    c.torque_greatest_nm = plastic;
    c.torque_least_nm = aim_share * plastic;
    c.source = decimal(aim_share * limit, 1) + " to " + decimal(limit, 1) +
               " MPa on the plastic by F = T / (0.2 d); common practice, no source";
  } else {
    c.torque_greatest_nm = metal;
    c.torque_least_nm = metal / 2;
    c.source =
        "guideway makers' tables for screws into aluminium, and half of it; more where thread and parts are steel";
  }
  c.torque_nm = joint.torque_nm.value_or(c.torque_greatest_nm);
  if (c.area_mm2 > 0) c.stress_mpa = clamp_force_n(c.torque_nm, size->diameter_mm) / c.area_mm2;
  return c;
}

}  // namespace bedwright
