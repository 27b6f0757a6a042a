// Folders as sets: a whole one passes; each mistake is named; a neighbour is left alone.
#include "output/set_check.h"

#include <catch2/catch.hpp>

#include "base/sha256.h"
#include "checks/bench.h"
#include "output/write_stl.h"

using namespace bedwright;

namespace {

SetFolder folder_of(const Bench& bench, const std::string& name = "set") {
  const Report report = bench.report();
  SetFolder folder;
  folder.name = name;
  folder.report = report_document(report);
  for (const auto& [path, bytes] : files_of(bench.kit, report, bench.parts))
    if (path.find(".stl") != path.npos) folder.files[path] = bytes;
  return folder;
}

std::vector<std::string> codes(const std::vector<Finding>& findings) {
  std::vector<std::string> list;
  for (const Finding& f : findings) list.push_back(f.code);
  std::sort(list.begin(), list.end());
  return list;
}

using Codes = std::vector<std::string>;

Json& part_of(SetFolder& folder, const std::string& id) {
  for (Json& p : folder.report["parts"])
    if (p["id"] == id) return p;
  throw std::runtime_error("no part");
}

}  // namespace

TEST_CASE("set: the header says kit, part, revision and mating code", "[set]") {
  const SetFolder folder = folder_of(Bench());
  const StlHeader h = read_stl_header(folder.files.at("stl/adapter-a.stl"));
  CHECK(h.kit == "north-bench");
  CHECK(h.part == "adapter-a");
  CHECK(h.revision == "A");
  CHECK(h.mating_code == folder.report["parts"][0]["mating_code"]);
  CHECK(h.mating_code.size() == 4);
  CHECK(read_stl_header("solid something").part.empty());
  CHECK(read_stl_header(std::string(200, '\0')).part.empty());
  CHECK(read_stl_header("").part.empty());
  // A name so long that the header is cut: nothing is taken from what may be half a word.
  const std::string cut = to_stl({{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}, {{0, 1, 2}}}, std::string(60, 'k'), "part", "REVISION", "ACDE");
  CHECK(read_stl_header(cut).revision.empty());
}

TEST_CASE("set: a folder as made is whole", "[set]") {
  const Bench bench;
  const SetFolder folder = folder_of(bench);
  CHECK(check_folder(folder).empty());
  CHECK(check_against_kit(folder, bench.parts, bench.kit).empty());
  CHECK(check_together(folder, folder).empty());
  CHECK(check_pieces(folder, {{"adapter-a", 2}, {"adapter-b", 2}, {"riser", 4}, {"shim-rear", 2}}).empty());
}

TEST_CASE("set: a missing file is a missing hand, or a missing part", "[set]") {
  SetFolder folder = folder_of(Bench());
  folder.files.erase("stl/adapter-b.stl");
  auto found = check_folder(folder);
  CHECK(codes(found) == Codes{"set-hand-missing"});
  CHECK(found[0].severity == Severity::error);
  folder = folder_of(Bench());
  folder.files.erase("stl/riser.stl");
  CHECK(codes(check_folder(folder)) == Codes{"set-part-missing"});
}

TEST_CASE("set: two left hands", "[set]") {
  SetFolder folder = folder_of(Bench());
  folder.files["stl/adapter-b.stl"] = folder.files["stl/adapter-a.stl"];
  CHECK(codes(check_folder(folder)) == Codes{"set-hand-missing", "set-wrong-file"});
  const auto pieces = check_pieces(folder, {{"adapter-a", 4}, {"riser", 4}, {"shim-rear", 2}});
  CHECK(codes(pieces) == Codes{"set-hand-missing", "set-quantity"});
}

TEST_CASE("set: a hand that no list has", "[set]") {
  SetFolder folder = folder_of(Bench());
  Json& parts = folder.report["parts"];
  parts.erase(std::remove_if(parts.begin(), parts.end(), [](const Json& p) { return p["id"] == "adapter-a"; }),
              parts.end());
  folder.files.erase("stl/adapter-a.stl");
  const auto found = check_folder(folder);
  CHECK(std::count_if(found.begin(), found.end(), [](const Finding& f) { return f.code == "set-hand-missing"; }) == 1);
  CHECK(std::count_if(found.begin(), found.end(), [](const Finding& f) { return f.code == "set-quantity"; }) == 2);
}

TEST_CASE("set: revisions mixed", "[set]") {
  SetFolder folder = folder_of(Bench());
  const SetFolder next = folder_of(Bench(std::vector<Change>{{"/revision", "B"}}));
  folder.files["stl/riser.stl"] = next.files.at("stl/riser.stl");
  CHECK(codes(check_folder(folder)) == Codes{"set-revision-mixed"});
  CHECK(codes(check_together(folder_of(Bench()), next)) == Codes{"set-revision-mixed"});
  // An old part left lying beside the new ones.
  folder = folder_of(Bench());
  folder.files["old/adapter-a.stl"] = next.files.at("stl/adapter-a.stl");
  CHECK(codes(check_folder(folder)) == Codes{"set-revision-mixed"});
}

