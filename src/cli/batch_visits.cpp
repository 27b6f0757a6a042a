#include "cli/batch_visits.h"

#include <algorithm>
#include <filesystem>
#include <map>
#include <ostream>

#include "base/csv.h"
#include "base/error.h"
#include "base/numbers.h"
#include "checks/keyed_parts.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "output/variants.h"
#include "output/write_set.h"
#include "visit/visit.h"
#include "visit/visit_text.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct VisitRow {
  std::string file, bad;  ///< bad: why it could not be read or judged
  VisitText text;
  VisitFit fit;
  bool other_state = false;  ///< written for another state of the kit
};

std::vector<std::string> texts_in(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error))
    if (it->symlink_status().type() == fs::file_type::regular) names.push_back(it->path().filename().string());
  if (error) throw FileError(folder, error.message());
  if (names.empty())
    throw BadInput(folder, {{"", "", "holds no texts", "put what visitors sent into it, a file each"}});
  if (names.size() > most_variants)
    throw BadInput(folder, {{"", std::to_string(names.size()), "more texts than one run takes", "part them"}});
  std::sort(names.begin(), names.end());
  return names;
}

/// What a text may change is what the author opens, though not only within its range: that is what the author asks
/// about.
VisitRow judged(const VisitsOptions& o, const std::string& name, const Published& published,
                const std::vector<OpenField>& fields) {
  VisitRow row;
  row.file = name;
  try {
    row.text = read_visit(read_file((fs::path(o.folder) / name).string(), largest_visit_bytes), name);
    if (row.text.kit != published.kit.name) {
      row.bad = "is of the kit " + row.text.kit;
      return row;
    }
    row.other_state = row.text.inputs != published.kit.input_sha256.substr(0, 12);
    KitOptions options;
    options.kit_path = o.kit;
    for (const auto& [pointer, value] : row.text.values) {
      if (std::none_of(fields.begin(), fields.end(),
                       [&, &at = pointer](const OpenField& f) { return f.pointer == at; }))
        throw BadInput(name, {{pointer, value, "is not open in this kit", ""}});
      options.settings.push_back(pointer + "=" + value);
    }
    options.settings.push_back("/open=[]");  // its ranges hold for the page, not for this question
    const Kit kit = read_kit_with(options);
    row.fit = fit_of(published.kit, *published.envelope, published.parts, kit, keyed_parts(kit, settle(kit)));
  } catch (const BadInput& e) {
    row.bad = to_text(e.problems.front());
  } catch (const Error& e) {
    row.bad = e.what();
  }
  return row;
}

std::string joined(const std::vector<std::string>& words, const char* between) {
  std::string text;
  for (const std::string& w : words) text += (text.empty() ? "" : between) + w;
  return text;
}

std::string value_of(const VisitRow& row, const std::string& pointer) {
  for (const auto& [at, value] : row.text.values)
    if (at == pointer) return value;
  return "";
}

/// What visitors measured of one value, beside the published one.
struct Measured {
  std::string label;
  std::string published;
  std::vector<double> values;  ///< sorted; numbers only
};

std::vector<Measured> measured(const std::vector<OpenField>& fields, const std::vector<VisitRow>& rows) {
  std::vector<Measured> list;
  for (const OpenField& f : fields) {
    Measured m{f.pointer, f.value, {}};
    for (const VisitRow& row : rows) {
      const Json value = row.bad.empty() ? Json::parse(value_of(row, f.pointer), nullptr, false) : Json();
      if (value.is_number()) m.values.push_back(value.get<double>());
    }
    std::sort(m.values.begin(), m.values.end());
    if (!m.values.empty()) list.push_back(std::move(m));
  }
  return list;
}

