// Linear sites in a plan: what they read as, and every defect of their table.
#include "season_folder.hpp"

namespace linear_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const std::string table =
    "[sites.linear]\nsource = \"verges.gpkg\"\nwidth_m = 3\noffset_m = 3.5\neach = 12\n";

/// The sound plan with verges; its [sites.linear] stands in line 7.
std::string linear_plan(const std::string& from = {}, const std::string& to = {}) {
  return with(sound_plan, "[layers.cover]",
              (from.empty() ? table : with(table, from, to)) + "[layers.cover]");
}

}  // namespace

TEST_CASE("linear sites read with their defaults") {
  const Reading reading = read_plan_only(linear_plan());
  CHECK(reading.all() == "");
  const LinearSpec& linear = reading.season.plan.sites.linear;
  REQUIRE(linear.sources.size() == 1);
  CHECK(linear.sources[0].file.filename() == "verges.gpkg");
  CHECK(linear.segment_m == 20);
  CHECK(linear.sides == LineSides::both);
  CHECK(linear.width.metres == std::array<double, 2>{3, 3});
  CHECK(linear.offset.metres == std::array<double, 2>{3.5, 3.5});
  CHECK(linear.each == 12);
  CHECK(linear.place.text() == "plan.toml:7");
  CHECK(read_plan_only(sound_plan).season.plan.sites.linear.sources.empty());
}

TEST_CASE("widths and offsets may differ by side and line, and gaps are cut out of verges only") {
  const Reading reading = read_plan_only(
      with(linear_plan("width_m = 3", "sides = \"left\"\nsegment_m = 12.5\nwidth_m = [\"left_m\", 4]"),
           "[layers.cover]",
           "[[sites.linear.gap]]\nsource = \"bridges.gpkg\"\nbuffer_m = 15\nreason = \"bridge\"\n"
           "[[sites.exclude]]\nsource = \"ponds.gpkg\"\nreason = \"water\"\n[layers.cover]"));
  CHECK(reading.all() == "");
  const SitesSpec& sites = reading.season.plan.sites;
  CHECK(sites.linear.sides == LineSides::left);
  CHECK(sites.linear.segment_m == 12.5);
  CHECK(sites.linear.width.attributes == std::array<std::string, 2>{"left_m", ""});
  CHECK(sites.linear.width.metres[1] == 4);
  REQUIRE(sites.exclusions.size() == 2);
  CHECK_FALSE(sites.exclusions[0].verges_only);
  CHECK(sites.exclusions[1].verges_only);
  CHECK(sites.exclusions[1].buffer_m == 15);
  CHECK(sites.exclusions[1].reason == "bridge");
}

TEST_CASE("a season may have verges only, and each of the sample counts for them") {
  const std::string only = with(linear_plan("each = 12\n", ""), "source = \"sites.gpkg\"\n", "");
  CHECK(read_plan_only(with(only, "total = 24", "each = 6")).all() == "");
}

TEST_CASE("defects of linear sites") {
  struct Case {
    const char *from, *to, *said;
  };
  const Case cases[] = {
      {"source = \"verges.gpkg\"\n", "",
       "STOP plan.toml:7: [sites.linear] source is missing. Write it like source = \"verges.gpkg\"."},
      {"width_m = 3\n", "",
       "STOP plan.toml:7: [sites.linear] width_m is missing. Write it like width_m = 3."},
      {"offset_m = 3.5\n", "",
       "STOP plan.toml:7: [sites.linear] offset_m is missing. Write it like offset_m = 3.5."},
      {"width_m = 3", "width_m = 0",
       "STOP plan.toml:9: [sites.linear] width_m leaves no verge on any side that is surveyed. Write the "
       "metres from the verge's inner edge to its outer edge."},
      {"width_m = 3", "sides = \"right\"\nwidth_m = [3, 0]",
       "STOP plan.toml:10: [sites.linear] width_m leaves no verge on any side that is surveyed. Write the "
       "metres from the verge's inner edge to its outer edge."},
      {"width_m = 3", "width_m = -3",
       "STOP plan.toml:9: [sites.linear] width_m = -3 is out of range. Write a number from 0 to 100."},
      {"width_m = 3", "width_m = [3, 4, 5]",
       "STOP plan.toml:9: [sites.linear] width_m has 3 items: it may be a number, an attribute that holds "
       "it, "
       "or a list of two, left and right. Write for example width_m = [\"left_m\", \"right_m\"]."},
      {"width_m = 3", "width_m = true",
       "STOP plan.toml:9: [sites.linear] width_m must be a number, an attribute that holds it, or a list of "
       "two, left and right, not true or false. Write it like width_m = [\"left_m\", \"right_m\"]."},
      {"width_m = 3", "width_m = 3\nsegment_m = 0",
       "STOP plan.toml:10: [sites.linear] segment_m = 0 is out of range. Write a number from 1 to 1000."},
      {"width_m = 3", "width_m = 3\nsides = \"north\"",
       "STOP plan.toml:10: [sites.linear] sides = \"north\" is not known. Did you mean both?"},
      {"each = 12", "each = 0",
       "STOP plan.toml:11: [sites.linear] each = 0 is out of range. Write a whole number from 1 to 1000000."},
      {"each = 12\n", "each = 12\nwidht_m = 3\n",
       "STOP plan.toml:12: unknown key 'widht_m'. Did you mean width_m?"},
      {"each = 12\n", "",
       "STOP plan.toml:7: [sites.linear] says no number of segments: total counts plots on site polygons, "
       "where a unit has another size. Write each = 12 under [sites.linear]."},
      {"each = 12\n", "each = 12\n[[sites.linear.gap]]\nsource = \"bridges.gpkg\"\n",
       "STOP plan.toml:12: [[sites.linear.gap]] reason is missing. Write it like reason = \"bridge\"."},
  };
  for (const Case& each : cases) {
    const std::string changed = each.to;
    CAPTURE(changed);
    CAPTURE(each.from);
    const Reading reading = read_plan_only(linear_plan(each.from, each.to));
    CHECK_MESSAGE(says(reading, each.said), reading.all());
  }
}

}  // namespace linear_test