TEST_CASE("set: codes differ where mates no longer fit, not where only looks changed", "[set]") {
  const SetFolder other = folder_of(Bench(std::vector<Change>{{"/frame/dome/radius_mm", 2400}}));
  SetFolder folder = folder_of(Bench());
  folder.files["stl/adapter-a.stl"] = other.files.at("stl/adapter-a.stl");
  CHECK(codes(check_folder(folder)) == Codes{"set-code-differs"});
  const auto together = check_together(folder_of(Bench(), "old"), other);
  REQUIRE_FALSE(together.empty());
  CHECK(together[0].code == "set-code-differs");
  // The report itself may be of two minds.
  folder = folder_of(Bench());
  part_of(folder, "adapter-b")["mating_code"] = "AAAA";
  const auto found = codes(check_folder(folder));
  CHECK(std::count(found.begin(), found.end(), "set-code-differs") >= 1);
  const SetFolder looks = folder_of(Bench(std::vector<Change>{{"/parts/0/corner_radius_mm", 4}}));
  CHECK(check_together(folder_of(Bench()), looks).empty());
}

TEST_CASE("set: wrong quantity, a second copy, a stray file, a changed file", "[set]") {
  SetFolder folder = folder_of(Bench());
  part_of(folder, "adapter-a")["quantity"] = 3;
  CHECK(codes(check_folder(folder)) == Codes{"set-quantity"});
  folder = folder_of(Bench());
  folder.files["stl/adapter-a-copy.stl"] = folder.files["stl/adapter-a.stl"];
  CHECK(codes(check_folder(folder)) == Codes{"set-quantity"});
  folder = folder_of(Bench());
  folder.files["stl/knob.stl"] = "solid knob";
  auto found = check_folder(folder);
  CHECK(codes(found) == Codes{"set-stray-file"});
  CHECK(found[0].severity == Severity::warning);
  folder = folder_of(Bench());
  folder.files["stl/riser.stl"][200] ^= 1;
  CHECK(codes(check_folder(folder)) == Codes{"set-file-changed"});
  CHECK(codes(check_pieces(folder_of(Bench()), {{"adapter-a", 2}, {"adapter-b", 2}, {"riser", 3}, {"shim-rear", 2}})) ==
        Codes{"set-quantity"});
  CHECK(codes(check_pieces(folder_of(Bench()),
                           {{"adapter-a", 2}, {"adapter-b", 2}, {"riser", 4}, {"shim-rear", 2}, {"knob", 1}})) ==
        Codes{"set-wrong-file"});
}

TEST_CASE("set: against the kit as it is now", "[set]") {
  const SetFolder folder = folder_of(Bench());
  const auto against = [&](const std::vector<Change>& changes) {
    const Bench now(changes);
    return codes(check_against_kit(folder, now.parts, now.kit));
  };
  CHECK(against({{"/revision", "B"}}) == Codes{"set-revision-mixed"});
  CHECK(against({{"/parts/1/quantity", 6}}) == Codes{"set-quantity"});
  CHECK(against({{"/parts/0/corner_radius_mm", 4}}) == Codes{"set-out-of-date", "set-out-of-date"});
  CHECK(against({{"/parts/0/thickness_mm", 7}}) == Codes{"set-code-differs", "set-code-differs"});
  CHECK(against({{"/parts/1/id", "post"}}) == Codes{"set-part-missing", "set-stray-file"});
}

TEST_CASE("set: a file that does not say what it is, is measured", "[set]") {
  const Bench bench;
  SetFolder folder = folder_of(bench);
  std::string strange = folder.files["stl/adapter-a.stl"];
  std::fill(strange.begin(), strange.begin() + 80, ' ');
  folder.files["stl/adapter-b.stl"] = strange;
  const auto found = check_against_kit(folder, bench.parts, bench.kit);
  REQUIRE_FALSE(found.empty());
  CHECK(found[0].code == "set-wrong-file");
  CHECK(found[0].part == "adapter-b");
  // The right solid under a foreign header is the right part.
  folder = folder_of(bench);
  std::fill(folder.files["stl/riser.stl"].begin(), folder.files["stl/riser.stl"].begin() + 80, ' ');
  CHECK(check_against_kit(folder, bench.parts, bench.kit).empty());
}

TEST_CASE("set: two plates for one place, a place without one, and a file that is no STL", "[set]") {
  const Bench bench;
  SetFolder folder = folder_of(bench);
  Json& b = part_of(folder, "adapter-b");
  const std::string lost = b["placements"][0];
  b["placements"][0] = part_of(folder, "adapter-a")["placements"][0];
  std::string told;
  for (const Finding& f : check_folder(folder)) told += f.code + ": " + f.message + "\n";
  CHECK_THAT(told, Catch::Contains("set-quantity: set: both adapter-a and adapter-b are for ") &&
                       Catch::Contains("set-quantity: set: no adapter plate for " + lost));
  SetFolder broken = folder_of(bench);
  broken.files["stl/adapter-b.stl"] = "no facets at all";
  told.clear();
  for (const Finding& f : check_against_kit(broken, bench.parts, bench.kit)) told += f.code + ": " + f.message + "\n";
  CHECK_THAT(told, Catch::Contains("set-wrong-file: set: stl/adapter-b.stl: 1 problem") &&
                       Catch::Contains("too short for an STL"));
}