std::string table_of(const std::vector<VisitRow>& rows, const std::vector<OpenField>& fields) {
  std::string text = "file,result,with,why,parts,gap_mm,state";
  for (const OpenField& f : fields) text += "," + csv_cell(f.pointer);
  text += ",taken,message\n";
  for (const VisitRow& r : rows) {
    const bool good = r.bad.empty();
    text += csv_cell(r.file) + "," + (good ? to_text(r.fit.fits) : "bad") + "," + csv_cell(r.fit.with) + "," +
            csv_cell(r.fit.why) + "," + csv_cell(joined(r.fit.parts, " ")) + "," +
            (good ? decimal(r.fit.gap_mm, 4) : "") + "," + (r.other_state ? "other" : "this");
    for (const OpenField& f : fields) text += "," + csv_cell(value_of(r, f.pointer));
    text += "," + csv_cell(joined(r.text.taken, "; ")) + "," + csv_cell(r.bad) + "\n";
  }
  return text;
}

}  // namespace

int run_visits(Streams& streams, const VisitsOptions& o) {
  const std::vector<std::string> names = texts_in(o.folder);
  KitOptions options;
  options.kit_path = o.kit;
  options.jobs = o.jobs;
  std::optional<Bundle> bundle;
  Kit kit = read_kit_with(options, &bundle);
  const std::vector<OpenField> fields =
      open_fields(kit, bundle ? bundle->kit_text : read_file(o.kit, largest_kit_bytes));
  const MadeSet made = make_all(std::move(kit), options, streams);
  const auto published =
      published_set(made.kit, made.layout, keyed_parts(made.kit, made.layout), made.parts, made.report);

  std::vector<VisitRow> rows(names.size());
  Progress progress(streams, names.size(), true);
  for_each_index(names.size(), jobs_or_cores(o.jobs), [&](std::size_t i) {
    rows[i] = judged(o, names[i], *published, fields);
    progress.done(names[i]);
  });
  progress.clear();
  const std::string table = (fs::path(o.out) / "visitors.csv").string();
  std::error_code ignored;
  fs::create_directories(o.out, ignored);
  write_file(table, table_of(rows, fields));

  std::map<std::string, int> count;
  for (const VisitRow& r : rows) ++count[r.bad.empty() ? to_text(r.fit.fits) : "bad"];
  const std::vector<Measured> values = measured(fields, rows);
  const int bad = count["bad"];
  if (streams.json) {
    Json list = Json::array(), ranges = Json::array();
    for (const VisitRow& r : rows)
      list.push_back({{"file", r.file},
                      {"fits", r.bad.empty() ? Json(to_text(r.fit.fits)) : Json(nullptr)},
                      {"with", r.fit.with},
                      {"why", r.fit.why},
                      {"parts", r.fit.parts},
                      {"gap_mm", rounded_length(r.fit.gap_mm)},
                      {"other_state", r.other_state},
                      {"values", r.text.values},
                      {"taken", r.text.taken},
                      {"message", r.bad}});
    for (const Measured& m : values)
      ranges.push_back({{"pointer", m.label},
                        {"published", m.published},
                        {"count", m.values.size()},
                        {"least", rounded_6(m.values.front())},
                        {"middle", rounded_6(m.values[m.values.size() / 2])},
                        {"greatest", rounded_6(m.values.back())}});
    const Json document = {{"format", "bedwright/visits/1"},
                           {"texts", rows.size()},
                           {"as_published", count["as-published"]},
                           {"with_help", count["with-help"]},
                           {"needs_parts", count["needs-parts"]},
                           {"bad", bad},
                           {"measured", ranges},
                           {"rows", list}};
    streams.out << document.dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else {
    streams.out << rows.size() << (rows.size() == 1 ? " text: " : " texts: ") << count["as-published"]
                << " fit as published, " << count["with-help"] << " with a shim or other screws, "
                << count["needs-parts"] << " need their own parts, " << bad << " not read\n";
    for (const Measured& m : values)
      streams.out << "  " << m.label << ": " << decimal(m.values.front(), 4) << " to " << decimal(m.values.back(), 4)
                  << ", the middle one " << decimal(m.values[m.values.size() / 2], 4) << " (" << m.values.size()
                  << "; published " << m.published << ")\n";
    for (const VisitRow& r : rows)
      if (!r.bad.empty()) streams.out << "  " << r.file << ": " << r.bad << "\n";
    streams.out << "Table: " << table << "\n";
  }
  return bad > 0 ? exit_findings : exit_done;
}

}  // namespace bedwright
