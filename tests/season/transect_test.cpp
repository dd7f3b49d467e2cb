// Transects and declination in a plan: what they read as, and every defect in one line.
#include "season_folder.hpp"

namespace transect_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

/// Line 19 is [transect], line 20 its length.
std::string transect_plan() {
  return with(sound_plan, "total = 24", "total = 24\nunit = \"transect\"") +
         "[transect]\nlength_m = 25\nwidth_m = 2\n";
}

struct Case {
  const char* added;  ///< to the table
  const char* said;   ///< everything
};

void check_all(const std::vector<Case>& cases) {
  for (const Case& each : cases) {
    CAPTURE(each.added);
    CHECK_SAYS_ONLY(read_plan_only(transect_plan() + each.added), each.said);
  }
}

}  // namespace

TEST_CASE("a transect's keys") {
  const Reading plain = read_plan_only(transect_plan());
  CHECK(plain.all() == "");
  const Plan& plan = plain.season.plan;
  CHECK(plan.sample.unit == SampleUnit::transect);
  CHECK(plan.strata.by == std::vector<std::string>{"site"});
  CHECK(plan.transect.length_m == 25);
  CHECK(plan.transect.lay == TransectSpec::Lay::point);
  CHECK(plan.transect.boundary == TransectSpec::Boundary::clip);
  CHECK(plan.sample.unit_area_m2() == 50);
  CHECK_FALSE(plan.transect.bearing_deg);
  CHECK_FALSE(plan.declination.given);

  const std::string text = with(transect_plan(), "width_m = 2\n",
                                "step_m = 5\nframe_m = [0.5, 1]\nlay = \"baseline\"\nbaseline = "
                                "\"contour\"\nboundary = \"reflect\"\nreference_lines = \"lines.gpkg\"\n"
                                "[declination]\nmodel = \"WMM2025.COF\"\ndate = \"2027-05-28\"\n");
  const Reading full = read_plan_only(text);
  CHECK(full.all() == "");
  const TransectSpec& transect = full.season.plan.transect;
  REQUIRE(transect.frames);
  CHECK(transect.frames->step_m == 5);
  CHECK(transect.frames->size_m == std::array{0.5, 1.0});
  CHECK(transect.width_m == 0.5);
  CHECK(transect.baseline == TransectSpec::Baseline::contour);
  CHECK(transect.boundary == TransectSpec::Boundary::reflect);
  REQUIRE(transect.reference_lines);
  CHECK(transect.reference_lines->file.filename() == "lines.gpkg");
  CHECK(full.season.plan.declination.model.filename() == "WMM2025.COF");
  CHECK(full.season.plan.declination.date == "2027-05-28");
  CHECK(
      in_sentences(full.season.plan)
          .find(
              "Transects: 25 m long, frames of 0.5 × 1 m every 5 m from a random start; 24 in all, shared by "
              "area, at least 4 in a stratum; 0.5 spare for each planned one; laid across the contours, "
              "spread "
              "along it with a random start; where a line leaves the survey area, it is folded back on "
              "itself.") != std::string::npos);
}

TEST_CASE("defects of a transect") {
  check_all({
      {"lay = \"baseline\"\n",
       "STOP plan.toml:22: [transect] lay = \"baseline\" does not say which way the baseline runs. Add "
       "baseline = "
       "\"contour\" (lines then run up the slope), \"longest axis\", or degrees from true north."},
      {"step_m = 5\nframe_m = 1\n",
       "STOP plan.toml:21: [transect] width_m and frames are both given. Keep one: width_m for a belt that "
       "is counted "
       "whole, step_m and frame_m for frames along the line."},
      {"baseline = 30\n",
       "NOTE plan.toml:22: [transect] baseline is not used: lines start at random points. Take it out, or "
       "write lay = "
       "\"baseline\"."},
      {"lay = \"baseline\"\nbaseline = 30\nbearing = 20\n",
       "NOTE plan.toml:24: [transect] bearing is not used: the lines run across the baseline. Take it out."},
      {"boundary = \"drop\"\n",
       "STOP plan.toml:22: [transect] boundary = \"drop\" is not known. Write one of: clip and reflect."},
      {"[strata]\nby = [\"site\", \"score\"]\n",
       "STOP plan.toml:23: [strata] by names score, but a transect runs through several score bands: its "
       "chance would "
       "belong to none of them. Write by = [\"site\"], or site attributes; counts can be split by band along "
       "the line "
       "afterwards."},
      {"[strata]\nby = [\"site\", \"cover\"]\n",
       "STOP plan.toml:23: [strata] by names cover, but a transect runs through several of its classes: its "
       "chance "
       "would belong to none of them. Write by = [\"site\"], or site attributes; counts can be split by band "
       "along the "
       "line afterwards."},
  });
  CHECK(read_plan_only(transect_plan() + "[strata]\nby = [\"site\", \"burn_unit\"]\n").all() == "");
  CHECK_SAYS(read_plan_only(with(transect_plan(), "length_m = 25\n", "")),
             "STOP plan.toml:19: [transect] length_m is missing. Write it like length_m = 25.");
  CHECK_SAYS_ONLY(
      read_plan_only(with(transect_plan(), "width_m = 2", "width_m = 30")),
      "STOP plan.toml:21: [transect] the belt is wider (30 m) than it is long (25 m). Swap the two, or use "
      "plots.");
  CHECK_SAYS_ONLY(
      read_plan_only(with(transect_plan(), "width_m = 2\n", "")),
      "STOP plan.toml:19: [transect] says neither how wide the belt is nor which frames are counted. Write "
      "width_m = 2, or step_m = 5 with frame_m = [0.5, 1].");
  CHECK_SAYS_ONLY(
      read_plan_only(with(transect_plan(), "total = 24", "total = 24\napart_m = 12")),
      "NOTE plan.toml:18: [sample] apart_m is not used: [transect] says how transects are laid. Take it "
      "out.");
}

