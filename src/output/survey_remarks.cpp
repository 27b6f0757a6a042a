#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "output/survey_report.h"

namespace bedwright {
namespace {

// Limits of good sense, common practice, no source.
constexpr double much_doubt_mm = 0.1;  // of height at the corners: half a printed layer
constexpr double many_outliers = 0.3;  // share; the start is sure up to 0.45
constexpr double leaning_deg = 0.5;
constexpr double few_freedom = 5;

std::string mm(double v, int places = 2) {
  return decimal(v, places) + " mm";
}

class Remarks {
 public:
  explicit Remarks(SurveyReport& report) : r_(report), s_(report.survey) {}

  void all() {
    crown();
    unseen();
    doubt();
    set_apart();
    standing();
    scale();
    saddle();
  }

 private:
  void say(const char* code, Severity severity, const std::string& message, double value, double limit,
           const char* unit, const std::string& remedy) {
    r_.findings.push_back({code, severity, "", "", message, value, limit, unit, remedy});
  }

  void crown() {
    if (!r_.stated_crown_up || s_.shape == FitShape::flat || *r_.stated_crown_up == s_.crown_up) return;
    // A weak bow has no sure side.
    if (std::fabs(s_.curvature) < s_.factor * s_.curvature_u) return;
    const bool up = *r_.stated_crown_up;
    say("survey-crown", Severity::error,
        std::string("the kit states crown ") + (up ? "up" : "down") + ", but these measurements show a " +
            (s_.crown_up ? "crown: the middle is higher than the rim" : "bowl: the middle is lower than the rim"),
        s_.radius_mm, 0, "mm",
        r_.source == SurveySource::readings
            ? "check which face was measured; if it is so as installed, run again with --crown " +
                  std::string(up ? "down" : "up")
            : "if the gauge counts downwards add --positive-is low; if the sheet is so as installed, add --crown " +
                  std::string(up ? "down" : "up"));
  }

  void unseen() {
    if (s_.twist_mm) return;
    say("saddle-unseen", Severity::warning,
        r_.source == SurveySource::readings
            ? "these readings cannot see a saddle: a sheet twisted about X or Y reads flat along both"
            : "these points cannot see a saddle: they are too few, or all lie along X and Y through the middle",
        0, 0, "",
        r_.source == SurveySource::readings ? "lay the straightedge along both diagonals too: --along d1 and --along d2"
                                            : "add points near all four corners");
  }

  void doubt() {
    const double doubt = corner_doubt_mm(r_);
    // Where the sphere is not believed, what it leaves out is no doubt about the shape that is.
    if (s_.shape == FitShape::sphere && doubt > much_doubt_mm)
      say("dome-unsure", Severity::warning, "the dome is only known to " + mm(doubt) + " of height at the corners",
          doubt, much_doubt_mm, "mm",
          r_.source == SurveySource::readings ? "use a longer straightedge, or finer feelers (--gap-u says how fine)"
                                              : "take more points, farther out, or a steadier gauge");
    if (s_.freedom > 0 && s_.freedom < few_freedom)
      say("few-points", Severity::warning,
          "only " + decimal(s_.freedom, 0) + " more points than unknowns: the uncertainty is itself a guess",
          s_.freedom, few_freedom, "", "take 9 points or more over the sheet");
    if (s_.points_per_share > 2)
      say("neighbours-alike", Severity::note,
          "neighbouring points share their error: about " + decimal(s_.points_per_share, 0) +
              " count as one, and the uncertainty allows for it",
          s_.points_per_share, 1, "", "");
  }

  void set_apart() {
    const double share = s_.points > 0 ? static_cast<double>(s_.outliers) / static_cast<double>(s_.points) : 0;
    if (share > many_outliers)
      say("many-outliers", Severity::warning,
          decimal(100 * share, 0) + " % of the points do not lie on the surface that the others agree on", share,
          many_outliers, "", "cut the scan to the sheet with --region, and look at the picture (--picture)");
  }

