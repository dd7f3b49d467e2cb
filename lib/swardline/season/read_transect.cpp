#include "swardline/season/read_transect.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/dates.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr Range metres{.low = 0, .high = 10000, .above_low = true};
constexpr Range degrees{.low = 0, .high = 360, .below_high = true};

/// A number of degrees, or one of the words; nothing where the key is left out or wrong.
struct WordOrDegrees {
  std::optional<std::size_t> word;
  std::optional<double> value;
};
WordOrDegrees word_or_degrees(const TomlTable& at, std::string_view key,
                              const std::vector<std::string>& words) {
  const toml::node* node = at.find(key);
  if (!node) return {};
  if (node->is_string()) return {at.choice(key, words), {}};
  return {{}, at.number(key, degrees)};
}

std::optional<std::array<double, 2>> frame_size(const TomlTable& at) {
  const toml::node* node = at.find("frame_m");
  if (!node) return {};
  if (!node->is_array()) {
    const auto side = at.number("frame_m", metres);
    if (!side) return {};
    return std::array{*side, *side};
  }
  const auto sides = at.numbers("frame_m", metres);
  if (!sides) return {};
  if (sides->size() == 2) return std::array{(*sides)[0], (*sides)[1]};
  at.stop(at.place("frame_m"), "frame size", "frame_m is the frame's size across and along the line.",
          "Write frame_m = [0.5, 1], or one number for a square.");
  return {};
}

void read_frames(const TomlTable& at, TransectSpec& transect) {
  const auto step = at.number("step_m", metres);
  const auto size = frame_size(at);
  if (at.has("step_m") != at.has("frame_m"))
    at.stop(at.place(at.has("step_m") ? "step_m" : "frame_m"), "frames",
            at.has("step_m") ? "step_m is given, but not how large a frame is."
                             : "frame_m is given, but not how far frames lie apart.",
            at.has("step_m") ? "Add frame_m = [0.5, 1]." : "Add step_m = 5.");
  if (!step || !size) return;
  transect.frames = FrameSpec{*step, *size};
  transect.width_m = (*size)[0];
  const double along = (*size)[1], length = transect.length_m;
  if (along > *step)
    at.stop(at.place("step_m"), "frames overlap",
            fmt::format("frames would overlap: each is {} m along the line, and they begin every {} m.",
                        shortest(along), shortest(*step)),
            fmt::format("Write step_m = {} or more, or shorter frames.", shortest(along)));
  else if (length > 0 && along > length)
    at.stop(
        at.place("frame_m"), "line shorter than one frame",
        fmt::format("the line of {} m is shorter than one frame of {} m.", shortest(length), shortest(along)),
        "Write a longer length_m, or shorter frames.");
  else if (length > 0 && *step > length)
    at.stop(at.place("step_m"), "step longer than the transect",
            fmt::format("step_m = {} is more than length_m = {}: a line would hold one frame only.",
                        shortest(*step), shortest(length)),
            "Write a shorter step, or use plots.");
}

void read_counted(const TomlTable& at, TransectSpec& transect) {
  const auto width = at.number("width_m", metres);
  const bool frames = at.has("step_m") || at.has("frame_m");
  read_frames(at, transect);
  if (at.has("width_m") && frames) {
    at.stop(
        at.place("width_m"), "belt and frames", "width_m and frames are both given.",
        "Keep one: width_m for a belt that is counted whole, step_m and frame_m for frames along the line.");
  } else if (!at.has("width_m") && !frames) {
    at.stop(at.place(), "nothing to count", "says neither how wide the belt is nor which frames are counted.",
            "Write width_m = 2, or step_m = 5 with frame_m = [0.5, 1].");
  } else if (width) {
    transect.width_m = *width;
    if (transect.length_m > 0 && *width > transect.length_m)
      at.stop(at.place("width_m"), "transect size",
              fmt::format("the belt is wider ({} m) than it is long ({} m).", shortest(*width),
                          shortest(transect.length_m)),
              "Swap the two, or use plots.");
  }
}

void read_lay(const TomlTable& at, TransectSpec& transect) {
  if (const auto lay = at.choice("lay", {"point", "baseline"}))
    transect.lay = static_cast<TransectSpec::Lay>(*lay);
  const auto bearing = word_or_degrees(at, "bearing", {"random"});
  transect.bearing_deg = bearing.value;
  const auto baseline = word_or_degrees(at, "baseline", {"contour", "longest axis"});
  if (baseline.value) transect.baseline_deg = *baseline.value;
  if (baseline.word)
    transect.baseline =
        *baseline.word == 0 ? TransectSpec::Baseline::contour : TransectSpec::Baseline::longest_axis;
  const bool along_baseline = transect.lay == TransectSpec::Lay::baseline;
  if (along_baseline && !at.has("baseline"))
    at.stop(at.place("lay"), "baseline direction missing",
            "lay = \"baseline\" does not say which way the baseline runs.",
            "Add baseline = \"contour\" (lines then run up the slope), \"longest axis\", or degrees from "
            "true north.");
  const char* unused = along_baseline ? "bearing" : "baseline";
  if (at.has(unused))
    at.add(Severity::note, at.place(unused), "key not used",
           along_baseline ? "bearing is not used: the lines run across the baseline."
                          : "baseline is not used: lines start at random points.",
           along_baseline ? "Take it out." : "Take it out, or write lay = \"baseline\".");
}

