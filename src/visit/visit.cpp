#include "visit/visit.h"

#include <algorithm>

#include "base/error.h"
#include "base/numbers.h"
#include "checks/keyed_parts.h"
#include "output/changes.h"
#include "output/envelope_report.h"
#include "output/page.h"

namespace bedwright {
namespace {

// Parts kept from earlier values, so that going back and forth builds nothing; a few sets of the largest kits.
constexpr std::size_t most_kept = 200;

Kit read_visited(const std::string& text, const std::map<std::string, std::string>& beside,
                 const std::vector<Setting>& values) {
  return read_kit(text, "kit.json", Beside{"", true, beside}, values);
}

std::vector<PagePart> shown(const std::vector<MadePart>& made) {
  std::vector<PagePart> parts;
  for (const MadePart& p : made) parts.push_back({&p.report, &p.bytes});
  return parts;
}

}  // namespace

std::unique_ptr<Published> published_set(Kit kit, const Layout& layout, std::vector<Part> parts,
                                         const std::vector<MadePart>& made, const Report& report) {
  auto p = std::make_unique<Published>();
  p->kit = std::move(kit);
  p->layout = layout;
  p->parts = std::move(parts);
  for (const MadePart& part : made) p->made.push_back(part.report.part);
  p->joints = report.joints;
  p->envelope = std::make_unique<Envelope>(p->kit, p->layout, p->made, p->joints);
  return p;
}

Visit::Visit(std::string kit_text, std::map<std::string, std::string> beside)
    : kit_text_(std::move(kit_text)),
      beside_(std::move(beside)),
      published_kit_(read_visited(kit_text_, beside_, {})),
      fields_(open_fields(published_kit_, kit_text_)) {}

void Visit::begin(const std::vector<Setting>& values) {
  std::vector<Problem> problems = problems_of(fields_, values);
  if (!problems.empty()) throw BadInput("kit.json", std::move(problems));
  Kit kit = read_visited(kit_text_, beside_, values);
  Layout layout = settle(kit);
  std::vector<Part> parts;
  std::vector<Finding> failures;
  try {
    parts = keyed_parts(kit, layout);
  } catch (const CannotBuild& e) {
    failures.push_back(finding_of(e, ""));
  }
  kit_ = std::move(kit);
  layout_ = std::move(layout);
  parts_ = std::move(parts);
  failures_ = std::move(failures);
  values_ = values;
  made_.clear();
  report_.reset();
  files_.reset();
  next_ = 0;
  stage_ = parts_.empty() ? Stage::judging : Stage::building;
}

bool Visit::built() const {
  return stage_ == Stage::comparing || stage_ == Stage::judging || stage_ == Stage::done;
}

bool Visit::step() {
  switch (stage_) {
    case Stage::building: {
      const Part& part = parts_.at(next_);
      try {
        made_.push_back(make_part(kit_, layout_, part, &kept_));
      } catch (const CannotBuild& e) {
        failures_.push_back(finding_of(e, part.id));
      }
      if (++next_ < parts_.size()) return true;
      next_ = 0;
      stage_ = made_.empty() ? Stage::judging : Stage::comparing;
      return true;
    }
    case Stage::comparing:
      compare_made(made_, next_);
      if (++next_ == made_.size()) stage_ = Stage::judging;
      return true;
    case Stage::judging:
      report_ = assemble(kit_, layout_, made_, failures_);
      if (kept_.size() > most_kept) kept_.clear();
      for (const MadePart& p : made_)
        kept_[p.inputs_sha256] = {p.bytes, p.report.pose, std::make_shared<const Measurement>(p.measured)};
      if (!published_) {
        published_ = published_set(kit_, layout_, parts_, made_, *report_);
        published_report_ = report_document(*report_);
      }
      stage_ = Stage::done;
      return false;
    default:
      return false;
  }
}

Json Visit::scene() const {
  Report r;
  r.kit = kit_.name;
  r.revision = kit_.revision;
  r.title = kit_.title;
  r.layout = layout_;
  for (const MadePart& p : made_) r.parts.push_back(p.report);
  return page_data(kit_, r, shown(made_), PageReader::visitor);
}

Json Visit::data() const {
  return page_data(kit_, *report_, shown(made_), PageReader::visitor);
}

bool Visit::errors() const {
  return has_error(report_->findings) || made_.empty();
}

Json Visit::verdict() const {
  const Json now = report_document(*report_);
  const VisitFit fit = fit_of(published_->kit, *published_->envelope, published_->parts, kit_, parts_);
  return {{"fits", to_text(fit.fits)},
          {"with", fit.with},
          {"why", fit.why},
          {"gap_mm", rounded_length(fit.gap_mm)},
          {"parts", fit.parts},
          {"changed", !values_.empty()},
          {"errors", errors()},
          {"changes", changes_document(changes_between(published_report_, "published", now, "visitor"))},
          {"envelope", published_report_.value("fit_envelope", Json::array())}};
}

const std::map<std::string, std::string>& Visit::files() {
  if (!files_) files_ = errors() ? std::map<std::string, std::string>() : files_of(kit_, *report_, made_);
  return *files_;
}

std::map<std::string, std::string> Visit::kit_files() const {
  std::map<std::string, std::string> files = beside_;
  files["kit.json"] = kit_text_with(kit_text_, values_);
  return files;
}

}  // namespace bedwright
