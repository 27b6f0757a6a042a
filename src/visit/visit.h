// A stranger's visit to a published kit: the same kit with the stranger's values, made part by part, judged against the
// published set, and its files. What a published page runs in a browser, and nothing in it needs files or a clock.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "output/make_set.h"
#include "visit/fields.h"
#include "visit/fit.h"

namespace bedwright {

/// The published set, as all visits are judged against it.
struct Published {
  Kit kit;
  Layout layout;
  std::vector<Part> parts;  ///< as derived, with keys: what a visitor's are compared with
  std::vector<Part> made;   ///< as they were made: suited to how they are printed
  std::vector<JointSolution> joints;
  std::unique_ptr<Envelope> envelope;  ///< refers to this struct, which must stay where it is
};

/// From a set that was made whole; `parts` as keyed_parts gives them.
std::unique_ptr<Published> published_set(Kit kit, const Layout& layout, std::vector<Part> parts,
                                         const std::vector<MadePart>& made, const Report& report);

class Visit {
 public:
  /// Throws BadInput for a kit that is bad by itself.
  Visit(std::string kit_text, std::map<std::string, std::string> beside);

  const Kit& kit() const { return published_kit_; }
  const std::vector<OpenField>& fields() const { return fields_; }

  /// With the values that begin() took last.
  const Kit& kit_now() const { return stage_ == Stage::none ? published_kit_ : kit_; }

  /// Takes values; what was under way is dropped. Throws BadInput with every problem at its pointer, and then nothing
  /// has changed.
  void begin(const std::vector<Setting>& values);
  /// One part, or one part's comparison, or the checks: work of a few to some hundred milliseconds. False: all is done.
  bool step();
  /// Whether every part is built: scene() has them.
  bool built() const;
  /// What is needed to draw the machine: page_data without what the checks say.
  Json scene() const;

  /// Whether step() has said false since begin(): what stands below needs it.
  bool done() const { return stage_ == Stage::done; }

  /// The first finished visit must be the one without values: it is the published set.
  const Report& report() const { return *report_; }
  Json data() const;     ///< page_data
  Json verdict() const;  ///< {"fits", "with", "why", "gap_mm", "parts", "changes", "envelope"}
  bool errors() const;   ///< findings at error level: files() is empty then
  /// Every file of the set, as `make` writes it.
  const std::map<std::string, std::string>& files();
  /// The visitor's own kit: kit.json with the values in it, and the files that it names.
  std::map<std::string, std::string> kit_files() const;

 private:
  enum class Stage { none, building, comparing, judging, done };

  std::string kit_text_;
  std::map<std::string, std::string> beside_;
  Kit published_kit_;
  std::vector<OpenField> fields_;
  KeptParts kept_;

  Stage stage_ = Stage::none;
  std::size_t next_ = 0;
  std::vector<Setting> values_;
  Kit kit_;
  Layout layout_;
  std::vector<Part> parts_;
  std::vector<MadePart> made_;
  std::vector<Finding> failures_;
  std::optional<Report> report_;
  std::optional<std::map<std::string, std::string>> files_;

  std::unique_ptr<Published> published_;
  Json published_report_;
};

}  // namespace bedwright