/// Lines cross score bands and classes of ground: only whole sites can be their strata.
void check_strata_of_lines(const TomlTable& whole, Plan& plan) {
  const auto strata = whole.table("strata");
  if (!strata || !strata->has("by")) {
    plan.strata.by = {"site"};
    return;
  }
  for (const std::string& by : plan.strata.by) {
    const LayerSpec* layer = plan.layer(by);
    if (by != "score" && layer == nullptr) continue;
    strata->stop(
        strata->place("by"), "strata of transects",
        by == "score" ? "by names score, but a transect runs through several score bands: its chance "
                        "would belong to none of them."
                      : fmt::format("by names {}, but a transect runs through several of its classes: its "
                                    "chance would belong to none of them.",
                                    by),
        "Write by = [\"site\"], or site attributes; counts can be split by band along the line afterwards.");
  }
}

void note_unused(const TomlTable& whole) {
  const auto sample = whole.table("sample");
  for (const char* key :
       {"shape", "size_m", "edge", "margin_m", "bearing", "apart_m", "apart_rule", "plots_in_excluded"})
    if (sample && sample->has(key))
      sample->add(Severity::note, sample->place(key), "key not used",
                  fmt::format("{} is not used: [transect] says how transects are laid.", key),
                  "Take it out.");
}

}  // namespace

void read_transect(const TomlTable& at, Plan& plan) {
  TransectSpec& transect = plan.transect;
  transect.place = at.place();
  if (at.require("length_m")) take(at.number("length_m", metres), transect.length_m);
  read_counted(at, transect);
  read_lay(at, transect);
  if (const auto boundary = at.choice("boundary", {"clip", "reflect"}))
    transect.boundary = static_cast<TransectSpec::Boundary>(*boundary);
  if (transect.baseline == TransectSpec::Baseline::contour && at.has("baseline") && !plan.layer("elevation"))
    at.stop(at.place("baseline"), "no elevation",
            "baseline = \"contour\" needs the layer elevation, and the plan names none.",
            "Add [layers.elevation], or write the baseline in degrees.");
}

void check_transects(const TomlTable& whole, Plan& plan) {
  const auto transect = whole.table("transect");
  if (plan.sample.unit == SampleUnit::plot) return;
  if (!transect) {
    const auto sample = whole.table("sample");
    sample->stop(sample->place("unit"), "transect missing",
                 "unit = \"transect\" needs a table that says how long "
                 "the lines are.",
                 "Add [transect] with length_m = 25 and width_m = 2.");
    return;
  }
  // What speaks of plots only must change nothing.
  plan.sample.edge = EdgeRule::walk_through;
  plan.sample.bearing_deg.reset();
  plan.sample.apart_m = 0;
  plan.sample.shape = UnitShape::belt;
  plan.sample.size_m = {plan.transect.width_m, plan.transect.length_m};
  check_strata_of_lines(whole, plan);
  note_unused(whole);
}

void read_declination(const TomlTable& at, Plan& plan) {
  DeclinationSpec& declination = plan.declination;
  declination.given = true;
  declination.place = at.place();
  declination.degrees = at.number("degrees", {.low = -180, .high = 180});
  take(at.text("source"), declination.source);
  take(at.text("date"), declination.date);
  if (at.has("degrees") == at.has("model"))
    at.stop(
        at.place(at.has("model") ? "model" : ""), "declination",
        at.has("model") ? "degrees and model are both given." : "gives neither degrees nor a model.",
        "Write one: degrees = -1.5 as typed from a survey sheet, or model = \"WMM2025.COF\" to work it out.");
  if (at.has("model") && !at.has("date"))
    at.stop(at.place("model"), "declination",
            "does not say for which day the declination is to be worked out.", "Add date = \"2027-05-28\".");
  if (declination.date.empty()) return;
  try {
    (void)decimal_year(declination.date);
  } catch (const InputError&) {
    at.stop(at.place("date"), "date", fmt::format("date = \"{}\" is no date.", declination.date),
            "Write it like date = \"2027-05-28\".");
  }
}

}  // namespace swardline
