// bedwright batch: one kit a row, each made as `make` makes it.
#include <filesystem>
#include <memory>
#include <ostream>
#include <sstream>

#include "base/error.h"
#include "base/numbers.h"
#include "cli/batch_visits.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "output/variants.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct BatchOptions {
  std::string table, kit, out, shard;
  bool resume = false, rebuild = false;
  int jobs = 0;
};

constexpr std::size_t listed_failures = 20;

struct Shard {
  std::size_t number = 1, of = 1;
};

Shard shard_of(const std::string& text) {
  if (text.empty()) return {};
  Shard s;
  char slash = 0;
  std::istringstream in(text);
  in.imbue(std::locale::classic());
  if (text.find('-') != text.npos || !(in >> s.number >> slash >> s.of) || slash != '/' || !in.eof() || s.number < 1 ||
      s.number > s.of || s.of > most_variants)
    throw BadUsage("--shard " + text + ": write K/N, the K-th of N parts of the table, for example 3/8");
  return s;
}

/// The set's report, if the files are all that it names as they were made from this very kit.
std::optional<Json> whole_report(const Files& files, const std::string& input_sha256) {
  const auto text = files.find("report.json");
  if (text == files.end()) return {};
  Json report = Json::parse(text->second, nullptr, false);
  if (!report.is_object() || !is_whole(report, input_sha256, files)) return {};
  return report;
}

std::vector<std::string> as_text(const std::vector<Setting>& settings) {
  std::vector<std::string> text;
  for (const Setting& s : settings) text.push_back(s.first + "=" + s.second);
  return text;
}

VariantResult make_variant(const BatchOptions& o, const Variant& variant, Streams& streams) {
  const std::string folder = (fs::path(o.out) / variant.name).string();
  Streams quiet{streams.in, streams.out, streams.err, false, false};
  KitOptions kit;
  kit.kit_path = o.kit;
  kit.settings = as_text(variant.settings);
  kit.jobs = 1;
  try {
    Kit variant_kit = read_kit_with(kit);
    KeptParts kept;
    if (!o.rebuild) {
      const Files files = files_of_set(folder);
      if (o.resume)
        if (const auto report = whole_report(files, variant_kit.input_sha256))
          return result_of(*report, VariantResult::Kind::kept);
      kept = kept_parts(files);
    }
    const MadeSet set = make_all(std::move(variant_kit), kit, quiet, kept);
    const bool errors = has_error(set.report.findings);
    VariantResult result =
        result_of(report_document(set.report), errors ? VariantResult::Kind::findings : VariantResult::Kind::made);
    if (!errors) write_set(folder, files_of(set.kit, set.report, set.only_parts));
    return result;
  } catch (const BadInput& e) {
    VariantResult bad;
    bad.kind = VariantResult::Kind::bad;
    bad.message = to_text(e.problems.front()) +
                  (e.problems.size() > 1 ? " (and " + std::to_string(e.problems.size() - 1) + " more)" : "");
    return bad;
  } catch (const Error& e) {  // a folder that is not ours, a full disk, a part that cannot be: the other rows go on
    VariantResult bad;
    bad.kind = VariantResult::Kind::bad;
    bad.message = e.what();
    return bad;
  }
}

