#include "output/level_report.h"

#include <fmt/format.h>

#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "output/report.h"

namespace bedwright {
namespace {

std::string mm(double value) {
  return decimal(value, 3);
}

std::string um(double value) {
  return decimal(value, value < 9.95 && value > -9.95 ? 1 : 0);
}

struct Row {
  const char *key, *label, *cure;
  const MapTerm* term;
};

std::vector<Row> rows_of(const MapSplit& s, std::size_t mounts) {
  const char* const twist = mounts == 4   ? "only where bed or sheet gives"
                            : mounts == 3 ? "no, with three mounts"
                                          : "partly";
  return {{"offset", "offset at the middle", "no need: set the zero", &s.offset},
          {"tilt_x", "tilt x (right edge above left)", "yes", &s.tilt_x},
          {"tilt_y", "tilt y (rear edge above front)", "yes", &s.tilt_y},
          {"twist", "twist", twist, &s.twist},
          {"bow_x", "bow x (left and right edges above middle)", "no", &s.bow_x},
          {"bow_y", "bow y (front and rear edges above middle)", "no", &s.bow_y}};
}

std::string thickness_words(const ShimChoice& choice) {
  if (!choice.pieces.empty()) {
    std::string text;
    for (double piece : choice.pieces) text += (text.empty() ? "" : " + ") + mm(piece);
    return "stock " + text;
  }
  if (choice.layers == 0) return choice.mm > 0 ? "kept" : "no shim";
  return std::to_string(choice.layers) + (choice.layers == 1 ? " layer" : " layers");
}

ShimChoice choice_of(const LevelReport& r, std::size_t mount) {
  const int c = r.result.plan.choice[mount];
  return c < 0 ? ShimChoice{r.result.plan.shim_mm[mount], 0, {}} : r.input.choices[static_cast<std::size_t>(c)];
}

/// The layers of what already stands there, where it is a printed thickness.
int layers_of(const LevelReport& r, std::size_t mount) {
  for (const ShimChoice& c : r.input.choices)
    if (c.layers > 0 && std::fabs(c.mm - r.result.plan.shim_mm[mount]) < 1e-4) return c.layers;
  return 0;
}

std::string verdict(const LevelReport& r) {
  const LevelResult& result = r.result;
  if (result.leave_it) return "within 3 repeats' noise (" + mm(noise_to_leave * result.noise_mm) + " mm): leave it";
  return "range " + mm(result.range_mm) + " -> " + mm(result.plan.range_mm) + " mm";
}

const char* words_of(BedOnMounts::Kind kind) {
  switch (kind) {
    case BedOnMounts::Kind::rigid:
      return "rigid bed";
    case BedOnMounts::Kind::stated:
      return "bed and sheet as stiff as the kit says";
    default:
      return "bed that follows every mount";
  }
}

[[noreturn]] void refuse(const std::string& source, const std::string& pointer, const std::string& message) {
  throw BadInput(source, {{pointer, "", message, "give the file that `level --json` wrote before"}});
}

}  // namespace

Json reading_document(const MapReading& reading) {
  return {{"positive_is", reading.convention.positive_high ? "high" : "low"},
          {"turned_deg", 90 * reading.convention.quarter_turns},
          {"mirrored", reading.convention.mirrored},
          {"how", reading.how}};
}

std::string reading_text(const MapReading& reading) {
  return fmt::format("Map: a positive number means {}; turned by {} degrees, {} ({})\n",
                     reading.convention.positive_high ? "high" : "low", 90 * reading.convention.quarter_turns,
                     reading.convention.mirrored ? "mirrored" : "not mirrored", reading.how);
}

Json soft_foot_json(const std::vector<FootAdvice>& advice) {
  Json list = Json::array();
  for (const FootAdvice& a : advice)
    list.push_back({{"mount", a.mount},
                    {"gap_mm", rounded_length(a.gap_mm)},
                    {"difference_mm", rounded_length(a.difference_mm)},
                    {"soft", a.soft},
                    {"shim", !a.soft     ? "none"
                             : a.tapered ? "tapered"
                                         : "parallel"},
                    {"taper_um_per_mm", rounded_6(a.taper_um_per_mm)},
                    {"taper_toward_deg", rounded_6(a.taper_toward_deg)}});
  return list;
}

std::string soft_foot_text(const std::vector<FootAdvice>& advice) {
  if (advice.empty()) return "";
  std::string text = "Soft foot (gaps over " + mm(soft_foot_limit_mm) + " mm count)\n";
  bool first = true;
  for (const FootAdvice& a : advice) {
    text += fmt::format("  {:<12} gap {} mm: ", a.mount, mm(a.gap_mm));
    if (!a.soft)
      text += "good\n";
    else if (a.tapered)
      text += fmt::format("tapered shim, {} mm in the middle, {} um a mm thicker toward {} degrees from the right\n",
                          mm(a.gap_mm), um(a.taper_um_per_mm), decimal(a.taper_toward_deg, 0));
    else
      text += fmt::format("parallel shim of {} mm\n", mm(a.gap_mm));
    if (a.soft && first)
      text += "    start here; then take all gaps again: one soft foot shows at its neighbours too\n";
    first = false;
  }
  return text;
}

Json level_document(const LevelReport& r) {
  const LevelResult& result = r.result;
  const LevelInput& in = r.input;
  Json mounts = Json::array(), split = Json::object(), models = Json::array(), map = Json::array();
  for (std::size_t i = 0; i < in.mounts.size(); ++i) {
    const ShimChoice choice = choice_of(r, i);
    Json pieces = Json::array();
    for (double piece : choice.pieces) pieces.push_back(rounded_length(piece));
    mounts.push_back({{"id", in.mounts[i].id},
                      {"at_mm", point_json(in.mounts[i].at)},
                      {"shim_mm", rounded_length(result.plan.shim_mm[i])},
                      {"layers", layers_of(r, i)},
                      {"stock_mm", pieces},
                      {"now_mm", rounded_length(in.now_mm[i])},
                      {"influence", rounded_6(in.factor[i])},
                      {"influence_u", rounded_6(in.factor_u[i])}});
  }
  for (const Row& row : rows_of(result.split, in.mounts.size()))
    split[std::string(row.key) + "_um"] =
        row.term->known ? Json{{"value", rounded_6(row.term->um)}, {"u", rounded_6(row.term->u_um)}} : Json(nullptr);
  split["residual_rms_um"] = rounded_6(result.split.residual_rms_um);
  split["residual_max_um"] = rounded_6(result.split.residual_max_um);
  for (const ModelView& view : result.views)
    models.push_back({{"model", to_text(view.kind)},
                      {"range_mm", rounded_length(view.range_mm)},
                      {"rms_mm", rounded_length(view.rms_mm)}});
  for (std::size_t p = 0; p < in.map.at.size(); ++p)
    map.push_back({rounded_length(in.map.at[p].x), rounded_length(in.map.at[p].y), rounded_6(in.map.z[p]),
                   rounded_6(result.plan.predicted[p])});
  Json document = {
      {"format", "bedwright/level/1"},
      {"kit", r.kit},
      {"revision", r.revision},
      {"map_date", r.map_date},
      {"reading", reading_document(r.reading)},
      {"shim_at", r.shim_at},
      {"mounts", mounts},
      {"before", {{"range_mm", rounded_length(result.range_mm)}, {"rms_mm", rounded_length(result.rms_mm)}}},
      {"after",
       {{"range_mm", rounded_length(result.plan.range_mm)},
        {"rms_mm", rounded_length(result.plan.rms_mm)},
        {"band_mm", rounded_length(result.band_mm)}}},
      {"best_possible", {{"range_mm", rounded_length(result.best_range_mm)}}},
      {"noise_mm", rounded_6(result.noise_mm)},
      {"noise_u_mm", rounded_6(result.noise_u_mm)},
      {"noise_assumed", result.noise_assumed},
      {"repeats", in.map.repeats},
      {"split", split},
      {"models", models},
      {"seating_gap",
       {{"mm", rounded_length(result.gap.mm)},
        {"mount",
         result.gap.mount < 0 ? Json(nullptr) : Json(in.mounts[static_cast<std::size_t>(result.gap.mount)].id)}}},
      {"leave_it", result.leave_it},
      {"verdict", verdict(r)},
      {"map", map},
      {"soft_foot", soft_foot_json(r.soft_foot)},
      {"assumptions", r.assumptions}};
  if (r.loop)
    document["previous"] = {{"as_foretold", r.loop->as_foretold},
                            {"worst_mm", rounded_length(r.loop->worst_mm)},
                            {"rms_mm", rounded_length(r.loop->rms_mm)}};
  return document;
}

std::string level_text(const LevelReport& r) {
  const LevelResult& result = r.result;
  const LevelInput& in = r.input;
  std::string text = reading_text(r.reading);
  text += fmt::format("{} points, {} repeat{}; noise of one reading {} mm{}\n", in.map.at.size(), in.map.repeats,
                      in.map.repeats == 1 ? "" : "s", mm(result.noise_mm),
                      result.noise_assumed ? " (taken: one map cannot show it)" : "");
  if (in.map.drift_mm > 4 * result.noise_mm)
    text += fmt::format("The repeats drift by {} mm: the machine was still warming up. Wait, and map again.\n",
                        mm(in.map.drift_mm));
  if (r.loop) {
    text += fmt::format("Against what was foretold: {} mm off at worst, {} mm rms: {}\n", mm(r.loop->worst_mm),
                        mm(r.loop->rms_mm), r.loop->as_foretold ? "as foretold" : "outside the band foretold");
    if (!r.loop->as_foretold)
      text +=
          "  Look for a shim not in its place, dirt under it, or a screw not tight; the influence below has been "
          "corrected\n";
    for (std::size_t i = 0; i < in.mounts.size(); ++i)
      text += fmt::format("  {:<12} moves the bed {} times as much as the model says, give or take {}\n",
                          in.mounts[i].id, decimal(in.factor[i], 2), decimal(in.factor_u[i], 2));
  }
  text += "What the map is made of, um over the bed (give or take)            Shims cure it?\n";
  for (const Row& row : rows_of(result.split, in.mounts.size())) {
    if (row.term->known)
      text +=
          fmt::format("  {:<42} {:>6} ({:>4})        {}\n", row.label, um(row.term->um), um(row.term->u_um), row.cure);
    else
      text += fmt::format("  {:<42} {:>6}               {}\n", row.label, "-", "too few points to tell");
  }
  text += fmt::format("  {:<42} {:>6} rms, {} at most; no\n", "residual", um(result.split.residual_rms_um),
                      um(result.split.residual_max_um));
  if (!result.noise_assumed)
    text += fmt::format("  {:<42} {:>6} ({:>4})        no\n", "noise of one reading", um(1000 * result.noise_mm),
                        um(1000 * result.noise_u_mm));
  text += fmt::format("Range now {} mm; the best that any shims could reach: {} mm\n", mm(result.range_mm),
                      mm(result.best_range_mm));
  if (result.leave_it) {
    text += fmt::format("The best shims would gain {} mm: within 3 repeats' noise ({} mm): leave it\n",
                        mm(std::max(result.gain_mm, 0.0)), mm(noise_to_leave * result.noise_mm));
    return text + soft_foot_text(r.soft_foot);
  }
  text += "Shims (all there is to be under each mount, machine seen from the front)\n";
  for (std::size_t i = 0; i < in.mounts.size(); ++i) {
    const bool same = std::fabs(result.plan.shim_mm[i] - in.now_mm[i]) < 1e-6;
    text += fmt::format("  {:<12} {:>5} mm  {}{}\n", in.mounts[i].id, mm(result.plan.shim_mm[i]),
                        thickness_words(choice_of(r, i)),
                        in.now_mm[i] > 0 ? same ? " (as now)" : " (now " + mm(in.now_mm[i]) + " mm)" : "");
  }
  text += fmt::format("Foretold: range {} mm, rms {} mm; each point of the next map within {} mm of it\n",
                      mm(result.plan.range_mm), mm(result.plan.rms_mm), mm(result.band_mm));
  for (const ModelView& view : result.views)
    text += fmt::format("  {:<40} range {} mm\n", words_of(view.kind), mm(view.range_mm));
  if (in.mounts.size() > 3)
    text += result.gap.mount < 0
                ? std::string("  A rigid bed seats on all mounts\n")
                : fmt::format("  A rigid bed would miss {} by {} mm: do not close that with the screw\n",
                              in.mounts[static_cast<std::size_t>(result.gap.mount)].id, mm(result.gap.mm));
  text += soft_foot_text(r.soft_foot);
  for (const std::string& assumption : r.assumptions) text += "Assumed: " + assumption + "\n";
  return text;
}

Foretold read_foretold(const std::string& text, const std::string& source, const std::vector<Mount>& mounts,
                       std::vector<double>& shims_mm) {
  const Json document = Json::parse(text, nullptr, false);
  if (!document.is_object() || document.value("format", Json()) != "bedwright/level/1" || !document.contains("map"))
    refuse(source, "", "is no result of `level`");
  Foretold f;
  try {
    for (const Json& row : document.at("map")) {
      f.at.push_back({row.at(0).get<double>(), row.at(1).get<double>()});
      f.before.push_back(row.at(2).get<double>());
      f.predicted.push_back(row.at(3).get<double>());
    }
    f.band_mm = document.at("after").at("band_mm").get<double>();
    f.noise_mm = document.at("noise_mm").get<double>();
    f.repeats = std::max(1, document.at("repeats").get<int>());
    shims_mm.assign(mounts.size(), 0);
    f.change_mm = f.factor = f.factor_u = shims_mm;
    std::vector<char> seen(mounts.size(), 0);
    for (const Json& m : document.at("mounts"))
      for (std::size_t i = 0; i < mounts.size(); ++i) {
        if (mounts[i].id != m.at("id").get<std::string>()) continue;
        seen[i] = 1;
        shims_mm[i] = m.at("shim_mm").get<double>();
        f.change_mm[i] = shims_mm[i] - m.at("now_mm").get<double>();
        f.factor[i] = m.at("influence").get<double>();
        f.factor_u[i] = m.at("influence_u").get<double>();
      }
    for (std::size_t i = 0; i < mounts.size(); ++i)
      if (!seen[i] || document.at("mounts").size() != mounts.size())
        refuse(source, "/mounts", "has other mounts than this kit");
    for (std::size_t i = 0; i < mounts.size(); ++i)
      if (!(f.factor_u[i] > 0) || !(f.band_mm > 0) || !(f.noise_mm > 0))
        refuse(source, "", "has a number that cannot be");
  } catch (const nlohmann::json::exception&) {
    refuse(source, "", "is not as `level` writes it");
  }
  return f;
}

}  // namespace bedwright
