// bedwright publish: the set as one archive that others can judge, print, fit and make again.
#include <algorithm>
#include <filesystem>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "base/sha256.h"
#include "cli/parallel.h"
#include "cli/run.h"
#include "output/bundle.h"
#include "output/trials.h"
#include "output/write_set.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

struct PublishOptions {
  std::string kit, out, pictures;
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

int run_publish(Streams& streams, const PublishOptions& o) {
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

  const std::string out = o.out.empty() ? kit.name + "-" + kit.revision + ".zip" : o.out;
  std::error_code ignored;
  if (fs::exists(out, ignored) && !begins_as_bundle(out))
    throw FileError(out, "is there already and is no archive; choose another --out");

  KitOptions options;
  options.kit_path = o.kit;
  options.jobs = o.jobs;
  const MadeSet made = make_all(std::move(kit), options, streams);
  const bool errors = has_error(made.report.findings);
  std::string archive;
  Files files;
  if (!errors) {
    source.set = files_of(made.kit, made.report, made.parts);
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
    const Json document = {{"format", "bedwright/publish/1"},
                           {"kit", made.kit.name},
                           {"revision", made.kit.revision},
                           {"written", !errors},
                           {"sha256", errors ? Json() : Json(sha256(archive))},
                           {"bytes", archive.size()},
                           {"files", list},
                           {"untested", untested}};
    streams.out << document.dump(2, ' ', false, Json::error_handler_t::replace) << "\n";
  } else if (errors) {
    for (const Finding& f : made.report.findings)
      if (f.severity == Severity::error) streams.out << "error " << f.code << ": " << f.message << ".\n";
    streams.out << "Nothing was published: these parts cannot be made or used as drawn.\n";
  } else {
    streams.out << out << ": " << made.kit.name << " revision " << made.kit.revision << ", " << files.size()
                << " files, " << archive.size() << " bytes\n"
                << "  SHA-256 " << sha256(archive) << "\n";
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
  app->add_option("--pictures", o->pictures, "Folder of pictures to put in: travel.jpg, fit.jpg, ...")->type_name("DIR");
  app->add_option("--jobs", o->jobs, "Parts made at once; default: one a core. The archive does not depend on it")
      ->type_name("N")
      ->check(CLI::Range(1, most_jobs));
  app->footer(
      "Examples:\n"
      "  bedwright publish my-machine.json\n"
      "  bedwright publish my-machine.json --out for-others.zip --pictures pictures\n"
      "  bedwright make for-others.zip --set /frame/dome/radius_mm=2450\n\n"
      "What the kit does not call tested is called UNTESTED in the bundle. With findings at error level nothing is\n"
      "written, and the exit status is 1.");
  return {app, [o](Streams& streams) { return run_publish(streams, *o); }};
}

}  // namespace bedwright
