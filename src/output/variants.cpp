#include "output/variants.h"

#include <algorithm>

#include "base/csv.h"
#include "base/error.h"
#include "base/numbers.h"
#include "base/delimited.h"
#include "base/sha256.h"
#include "kit/parse.h"
#include "kit/schema_walk.h"
#include "kit/settings.h"
#include "output/checksums.h"
#include "output/reuse.h"

namespace bedwright {
namespace {

constexpr std::size_t most_problems = 20;
constexpr std::size_t longest_message = 300;

bool names_a_folder(const std::string& text) {
  return !text.empty() && text.size() <= 64 && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_' || c == '.';
  }) && text[0] != '.' && text[0] != '-';
}

std::string text_at(const Json& object, const char* key) {
  return object.is_object() && object.contains(key) && object[key].is_string() ? object[key].get<std::string>()
                                                                               : std::string();
}

/// "2,5" from a spreadsheet of a country that writes so.
std::string with_point(const std::string& cell) {
  double value = 0;
  if (cell.find(',') == cell.npos || !read_number(cell, true, value)) return cell;
  std::string text = cell;
  std::replace(text.begin(), text.end(), ',', '.');
  return text;
}

}  // namespace

std::vector<Variant> read_variants(const std::string& text, const std::string& source, const std::string& kit_text) {
  if (text.size() > largest_variants_bytes)
    throw BadInput(source, {{"file", std::to_string(text.size() >> 20) + " MiB", "larger than 64 MiB", ""}});
  const TextTable table = read_text_table(text, source);
  std::vector<Problem> problems;
  const auto complain = [&](const Problem& p) {
    if (problems.size() < most_problems) problems.push_back(p);
  };
  for (std::size_t c = 0; c < table.header.size(); ++c) {
    if (table.header[c].empty() || table.header[c][0] != '/')
      complain({"line 1", table.header[c], "is not a JSON pointer", "write /frame/dome/radius_mm, for example"});
    if (std::count(table.header.begin(), table.header.end(), table.header[c]) > 1)
      complain({"line 1", table.header[c], "stands over two columns", "keep one"});
  }
  if (table.rows.empty()) complain({"file", "", "has no rows: each line below the first is one kit", ""});
  if (table.rows.size() > most_variants)
    complain(
        {"file", std::to_string(table.rows.size()),
         "has " + std::to_string(table.rows.size()) + " rows; at most " + std::to_string(most_variants) + " are read",
         "split it"});
  if (!problems.empty()) throw BadInput(source, problems);

  std::vector<Problem> misread;
  const Json base = parse_strict(kit_text, misread, "").value_or(Json::object());
  std::vector<bool> known(table.header.size());
  std::vector<Variant> variants;
  std::map<std::string, int> named;
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    Variant v;
    v.line = table.lines[i];
    for (std::size_t c = 0; c < table.header.size(); ++c) {
      const std::string& cell = table.rows[i][c];
      if (!cell.empty()) v.settings.push_back({table.header[c], table.separator == ',' ? cell : with_point(cell)});
    }
    Json document = base;
    std::vector<Problem> refused;  // a single row's trouble is told when its turn comes
    apply_settings(kit_schema(), document, v.settings, refused);
    for (std::size_t c = 0; c < known.size(); ++c)
      if (!known[c]) known[c] = schema_at(kit_schema(), document, table.header[c]) != nullptr;
    const std::string kit = text_at(document, "kit"), revision = text_at(document, "revision");
    v.name = kit + "-" + revision;
    const std::string where = "line " + std::to_string(v.line);
    if (!names_a_folder(kit) || !names_a_folder(revision)) {
      complain({where, v.name, "kit and revision name the folder: letters, digits, - and _ only", ""});
    } else {
      const auto [first, fresh] = named.emplace(v.name, v.line);
      if (!fresh)
        complain({where, v.name, "is the name of line " + std::to_string(first->second) + " too",
                  "give each row its own /kit or /revision"});
    }
    variants.push_back(std::move(v));
  }
  for (std::size_t c = 0; c < known.size(); ++c)
    if (!known[c]) complain({"line 1", table.header[c], "no kit has such a value", "docs/kit.schema.json lists them"});
  if (!problems.empty()) throw BadInput(source, problems);
  return variants;
}

const char* to_text(VariantResult::Kind kind) {
  switch (kind) {
    case VariantResult::Kind::made:
      return "made";
    case VariantResult::Kind::kept:
      return "kept";
    case VariantResult::Kind::findings:
      return "findings";
    default:
      return "bad";
  }
}

VariantResult result_of(const Json& report, VariantResult::Kind kind) {
  VariantResult r;
  r.kind = kind;
  for (const Json& p : report.value("parts", Json::array())) {
    const int quantity = p.value("quantity", 0);
    r.parts += quantity;
    r.mass_g += quantity * p.value("mass_g", 0.0);
  }
  for (const Json& f : report.value("findings", Json::array())) {
    const std::string severity = text_at(f, "severity");
    if (severity == "error" && r.errors++ == 0) r.message = text_at(f, "code") + ": " + text_at(f, "message");
    if (severity == "warning") ++r.warnings;
  }
  return r;
}

std::string results_csv(const std::vector<Variant>& variants, const std::vector<VariantResult>& results) {
  std::string text = "line,set,result,parts,mass_g,errors,warnings,message\n";
  for (std::size_t i = 0; i < variants.size(); ++i) {
    const VariantResult& r = results[i];
    // A set that was kept is the same as one that was made: so the table is the same after a run that was resumed.
    const auto kind = r.kind == VariantResult::Kind::kept ? VariantResult::Kind::made : r.kind;
    text += std::to_string(variants[i].line) + "," + variants[i].name + "," + to_text(kind) + "," +
            std::to_string(r.parts) + "," + decimal(r.mass_g, 2) + "," + std::to_string(r.errors) + "," +
            std::to_string(r.warnings) + "," + csv_cell(r.message.substr(0, longest_message)) + "\n";
  }
  return text;
}

bool is_whole(const Json& report, const std::string& input_sha256, const std::map<std::string, std::string>& files) {
  if (text_at(report, "input_sha256") != input_sha256) return false;
  if (!report.contains("files") || !report["files"].is_array() || report["files"].empty()) return false;
  const auto list = files.find(checksums_name);
  if (list == files.end() || !made_by_this_program(files)) return false;
  std::map<std::string, std::string> sums;
  try {
    sums = read_checksums(list->second, checksums_name);
  } catch (const BadInput&) {
    return false;
  }
  return std::all_of(report["files"].begin(), report["files"].end(), [&](const Json& name) {
    if (!name.is_string()) return false;
    if (name == checksums_name) return true;
    const auto file = files.find(name.get<std::string>());
    const auto sum = sums.find(name.get<std::string>());
    return file != files.end() && sum != sums.end() && sha256(file->second) == sum->second;
  });
}

}  // namespace bedwright
