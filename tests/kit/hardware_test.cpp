// The built-in tables against tests/data/reference, entry by entry. Each reference row names its source.
#include "kit/hardware.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "kit/csv.h"
#include "kit/read_kit.h"

using namespace bedwright;

namespace {

const Json& row_of(const std::string& table, const std::string& key, const std::string& id) {
  for (const Json& row : hardware_table(table).at("rows")) {
    if (row.at(key) == id) return row;
  }
  FAIL("no row " << id << " in " << table);
  static const Json none;
  return none;
}

/// The same rows in both, and each number of `columns` (ours, theirs) equal.
void compare(const std::string& table, const std::string& reference, const std::string& key,
             const std::string& their_key, const std::vector<std::pair<std::string, std::string>>& columns) {
  const auto rows = read_reference(reference);
  REQUIRE_FALSE(rows.empty());
  CHECK(rows.size() == hardware_table(table).at("rows").size());
  for (const CsvRow& theirs : rows) {
    const Json& ours = row_of(table, key, theirs.at(their_key));
    CAPTURE(table, theirs.at(their_key));
    for (const auto& [our_column, their_column] : columns) {
      CAPTURE(our_column);
      CHECK(ours.at(our_column).get<double>() == number_of(theirs.at(their_column)));
    }
  }
}

}  // namespace

TEST_CASE("clearance holes are those of ISO 273", "[kit][hardware]") {
  const auto rows = read_reference("iso273_clearance");
  REQUIRE(rows.size() == 9);
  for (const CsvRow& row : rows) {
    CAPTURE(row.at("thread"));
    CHECK(clearance_hole_mm(row.at("thread"), "fine") == number_of(row.at("fine_mm")));
    CHECK(clearance_hole_mm(row.at("thread"), "medium") == number_of(row.at("medium_mm")));
    CHECK(clearance_hole_mm(row.at("thread"), "coarse") == number_of(row.at("coarse_mm")));
  }
  CHECK(clearance_hole_mm("M7", "medium") == 0);
  CHECK(clearance_hole_mm("M3", "loose") == 0);
}

TEST_CASE("threads are those of ISO 261, stress areas those of ISO 898-1", "[kit][hardware]") {
  compare("threads", "threads_stress_area", "id", "thread",
          {{"diameter_mm", "d_mm"},
           {"pitch_mm", "pitch_coarse_mm"},
           {"stress_area_mm2", "As_published_mm2"},
           {"tap_drill_mm", "tap_drill_d_minus_P_mm"}});
}

TEST_CASE("counterbores are those of DIN 974-1", "[kit][hardware]") {
  const auto rows = read_reference("din974_1_counterbore");
  REQUIRE(rows.size() == 7);
  for (const CsvRow& row : rows) {
    CAPTURE(row.at("thread"));
    const ThreadSize* thread = find_thread(row.at("thread"));
    REQUIRE(thread);
    CHECK(thread->counterbore_mm == number_of(row.at("d_counterbore_mm")));
    // What a counterbore is for: the head goes in.
    CHECK(thread->counterbore_mm > find_cap_screw(thread->id)->head_diameter_mm);
  }
}

TEST_CASE("cap screws are those of ISO 4762, knurled head maximum", "[kit][hardware]") {
  compare("cap_screws", "iso4762_cap_screw", "thread", "thread",
          {{"head_diameter_mm", "dk_max_knurled_mm"},
           {"head_plain_mm", "dk_max_plain_mm"},
           {"head_height_mm", "k_max_mm"},
           {"key_mm", "s_nom_mm"},
           {"key_depth_mm", "t_min_mm"},
           {"thread_length_mm", "b_ref_mm"}});
  const CapScrew* m3 = find_cap_screw("M3");
  REQUIRE(m3);
  CHECK(m3->head_diameter_mm == 5.68);
  CHECK(m3->head_height_mm == 3);
  CHECK(m3->key_mm == 2.5);
  CHECK_FALSE(find_cap_screw("M7"));
}

TEST_CASE("button heads are those of ISO 7380-1", "[kit][hardware]") {
  compare("button_screws", "iso7380_1_button", "thread", "thread",
          {{"head_diameter_mm", "dk_max_mm"},
           {"head_height_mm", "k_max_mm"},
           {"key_mm", "s_nom_mm"},
           {"key_depth_mm", "t_min_mm"}});
}

TEST_CASE("washers are those of ISO 7089", "[kit][hardware]") {
  compare("washers", "iso7089_washer", "thread", "thread",
          {{"inner_mm", "d1_nom_mm"}, {"outer_mm", "d2_nom_mm"}, {"thickness_mm", "h_nom_mm"}});
}