TEST_CASE("frames that overlap, do not fit or are half said") {
  const auto frames = [](const char* lines) { return with(transect_plan(), "width_m = 2\n", lines); };
  CHECK_SAYS_ONLY(
      read_plan_only(frames("step_m = 0.5\nframe_m = [0.5, 1]\n")),
      "STOP plan.toml:21: [transect] frames would overlap: each is 1 m along the line, and they begin every "
      "0.5 m. Write step_m = 1 or more, or shorter frames.");
  CHECK_SAYS_ONLY(
      read_plan_only(frames("step_m = 30\nframe_m = 1\n")),
      "STOP plan.toml:21: [transect] step_m = 30 is more than length_m = 25: a line would hold one frame "
      "only. Write a shorter step, or use plots.");
  CHECK_SAYS_ONLY(
      read_plan_only(frames("step_m = 40\nframe_m = [1, 40]\n")),
      "STOP plan.toml:22: [transect] the line of 25 m is shorter than one frame of 40 m. Write a longer "
      "length_m, or shorter frames.");
  CHECK_SAYS_ONLY(
      read_plan_only(frames("step_m = 5\n")),
      "STOP plan.toml:21: [transect] step_m is given, but not how large a frame is. Add frame_m = [0.5, "
      "1].");
  CHECK_SAYS_ONLY(
      read_plan_only(frames("frame_m = 1\n")),
      "STOP plan.toml:21: [transect] frame_m is given, but not how far frames lie apart. Add step_m = 5.");
  CHECK_SAYS_ONLY(
      read_plan_only(frames("step_m = 5\nframe_m = [1, 2, 3]\n")),
      "STOP plan.toml:22: [transect] frame_m is the frame's size across and along the line. Write frame_m = "
      "[0.5, 1], or one number for a square.");
}

TEST_CASE("a baseline along the contours needs heights") {
  const std::string flat =
      with(transect_plan(), "[layers.elevation]\nsource = \"elevation.tif\"\nunit = \"m\"\n", "");
  CHECK_SAYS_ONLY(
      read_plan_only(flat + "lay = \"baseline\"\nbaseline = \"contour\"\n"),
      "STOP plan.toml:20: [transect] baseline = \"contour\" needs the layer elevation, and the plan names "
      "none. Add [layers.elevation], or write the baseline in degrees.");
  CHECK(read_plan_only(flat + "lay = \"baseline\"\nbaseline = \"longest axis\"\n").all() == "");
}

TEST_CASE("declination typed in or worked out, never both, never half") {
  const auto declination = [](const std::string& lines) {
    return read_plan_only(sound_plan + "[declination]\n" + lines);
  };
  const Reading typed = declination("degrees = -1.5\ndate = \"2027-05-28\"\nsource = \"survey sheet 14\"\n");
  CHECK(typed.all() == "");
  CHECK(typed.season.plan.declination.degrees == -1.5);
  CHECK(typed.season.plan.declination.source == "survey sheet 14");
  CHECK_SAYS_ONLY(
      declination("date = \"2027-05-28\"\n"),
      "STOP plan.toml:18: [declination] gives neither degrees nor a model. Write one: degrees = -1.5 as "
      "typed from a survey sheet, or model = \"WMM2025.COF\" to work it out.");
  CHECK_SAYS_ONLY(
      declination("degrees = 2\nmodel = \"WMM2025.COF\"\ndate = \"2027-05-28\"\n"),
      "STOP plan.toml:20: [declination] degrees and model are both given. Write one: degrees = -1.5 as "
      "typed from a survey sheet, or model = \"WMM2025.COF\" to work it out.");
  CHECK_SAYS_ONLY(
      declination("model = \"WMM2025.COF\"\n"),
      "STOP plan.toml:19: [declination] does not say for which day the declination is to be worked out. Add "
      "date = \"2027-05-28\".");
  CHECK_SAYS_ONLY(declination("degrees = 2\ndate = \"28.5.2027\"\n"),
                  "STOP plan.toml:20: [declination] date = \"28.5.2027\" is no date. Write it like date = "
                  "\"2027-05-28\".");
  CHECK_SAYS_ONLY(
      declination("degrees = 200\n"),
      "STOP plan.toml:19: [declination] degrees = 200 is out of range. Write a number from -180 to 180.");
}

TEST_CASE("a weight does not go with transects") {
  CHECK_SAYS_ONLY(
      read_plan_only(with(transect_plan(), "unit = \"transect\"", "unit = \"transect\"\nweight = \"score\"")),
      "STOP plan.toml:19: [sample] weight is for plots: transects are laid with equal chances. Take weight "
      "out, or write unit = \"plot\".");
}

}  // namespace transect_test