  void standing() {
    if (!s_.apex_u || s_.shape == FitShape::flat) return;
    const double lean =
        std::sqrt(s_.sphere.lean_x * s_.sphere.lean_x + s_.sphere.lean_y * s_.sphere.lean_y) / rad_per_deg;
    const bool outside = s_.apex.x < s_.low.x || s_.apex.x > s_.high.x || s_.apex.y < s_.low.y || s_.apex.y > s_.high.y;
    if (!outside && lean < leaning_deg) return;
    say("not-level", outside ? Severity::warning : Severity::note,
        outside ? "the apex lies outside the points: the sheet leans " + decimal(lean, 2) + " degrees to the XY plane"
                : "the sheet leans " + decimal(lean, 2) + " degrees in the middle of the points, which moves the apex",
        lean, leaning_deg, "deg",
        "if Z is not square to the machine, add --level, or name three features (--origin, --on-x, --on-plane)");
  }

  void scale() {
    if (r_.source != SurveySource::scan) return;
    const double pitch =
        r_.pitch_mm ? std::max(r_.pitch_mm->x, r_.pitch_mm->y) : std::max(s_.high.x - s_.low.x, s_.high.y - s_.low.y);
    const std::string at = " at " + decimal(pitch, 0) + " mm";
    if (!r_.scaled) {
      say("scale-unknown", Severity::warning,
          "nothing fixes this scan's scale: 1 % would be " + mm(pitch / 100) + at + ", and 1 % of the radius", 0, 0, "",
          "measure two lengths at right angles by caliper and give them as --known");
      return;
    }
    const ScaleFix& f = r_.scale;
    const double found =
        std::max(std::fabs(f.x - 1), std::fabs(f.y - 1)) * pitch + std::fabs(f.skew_deg) * rad_per_deg * pitch;
    const double left = normal_factor * std::max(f.x_u, f.y_u) * pitch;
    std::string words = "the scan was off by " + mm(found) + at;
    if (r_.float_mm) {
      words += found > *r_.float_mm ? ": more than the " : ", within the ";
      words += mm(*r_.float_mm) + " these holes allow (" + r_.float_words + ")";
    }
    words += "; it is corrected, to within " + mm(left);
    const bool wide = r_.float_mm && left > *r_.float_mm;
    const bool off = r_.float_mm && found > *r_.float_mm;
    say("scan-scale", wide || off ? Severity::warning : Severity::note, words, found, r_.float_mm.value_or(0), "mm",
        wide || off ? "measure the hole pitch by caliper; do not take it from this scan" : "");
    if (!f.both_axes)
      say("scale-one-way", Severity::warning, "the known length fixes the scale along its own direction only", 0, 0, "",
          "give a second --known at right angles to it");
  }

  void saddle() {
    if (!s_.kept_as_points) return;
    say("kept-as-points", Severity::note,
        std::string("no formula in a kit holds ") + (s_.shape == FitShape::saddle     ? "a twist"
                                                     : s_.shape == FitShape::cylinder ? "a cylinder that lies askew"
                                                                                      : "these bumps") +
            "; --write stores it as a measured surface, a file of points beside the kit",
        0, 0, "", "");
  }

  static constexpr double normal_factor = 1.96;  // half width of a 95 % interval, normal distribution
  SurveyReport& r_;
  const Survey& s_;
};

}  // namespace

double corner_doubt_mm(const SurveyReport& report) {
  const Survey& s = report.survey;
  const Vec2 half = report.pitch_mm ? 0.5 * *report.pitch_mm : Vec2{(s.high.x - s.low.x) / 2, (s.high.y - s.low.y) / 2};
  return dot(half, half) / 2 * s.factor * s.curvature_u;
}

void remark(SurveyReport& report) {
  Remarks(report).all();
}

}  // namespace bedwright