TEST_CASE("nuts are those of ISO 4032", "[kit][hardware]") {
  compare("nuts", "iso4032_nut", "thread", "thread",
          {{"across_flats_mm", "s_nom_max_mm"}, {"height_mm", "m_max_mm"}, {"across_corners_min_mm", "e_min_mm"}});
}

TEST_CASE("screw lengths are those of ISO 888", "[kit][hardware]") {
  const auto rows = read_reference("iso888_lengths");
  const Json& table = hardware_table("screw_lengths").at("rows");
  REQUIRE(rows.size() == 33);
  REQUIRE(table.size() == rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CAPTURE(rows[i].at("length_mm"));
    CHECK(table[i].at("length_mm").get<double>() == number_of(rows[i].at("length_mm")));
    CHECK(table[i].at("choice").get<int>() == static_cast<int>(number_of(rows[i].at("choice"))));
    CHECK(table[i].at("cap_screw").get<bool>() == (rows[i].at("in_iso4762_list") == "yes"));
  }
}

TEST_CASE("rails are inside the ranges of the generic profile", "[kit][hardware]") {
  const auto rows = read_reference("rail_profile");
  REQUIRE(rows.size() == 4);
  CHECK(hardware_ids("rails").size() == rows.size());
  for (const CsvRow& row : rows) {
    const RailSize* rail = find_rail("mini-" + row.at("rail_width_mm"));
    CAPTURE(row.at("rail_width_mm"));
    REQUIRE(rail);
    CHECK(rail->width_mm == number_of(row.at("rail_width_mm")));
    CHECK(rail->height_mm == Approx(range_of(row.at("rail_height_mm")).middle()).epsilon(1e-12));
    CHECK(rail->hole_pitch_mm == number_of(row.at("hole_pitch_P_mm")));
    CHECK(rail->end_distance_mm == number_of(row.at("end_distance_E_mm")));
    CHECK(rail->hole_mm == number_of(row.at("through_hole_d_mm")));
    CHECK(rail->counterbore_mm == number_of(row.at("counterbore_D_mm")));
    CHECK(rail->counterbore_depth_mm == number_of(row.at("counterbore_depth_mm")));
    CHECK(rail->screw == row.at("screw"));
  }
}

TEST_CASE("carriages have the generic mounting pattern and a length inside the range", "[kit][hardware]") {
  const auto rows = read_reference("rail_carriages");
  REQUIRE(rows.size() == 8);
  CHECK(hardware_ids("carriages").size() == rows.size());
  for (const CsvRow& row : rows) {
    const std::string id = "mini-" + row.at("rail_width_mm") + "-" + row.at("carriage");
    CAPTURE(id);
    const CarriageSize* carriage = find_carriage(id);
    REQUIRE(carriage);
    CHECK(carriage->rail == "mini-" + row.at("rail_width_mm"));
    CHECK(carriage->assembly_height_mm == number_of(row.at("assembly_height_mm")));
    CHECK(carriage->width_mm == number_of(row.at("carriage_width_mm")));
    CHECK(carriage->length_mm == Approx(range_of(row.at("carriage_length_mm")).middle()).epsilon(1e-12));
    CHECK(carriage->hole_across_mm == number_of(row.at("B_across_mm")));
    CHECK(carriage->hole_along_mm == number_of(row.at("C_along_mm")));
    CHECK(carriage->thread == row.at("thread"));
    CHECK(carriage->thread_depth_mm == number_of(row.at("thread_depth_mm")));
    CHECK(carriage->mass_g == number_of(row.at("carriage_mass_g")));
  }
}

TEST_CASE("inserts are inside the typical ranges of their thread", "[kit][hardware]") {
  const auto rows = read_reference("heat_set_inserts");
  REQUIRE(rows.size() == 4);
  REQUIRE_FALSE(hardware_ids("inserts").empty());
  for (const std::string& id : hardware_ids("inserts")) {
    CAPTURE(id);
    const InsertSize* insert = find_insert(id);
    REQUIRE(insert);
    const auto row =
        std::find_if(rows.begin(), rows.end(), [&](const CsvRow& r) { return r.at("thread") == insert->thread; });
    REQUIRE(row != rows.end());
    CHECK(range_of(row->at("insert_od_mm")).holds(insert->outer_mm));
    CHECK(range_of(row->at("insert_length_mm")).holds(insert->length_mm));
    CHECK(range_of(row->at("hole_d_mm")).holds(insert->hole_mm));
    CHECK(insert->least_wall_mm == number_of(row->at("min_wall_mm")));
    CHECK(insert->boss_mm == number_of(row->at("boss_od_suggested_mm")));
    CHECK(insert->hole_mm < insert->outer_mm);
  }
  CHECK(find_insert("m4-standard")->length_mm == 4.7);
  CHECK_FALSE(find_insert("m9-standard"));
}