int run_batch(Streams& streams, const BatchOptions& o) {
  std::error_code no_folder;
  if (fs::is_directory(o.table, no_folder)) {
    if (!o.shard.empty() || o.resume || o.rebuild)
      throw BadUsage("--shard, --resume and --rebuild are for tables; " + o.table + " is a folder of visitors' texts");
    return run_visits(streams, {o.table, o.kit, o.out, o.jobs});
  }
  const Shard shard = shard_of(o.shard);
  KitOptions base;
  base.kit_path = o.kit;
  std::optional<Bundle> bundle;
  read_kit_with(base, &bundle);  // a kit that is bad by itself is told once, not once a row
  const std::string kit_text = bundle ? bundle->kit_text : read_file(o.kit, largest_kit_bytes);
  const std::vector<Variant> all = read_variants(read_file(o.table, largest_variants_bytes), o.table, kit_text);
  std::vector<Variant> mine;
  for (std::size_t i = shard.number - 1; i < all.size(); i += shard.of) mine.push_back(all[i]);

  std::vector<VariantResult> results(mine.size());
  const int jobs = jobs_or_cores(o.jobs);
  Progress progress(streams, mine.size(), true);
  for_each_index(mine.size(), jobs, [&](std::size_t i) {
    results[i] = make_variant(o, mine[i], streams);
    progress.done(mine[i].name);
  });
  progress.clear();
  const std::string table =
      (fs::path(o.out) / (shard.of == 1 ? std::string("results.csv")
                                        : "results-" + std::to_string(shard.number) + "-of-" +
                                              std::to_string(shard.of) + ".csv"))
          .string();
  std::error_code ignored;
  fs::create_directories(o.out, ignored);
  write_file(table, results_csv(mine, results));

  std::size_t count[4] = {0, 0, 0, 0};
  for (const VariantResult& r : results) ++count[static_cast<std::size_t>(r.kind)];
  const std::size_t failed = count[2] + count[3];
  if (streams.json) {
    Json rows = Json::array();
    for (std::size_t i = 0; i < mine.size(); ++i)
      rows.push_back({{"line", mine[i].line},
                      {"set", mine[i].name},
                      {"result", to_text(results[i].kind)},
                      {"parts", results[i].parts},
                      {"mass_g", rounded_6(results[i].mass_g)},
                      {"errors", results[i].errors},
                      {"warnings", results[i].warnings},
                      {"message", results[i].message}});
    const Json document = {{"format", "bedwright/batch/1"}, {"shard", {shard.number, shard.of}}, {"rows", rows}};
    streams.out << document.dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else {
    streams.out << mine.size() << (mine.size() == 1 ? " set: " : " sets: ") << count[0] << " made";
    if (o.resume) streams.out << ", " << count[1] << " there already";
    streams.out << ", " << count[2] << " with findings at error level, " << count[3] << " not made\n";
    std::size_t listed = 0;
    for (std::size_t i = 0; i < mine.size() && listed < listed_failures; ++i) {
      if (results[i].kind != VariantResult::Kind::findings && results[i].kind != VariantResult::Kind::bad) continue;
      ++listed;
      streams.out << "  line " << mine[i].line << " " << mine[i].name << ": " << results[i].message << "\n";
    }
    if (failed > listed) streams.out << "  and " << failed - listed << " more: see the table\n";
    streams.out << "Table: " << table << "\n";
  }
  return failed > 0 ? exit_findings : exit_done;
}

}  // namespace

Command add_batch(CLI::App& program) {
  auto o = std::make_shared<BatchOptions>();
  CLI::App* app = program.add_subcommand("batch", "Make many variants of a kit: one a row of a table");
  app->add_option("VARIANTS.csv", o->table, "First line: JSON pointers; each further line: the values of one kit. Or a folder of texts from a published page")
      ->required();
  app->add_option("--kit", o->kit, "The kit that the rows change, or a bundle of it")->required()->type_name("KIT.json");
  app->add_option("--out", o->out, "Folder for the sets: DIR/KIT-REVISION each")->required()->type_name("DIR");
  app->add_option("--shard", o->shard, "Make only the K-th of N parts of the table: every N-th row, from the K-th on")
      ->type_name("K/N");
  app->add_flag("--resume", o->resume, "Leave sets alone that are there, whole, and made from the same values");
  app->add_flag("--rebuild", o->rebuild, "Build every part anew, whatever earlier runs left")->excludes("--resume");
  app->add_option("--jobs", o->jobs, "Sets made at once; default: one a core. The files do not depend on it")
      ->type_name("N")
      ->check(CLI::Range(1, most_jobs));
  app->footer(
      "Examples:\n"
      "  bedwright batch frames.csv --kit my-machine.json --out sets\n"
      "  bedwright batch frames.csv --kit my-machine.json --out sets --resume\n"
      "  bedwright batch frames.csv --kit my-machine.json --out sets --shard 3/8\n"
      "  bedwright batch texts --kit my-machine.json --out judged\n\n"
      "A row that cannot be made does not stop the rest; exit status 1 says that there was one. Two rows of one\n"
      "kit and revision are refused before any work. The table of results is DIR/results.csv.\n"
      "A folder of visitors' texts makes no sets: DIR/visitors.csv says which frames the published set fits.");
  return {app, [o](Streams& streams) { return run_batch(streams, *o); }};
}

}  // namespace bedwright
