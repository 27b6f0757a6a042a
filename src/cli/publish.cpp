// bedwright publish: the set as one archive that others can judge, print, fit and make again.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "base/sha256.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "output/bundle.h"
#include "output/trials.h"
#include "output/write_set.h"
#include "visit/visitor_page.h"

namespace bedwright {

/// What the program carries for pages; written by the build.
std::string_view browser_file(std::string_view name);

namespace {

namespace fs = std::filesystem;

struct PublishOptions {
  std::string kit, out, pictures, page;
  int jobs = 0;
};

constexpr std::size_t largest_named_file = std::size_t(64) << 20;

Files pictures_in(const std::string& folder) {
  Files pictures;
  if (folder.empty()) return pictures;
  std::error_code error;
  std::vector<std::string> names;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    const std::string name = it->path().filename().string();
    if (name == "README.md") continue;
    if (it->symlink_status().type() != fs::file_type::regular)
      throw FileError(it->path().string(), "is no plain file; put the pictures themselves there");
    names.push_back(name);
  }
  if (error) throw FileError(folder, error.message());
  std::sort(names.begin(), names.end());
  for (const std::string& name : names)
    pictures[name] = read_file((fs::path(folder) / name).string(), largest_picture_bytes);
  return pictures;
}

bool begins_as_page(const std::string& path) {
  constexpr std::string_view first = "<!DOCTYPE html>";
  std::ifstream file(path, std::ios::binary);
  std::string begin(first.size(), '\0');
  return file.read(begin.data(), static_cast<std::streamsize>(begin.size())) && begin == first;
}

int run_publish(Streams& streams, const PublishOptions& o) {
  VisitorPageSource page;
  page.file = browser_file;
  if (!o.page.empty() && !has_browser_core(page))
    throw BadUsage(
        "--page: this bedwright was built without the core for browsers; run scripts/setup (or apt-get install "
        "emscripten), then build it again");
  BundleSource source;
  source.kit_text = read_file(o.kit, largest_kit_bytes);
  const std::string parent = fs::path(o.kit).parent_path().string();
  Beside beside{parent.empty() ? "." : parent, false, {}};
  Kit kit = read_kit(source.kit_text, o.kit, beside);
  if (kit.publish.licence_file.empty())
    throw BadInput(o.kit, {{"/publish/licence_file", "", "is missing: without terms nobody may use what you publish",
                            "put a licence's text beside the kit and name the file"}});
  // What is read from here on is what goes in: another writer cannot make the bundle disagree with its own set.
  for (const std::string& name : kit.named_files)
    source.named[fs::path(name).lexically_normal().generic_string()] =
        read_file((fs::path(beside.folder) / name).string(), largest_named_file);
  kit = read_kit(source.kit_text, o.kit, Beside{"", true, source.named});
  source.pictures = pictures_in(o.pictures);

  const bool archive_wanted = o.page.empty() || !o.out.empty();
  const std::string out = o.out.empty() ? kit.name + "-" + kit.revision + ".zip" : o.out;
  std::error_code ignored;
  if (archive_wanted && fs::exists(out, ignored) && !begins_as_bundle(out))
    throw FileError(out, "is there already and is no archive; choose another --out");

  if (!o.page.empty() && fs::exists(o.page, ignored) && !begins_as_page(o.page))
    throw FileError(o.page, "is there already and is no page; choose another --page");

  KitOptions options;
  options.kit_path = o.kit;
  options.jobs = o.jobs;
  const MadeSet made = make_all(std::move(kit), options, streams);
  const bool errors = has_error(made.report.findings);
  std::string archive;
  Files files;
  std::string page_text;
  if (!errors && !o.page.empty()) {
    page.kit_text = source.kit_text;
    page.beside = source.named;
    std::vector<PagePart> shown;
    for (const MadePart& p : made.parts) shown.push_back({&p.report, &p.bytes});
    page_text = visitor_page_html(made.kit, made.report, shown, page);
    write_file(o.page, page_text);
  }
  if (!errors && archive_wanted) {
    source.set = files_of(made.kit, made.report, made.parts, tasks_on(jobs_or_cores(o.jobs)));
    files = bundle_files(made.kit, made.report, source);
    archive = to_bundle(made.kit, files);
    write_file(out, archive);
  }
  std::vector<std::string> untested;
  for (const Trial& t : trials())
    if (!result_of_trial(made.kit, t.id)) untested.push_back(t.id);
  if (streams.json) {
    Json list = Json::array();
    for (const auto& [name, bytes] : files) list.push_back({{"name", name}, {"bytes", bytes.size()}, {"sha256", sha256(bytes)}});
    const auto written = [&](bool wanted, const std::string& bytes) {
      return wanted && !errors ? Json{{"bytes", bytes.size()}, {"sha256", sha256(bytes)}} : Json(nullptr);
    };
    const bool archived = archive_wanted && !errors;
    const Json document = {{"format", "bedwright/publish/1"},
                           {"kit", made.kit.name},
                           {"revision", made.kit.revision},
                           {"written", !errors},
                           {"sha256", archived ? Json(sha256(archive)) : Json()},
                           {"bytes", archive.size()},
                           {"files", list},
                           {"page", written(!o.page.empty(), page_text)},
                           {"untested", untested}};
    streams.out << document.dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else if (errors) {
    for (const Finding& f : made.report.findings)
      if (f.severity == Severity::error) streams.out << "error " << f.code << ": " << f.message << ".\n";
    streams.out << "Nothing was published: these parts cannot be made or used as drawn.\n";
  } else {
    if (archive_wanted)
      streams.out << out << ": " << made.kit.name << " revision " << made.kit.revision << ", " << files.size()
                  << " files, " << archive.size() << " bytes\n"
                  << "  SHA-256 " << sha256(archive) << "\n";
    if (!o.page.empty()) {
      const std::size_t open = made.kit.open.size();
      streams.out << o.page << ": a page that makes " << made.kit.name << " revision " << made.kit.revision
                  << " for other machines, " << page_text.size() << " bytes; " << open
                  << (open == 1 ? " value is" : " values are") << " open\n";
      if (open == 0)
        streams.out << "  Nobody can change anything on it: name values in the kit's \"open\", for example "
                       "/frame/dome/radius_mm.\n";
    }
    if (!untested.empty()) {
      streams.out << "  UNTESTED:";
      for (std::size_t i = 0; i < untested.size(); ++i) streams.out << (i ? ", " : " ") << untested[i];
      streams.out << "\n";
    }
  }
  return errors ? exit_findings : exit_done;
}

}  // namespace

Command add_publish(CLI::App& program) {
  auto o = std::make_shared<PublishOptions>();
  CLI::App* app = program.add_subcommand("publish", "Pack a kit's whole set for others: one archive that can be made again");
  app->add_option("KIT.json", o->kit, "The kit file; its publish section names the licence and what was tested")->required();
  app->add_option("--out", o->out, "The archive; default: KIT-REVISION.zip")->type_name("FILE.zip");
  app->add_option("--page", o->page,
                  "One page for any browser that makes these parts for other people's measures; without --out no archive")
      ->type_name("FILE.html");
  app->add_option("--pictures", o->pictures, "Folder of pictures to put in: travel.jpg, fit.jpg, ...")->type_name("DIR");
  app->add_option("--jobs", o->jobs, "Parts made at once; default: one a core. The archive does not depend on it")
      ->type_name("N")
      ->check(CLI::Range(1, most_jobs));
  app->footer(
      "Examples:\n"
      "  bedwright publish my-machine.json\n"
      "  bedwright publish my-machine.json --out for-others.zip --pictures pictures\n"
      "  bedwright publish my-machine.json --page my-machine.html\n"
      "  bedwright make for-others.zip --set /frame/dome/radius_mm=2450\n\n"
      "What the kit does not call tested is called UNTESTED in the bundle. With findings at error level nothing is\n"
      "written, and the exit status is 1.");
  return {app, [o](Streams& streams) { return run_publish(streams, *o); }};
}

}  // namespace bedwright