TEST_CASE("printed materials are inside the published ranges", "[kit][hardware]") {
  const auto rows = read_reference("materials_printed");
  REQUIRE(rows.size() == 7);
  for (const CsvRow& row : rows) {
    std::string id = row.at("material");
    for (char& c : id) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    CAPTURE(id);
    const Material* material = find_material(id);
    REQUIRE(material);
    CHECK(material->printed);
    CHECK(range_of(row.at("density_g_cm3")).holds(material->density_g_cm3));
    CHECK(range_of(row.at("E_GPa_XY")).holds(material->modulus_gpa));
    CHECK(range_of(row.at("CTE_1e-6_per_K")).holds(material->expansion_per_k * 1e6));
    // Low end of the range: the cautious one.
    CHECK(material->softening_c == number_of(row.at("HDT_0.45MPa_C")));
  }
}

TEST_CASE("sheet materials are inside the handbook ranges", "[kit][hardware]") {
  const auto rows = read_reference("materials_other");
  REQUIRE(rows.size() == 5);
  for (const CsvRow& row : rows) {
    CAPTURE(row.at("material"));
    const Json* found = nullptr;
    for (const Json& each : hardware_table("materials").at("rows")) {
      if (each.value("name", "") == row.at("material")) found = &each;
    }
    REQUIRE(found);
    const Material* material = find_material(found->at("id").get<std::string>());
    REQUIRE(material);
    CHECK_FALSE(material->printed);
    CHECK(range_of(row.at("density_g_cm3")).holds(material->density_g_cm3));
    CHECK(range_of(row.at("E_GPa")).holds(material->modulus_gpa));
    CHECK(range_of(row.at("CTE_1e-6_per_K")).holds(material->expansion_per_k * 1e6));
  }
}

TEST_CASE("general tolerances are those of ISO 2768-1", "[kit][hardware]") {
  const auto rows = read_reference("iso2768_1_linear");
  REQUIRE(rows.size() == 6);
  for (const CsvRow& row : rows) {
    std::string text = row.at("range_mm");
    const bool open = text[0] == '>';
    if (open) text.erase(0, 1);
    const Range range = range_of(text);
    CAPTURE(row.at("range_mm"));
    for (const char* tolerance_class : {"f", "m", "c", "v"}) {
      const std::string& cell = row.at(std::string(tolerance_class) + "_pm_mm");
      const double expected = cell.empty() ? 0 : number_of(cell);
      CAPTURE(tolerance_class);
      CHECK(general_tolerance_mm(range.greatest, tolerance_class) == expected);
      CHECK(general_tolerance_mm(range.middle(), tolerance_class) == expected);
      CHECK(general_tolerance_mm(open ? range.least + 1e-6 : range.least, tolerance_class) == expected);
    }
  }
  CHECK(general_tolerance_mm(0.4, "m") == 0);
  CHECK(general_tolerance_mm(1000.1, "m") == 0);
  CHECK(general_tolerance_mm(10, "x") == 0);
}

TEST_CASE("every row of every table names its source", "[kit][hardware]") {
  for (const char* table : {"threads", "cap_screws", "button_screws", "washers", "nuts", "screw_lengths", "rails",
                            "carriages", "inserts", "materials", "general_tolerances"}) {
    CAPTURE(table);
    REQUIRE_FALSE(hardware_table(table).at("rows").empty());
    for (const Json& row : hardware_table(table).at("rows")) CHECK_FALSE(row.value("source", "").empty());
  }
}

TEST_CASE("the schema offers exactly the names that the tables have", "[kit][hardware]") {
  const Json& schema = kit_schema();
  const auto offered = [&](const char* pointer) {
    auto names = schema.at(Json::json_pointer(pointer)).at("enum").get<std::vector<std::string>>();
    std::sort(names.begin(), names.end());
    return names;
  };
  const auto sorted = [](std::vector<std::string> names) {
    std::sort(names.begin(), names.end());
    return names;
  };
  CHECK(offered("/properties/rails/properties/size") == sorted(hardware_ids("rails")));
  CHECK(offered("/properties/carriages/properties/size") == sorted(hardware_ids("carriages")));
  CHECK(offered("/definitions/adapter_plate/properties/insert") == sorted(hardware_ids("inserts")));
  CHECK(offered("/definitions/thread") == sorted(hardware_ids("cap_screws")));
  std::vector<std::string> printed, other;
  for (const std::string& id : hardware_ids("materials")) (find_material(id)->printed ? printed : other).push_back(id);
  CHECK(offered("/definitions/printed_material") == sorted(printed));
  CHECK(offered("/definitions/stock_material") == sorted(other));
}

TEST_CASE("a table that is not built in is told by its name", "[hardware]") {
  CHECK_THROWS_WITH(hardware_ids("nuts_and_bolts"), "no built-in table nuts_and_bolts");
}
