// Every defect of a plan or a sheet: where, what, and what to do.
#include <algorithm>

#include "season_folder.hpp"

using namespace swardline;
using namespace swardline::testing;

namespace {

struct Case {
  const char* from;
  const char* to;
  const char* said;
};

void check_all(const std::vector<Case>& cases, const std::string& text,
               Reading (*reader)(const std::string&)) {
  for (const Case& each : cases) {
    const std::string changed = each.to;
    CAPTURE(changed);
    CHECK_SAYS_ONLY(reader(with(text, each.from, each.to)), each.said);
  }
}

std::string adding_to_plan(const std::string& lines) { return sound_plan + lines; }

}  // namespace

TEST_CASE("text that is not TOML is one error with its line") {
  CHECK_THROWS_WITH_AS(read_plan_only(with(sound_plan, "seed = 2027", "seed 2027")),
                       doctest::Contains("plan.toml:4: is not TOML: "), InputError);
  CHECK_THROWS_WITH_AS(read_sheet_only(sound_sheet + "[combine\n"),
                       doctest::Contains("species/PTUB.toml:10: is not TOML: "), InputError);
  CHECK_THROWS_WITH_AS(read_plan_only(sound_plan + "[season]\n"),
                       doctest::Contains("plan.toml:18: is not TOML: "), InputError);
  CHECK_THROWS_AS(read_plan_only("\x89PNG\r\n\x1a\n"), InputError);
}

TEST_CASE("a plan that is not there is an error of reading") {
  Flags flags;
  CHECK_THROWS_AS((void)read_season("/nowhere/at/all/plan.toml", flags), IoError);
}

TEST_CASE("defects of the season's table") {
  check_all(
      {
          {"seed = 2027\n", "",
           "STOP plan.toml:1: [season] seed is missing: without one the draw could not be made again. Write "
           "a whole number, for example the year: seed = 2027."},
          {"seed = 2027", "seed = -1",
           "STOP plan.toml:4: [season] seed = -1 is out of range. Write a whole number from 0 up."},
          {"seed = 2027", "seed = 1.5",
           "STOP plan.toml:4: [season] seed must be a whole number, not a decimal number. Write it like "
           "seed = 2027."},
          {"seed = 2027", "seed = \"2027\"",
           "STOP plan.toml:4: [season] seed must be a whole number, not text. Write it like seed = 2027."},
          {"crs = \"EPSG:26914\"\n", "",
           "STOP plan.toml:1: [season] crs is missing. Write it like crs = \"EPSG:26914\"."},
          {"name = \"Test\"", "name = \" \"",
           "STOP plan.toml:2: [season] name is empty. Write something, or leave it out."},
          {"name = \"Test\"", "name = \"Test\"\nstore = \"PG:dbname=plants\"",
           "STOP plan.toml:3: [season] store = \"PG:dbname=plants\": only a GeoPackage file is supported so "
           "far. Write for example store = \"season.gpkg\"."},
          {"seed = 2027", "seed = 2027\nstoer = \"a\"",
           "STOP plan.toml:5: unknown key 'stoer'. Did you mean store?"},
          {"seed = 2027", "seed = 2027\nzzzzzzz = 1",
           "STOP plan.toml:5: unknown key 'zzzzzzz'. Known here: name, crs, seed, store, species, out and "
           "known."},
          {"seed = 2027", "seed = 2027\nspecies = \"sheets/*.toml\"",
           "STOP plan.toml: [season] species = \"sheets/*.toml\" matches no file. Put the species sheets "
           "there, one file for each species."},
          {"seed = 2027", "seed = 2027\nspecies = \"*/PTUB.toml\"",
           "STOP plan.toml: [season] species = \"*/PTUB.toml\": * and ? may stand in the file's name only. "
           "Write it like species = \"species/*.toml\"."},
      },
      sound_plan, read_plan_only);
}

TEST_CASE("defects of sites, grid and layers") {
  check_all(
      {
          {"source = \"sites.gpkg\"\n", "",
           "STOP plan.toml:5: [sites] source is missing. Write it like source = \"sites.gpkg\"."},
          {"source = \"sites.gpkg\"", "source = 7",
           "STOP plan.toml:6: [sites] source must be a file name or a table { file, layer, crs }, not a "
           "whole number. Write it like source = \"sites.gpkg\"."},
          {"source = \"sites.gpkg\"", "source = { layer = \"drawn\" }",
           "STOP plan.toml:6: [sites] source: file is missing. Write it like file = \"sites.gpkg\"."},
          {"source = \"sites.gpkg\"", "source = \"sites.gpkg\"\nprivate = [\"code\"]",
           "STOP plan.toml:7: [sites] 'code' holds the sites' codes and cannot be private: plots carry it. "
           "Take it out of private, or name another attribute as code."},
          {"source = \"sites.gpkg\"",
           "source = \"sites.gpkg\"\n[[sites.exclude]]\nsource = \"p.gpkg\"\nbufer_m = 3\nreason = \"water\"",
           "STOP plan.toml:9: unknown key 'bufer_m'. Did you mean buffer_m?"},
          {"source = \"sites.gpkg\"",
           "source = \"sites.gpkg\"\n[[sites.exclude]]\nsource = \"p.gpkg\"\nbuffer_m = -3\nreason = "
           "\"water\"",
           "STOP plan.toml:9: [[sites.exclude]] buffer_m = -3 is out of range. Write a number from 0 to "
           "100000."},
          {"source = \"sites.gpkg\"", "source = \"sites.gpkg\"\n[[sites.exclude]]\nsource = \"p.gpkg\"",
           "STOP plan.toml:7: [[sites.exclude]] reason is missing. Write it like reason = \"water\"."},
          {"source = \"sites.gpkg\"", "source = \"sites.gpkg\"\naccess = \"parking.gpkg\"",
           "STOP plan.toml:7: [sites] access must be a table, not text. Begin it with [sites.access]."},
          {"[sample]", "[grid]\ncell_m = 0\n[sample]",
           "STOP plan.toml:17: [grid] cell_m = 0 is out of range. Write a number above 0 and at most "
           "1000000."},
          {"[sample]", "[grid]\nextent = [10, 0, 5, 5]\n[sample]",
           "STOP plan.toml:17: [grid] extent must be west, south, east, north in the plan's metres, west "
           "below east and south below north. Write it like extent = [760000, 4200000, 770000, 4212000]."},
          {"source = \"moisture.tif\"\n", "",
           "STOP plan.toml:10: [layers.moisture] source is missing. Write it like source = "
           "\"layers/cover.tif\"."},
          {"unit = \"percent\"", "unit = \"percent\"\nscale = 0",
           "STOP plan.toml:13: [layers.moisture] scale = 0 makes every value 0. Write scale = 1 or leave it "
           "out."},
          {"unit = \"percent\"", "unit = \"percent\"\nband = 0",
           "STOP plan.toml:13: [layers.moisture] band = 0 is out of range. Write a whole number from 1 to "
           "65535."},
          {"3 = \"MP\" }", "3 = \"MP\", four = \"X\" }",
           "STOP plan.toml:9: [layers.cover.classes] 'four' is not a raster value. Write whole numbers "
           "before the equals sign, like 1 = \"OW\"."},
          {"3 = \"MP\" }", "3 = \"MP\", 03 = \"MP\" }",
           "STOP plan.toml:9: [layers.cover.classes] names value 3 twice. Keep one of them."},
          {"3 = \"MP\" }", "3 = \"MP\" }\nscale = 2",
           "STOP plan.toml:10: [layers.cover] scale means nothing for classes. Take out scale, or take out "
           "classes if this is a measure."},
          {"[layers.elevation]", "[layers.Cover]\nsource = \"c.tif\"\n[layers.elevation]",
           "STOP plan.toml:13: [layers.Cover] differs from [layers.cover] only in capitals. Rename one."},
          {"[layers.elevation]", "[layers.score]\nsource = \"c.tif\"\n[layers.elevation]",
           "STOP plan.toml:13: [layers.score] takes the word 'score', which has a meaning in [strata] by. "
           "Give the layer another name."},
      },
      sound_plan, read_plan_only);
}

TEST_CASE("defects of strata") {
  const std::string plan = adding_to_plan("[strata]\n");
  check_all(
      {
          {"[strata]\n", "[strata]\nbands = [0.5, 0.25]\n",
           "STOP plan.toml:19: [strata] bands: 0.5 comes before 0.25. Edges must rise."},
          {"[strata]\n", "[strata]\nbands = [0.0, 0.25]\n",
           "STOP plan.toml:19: [strata] bands: 0 is not between 0 and 1. Write rising whole percents between "
           "0 and 1, like bands = [0.25, 0.5, 0.75]."},
          {"[strata]\n", "[strata]\nbands = [0.333]\n",
           "STOP plan.toml:19: [strata] bands: 0.333 is not a whole percent, and maps hold whole percents. "
           "Write rising whole percents between 0 and 1, like bands = [0.25, 0.5, 0.75]."},
          {"[strata]\n", "[strata]\nbands = []\n",
           "STOP plan.toml:19: [strata] bands is empty. Leave \"score\" out of by instead."},
          {"[strata]\n", "[strata]\nby = [\"site\", \"moisture\"]\n",
           "STOP plan.toml:19: [strata] by names moisture, which is a measure: strata are made of classes. "
           "Name a class layer, a site attribute, \"site\" or \"score\"."},
          {"[strata]\n", "[strata]\nby = [\"site\", \"site\"]\n",
           "STOP plan.toml:19: [strata] by names site twice. Name it once."},
          {"[strata]\n", "[strata]\nscore_of = \"PTUD\"\n",
           "STOP plan.toml:18: [strata] score_of = \"PTUD\" is no scored species. Did you mean PTUB?"},
          {"[strata]\n", "[strata]\nsmallest_m2 = -1\n",
           "STOP plan.toml:19: [strata] smallest_m2 = -1 is out of range. Write a number from 0 up."},
      },
      plan, read_plan_only);
  CHECK(read_plan_only(with(plan, "[strata]\n", "[strata]\nby = [\"site\", \"cover\", \"burn_unit\"]\n"))
            .all() == "");
  CHECK(read_plan_only(with(plan, "[strata]\n", "[strata]\nbands = [0.07, 0.29, 0.57]\n")).all() == "");
}

TEST_CASE("defects of the sample") {
  check_all(
      {
          {"total = 24", "",
           "STOP plan.toml:16: [sample] says neither total nor each. Write one: total = 240 plots over all "
           "strata, each = 6 in every stratum, or budget_minutes = 4800 for all plots."},
          {"total = 24", "total = 24\neach = 6",
           "STOP plan.toml:18: [sample] total and each are both given. Write one: total = 240 plots over all "
           "strata, each = 6 in every stratum, or budget_minutes = 4800 for all plots."},
          {"total = 24", "total = 0",
           "STOP plan.toml:17: [sample] total = 0 is out of range. Write a whole number from 1 to 10000000."},
          {"total = 24", "total = 24\nspares = -0.5",
           "STOP plan.toml:18: [sample] spares = -0.5 is out of range. Write a number from 0 to 100."},
          {"total = 24", "total = 24\nleast_per_stratum = -1",
           "STOP plan.toml:18: [sample] least_per_stratum = -1 is out of range. Write a whole number from 0 "
           "to 1000000."},
          {"total = 24", "total = 24\nallocation = \"optimal\"",
           "STOP plan.toml:18: [sample] allocation = \"optimal\" needs the spread of plot counts in every "
           "band. Add [sample.spread] with standard deviations, like \"0.50-0.75\" = 3.6, or write "
           "\"proportional\"."},
          {"total = 24",
           "total = 24\nallocation = \"optimal\"\nspread = { \"0.00-0.25\" = 1, \"0.25-0.50\" = 1, \"QPR "
           "0.50-0.75\" = 2 }",
           "STOP plan.toml:19: [sample.spread] gives no spread for the band 0.75-1.00. Add a standard "
           "deviation: \"0.75-1.00\" = 3.6."},
          {"total = 24", "total = 24\nspread = { \"0.50-0.70\" = 1 }",
           "STOP plan.toml:18: [sample.spread] '0.50-0.70' is no band of [strata]. Did you mean "
           "\"0.50-0.75\"?"},
          {"total = 24", "total = 24\nspread = { \"0.50-0.75\" = 1, PTUB = { mean = { }, sd = { } } }",
           "STOP plan.toml:18: [sample.spread] gives spreads for plots and for species. Give either numbers "
           "by "
           "band, or a table for each species."},
          {"total = 24", "total = 24\nspread = { PTUB = { mean = { \"0.50-0.75\" = 1 } } }",
           "STOP plan.toml:18: [sample.spread.PTUB] sd is missing. Begin it with [sample.spread.PTUB.sd]."},
          {"total = 24",
           "total = 24\nspread = { PTUB = { mean = { \"0.50-0.75\" = 0 }, sd = { \"0.50-0.75\" = 1 } } }",
           "STOP plan.toml:18: [sample.spread.PTUB] mean is 0 everywhere, so no relative error can be aimed "
           "at. "
           "Give the counts per plot that are expected, or take the species out."},
          {"total = 24",
           "total = 24\nallocation = \"optimal\"\nspread = { PTUB = { target = 0.1, mean = { \"0.00-0.25\" = "
           "1, "
           "\"0.25-0.50\" = 1, \"0.50-0.75\" = 1, \"0.75-1.00\" = 1 }, sd = { \"0.00-0.25\" = 1, "
           "\"0.25-0.50\" = 1, "
           "\"0.50-0.75\" = 1 } } }",
           "STOP plan.toml:19: [sample.spread.PTUB.sd] gives no standard deviation for the band 0.75-1.00. "
           "Add "
           "it: "
           "\"0.75-1.00\" = 3.6."},
          {"total = 24",
           "total = 24\nspread = { PTUB = { target = 0, mean = { \"0.50-0.75\" = 1 }, sd = { \"0.50-0.75\" = "
           "1 } } }",
           "STOP plan.toml:18: [sample.spread.PTUB] target = 0 is out of range. Write a number above 0."},
          {"total = 24", "total = 24\ncost = { \"0.50-0.70\" = 20 }",
           "STOP plan.toml:18: [sample.cost] '0.50-0.70' is no band of [strata]. Did you mean "
           "\"0.50-0.75\"?"},
          {"total = 24", "total = 24\ncost = { QPR = 0 }",
           "STOP plan.toml:18: [sample.cost] QPR = 0 is out of range. Write a number from 0.1 to 1000000."},
          {"total = 24", "budget_minutes = 600",
           "STOP plan.toml:17: [sample] budget_minutes needs the minutes that a plot takes. Add "
           "[sample.cost], like "
           "\"0.50-0.75\" = 25, or a site = 40."},
          {"total = 24", "total = 24\nbudget_minutes = 600\ncost = { QPR = 20 }",
           "STOP plan.toml:18: [sample] total and budget_minutes are both given. Write one: total = 240 "
           "plots over "
           "all strata, each = 6 in every stratum, or budget_minutes = 4800 for all plots."},
          {"total = 24", "total = 24\nweight = \"cover\"",
           "STOP plan.toml:18: [sample] weight names cover, which holds classes: chances need a measure. "
           "Name a measure "
           "layer or \"score\", or make strata of the classes: by = [\"cover\"]."},
          {"total = 24", "total = 24\nweight = \"mosture\"",
           "STOP plan.toml:18: [sample] weight names mosture, which is no layer. Did you mean moisture?"},
          {"total = 24", "total = 24\nweight_floor = 0.1",
           "STOP plan.toml:18: [sample] weight_floor is given without weight. Write weight = \"score\" or "
           "the name of a "
           "measure layer, or take it out."},
          {"total = 24", "total = 24\nweight = \"score\"\nweight_step = 0.1",
           "STOP plan.toml:19: [sample] the score's weights are whole percents. Take weight_step out."},
          {"total = 24", "total = 24\nweight = \"score\"\nweight_floor = 0.004",
           "STOP plan.toml:19: [sample] weight_floor = 0.004 is not between one and a million steps of 0.01. "
           "Choose "
           "another floor, or another weight_step."},
          {"total = 24", "total = 24\nweight = \"score\"\nweight_floor = 2",
           "STOP plan.toml:19: [sample] weight_floor = 2 is out of range. Write a number from 0 to 1."},
          {"total = 24", "total = 24\nshape = \"ring\"",
           "STOP plan.toml:18: [sample] shape = \"ring\" is not known. Write one of: circle, square and "
           "belt."},
          {"total = 24", "total = 24\nshape = \"belt\"\nsize_m = [10, 2]",
           "STOP plan.toml:19: [sample] size_m: the width 10 is more than the length 2. Write size_m = [2, "
           "10]."},
          {"total = 24", "total = 24\nshape = \"circle\"",
           "STOP plan.toml:16: [sample] size_m is missing. Write it like size_m = [2, 10]."},
          {"total = 24", "total = 24\nshape = \"square\"\nsize_m = [2, 10]",
           "STOP plan.toml:19: [sample] size_m of a circle or square is one number. Write the radius of a "
           "circle, or the side of a square, like size_m = 5."},
          {"total = 24", "total = 24\nsize_m = [2, 0]",
           "STOP plan.toml:18: [sample] size_m = 0 is out of range. Write a number above 0 and at most "
           "10000."},
          {"total = 24", "total = 24\nedge = \"walk\"",
           "STOP plan.toml:18: [sample] edge = \"walk\" is not known. Write one of: walk-through, "
           "grown-frame, "
           "fold-back, inside-area and inner-margin."},
          {"total = 24", "total = 24\nedge = \"grown-frames\"",
           "STOP plan.toml:18: [sample] edge = \"grown-frames\" is not known. Did you mean grown-frame?"},
          {"total = 24", "total = 24\nshape = \"circle\"\nsize_m = 5\nedge = \"fold-back\"",
           "STOP plan.toml:20: [sample] edge = \"fold-back\" folds a belt along its midline, and these plots "
           "are no belts. Write edge = \"walk-through\", or shape = \"belt\"."},
          {"total = 24", "total = 24\nedge = \"inner-margin\"",
           "STOP plan.toml:18: [sample] edge = \"inner-margin\" does not say how far from the edge pins must "
           "stay. Add margin_m, in metres, like margin_m = 5."},
          {"total = 24", "total = 24\nedge = \"grown-frame\"\nweight = \"score\"",
           "STOP plan.toml:19: [sample] weight needs pins that fall on all of the survey area and nowhere "
           "else. "
           "Write edge = \"walk-through\", or take weight out."},
          {"total = 24", "total = 24\nmargin_m = 5",
           "STOP plan.toml:18: [sample] margin_m is for edge = \"inner-margin\" only, and no pin would be "
           "kept "
           "from the edge. Take margin_m out, or write edge = \"inner-margin\"."},
          {"total = 24", "total = 24\nedge = \"inner-margin\"\nmargin_m = 0",
           "STOP plan.toml:19: [sample] margin_m = 0 is out of range. Write a number above 0 and at most "
           "1000000."},
          {"total = 24", "total = 24\nunit = \"transect\"",
           "STOP plan.toml:18: [sample] unit = \"transect\" needs a table that says how long the lines are. "
           "Add "
           "[transect] with length_m = 25 and width_m = 2."},
          {"total = 24", "total = 24\nbearing = 360",
           "STOP plan.toml:18: [sample] bearing = 360 is out of range. Write a number from 0 to below 360."},
          {"total = 24", "total = 24\nbearing = \"randon\"",
           "STOP plan.toml:18: [sample] bearing = \"randon\" is not known. Did you mean random?"},
          {"total = 24", "total = 24\napart_rule = \"refused\"",
           "STOP plan.toml:18: [sample] apart_rule = \"refused\" is not known. Did you mean refuse?"},
          {"total = 24", "total = 24\nplots_in_excluded = \"no\"",
           "STOP plan.toml:18: [sample] plots_in_excluded must be true or false, not text. Write it like "
           "plots_in_excluded = false."},
          {"total = 24", "each = 6\nallocation = \"equal\"",
           "NOTE plan.toml:18: [sample] allocation is not used: each gives every stratum the same number. "
           "Take it out, or use total."},
          {"total = 24", "total = 24\napart_m = nan",
           "STOP plan.toml:18: [sample] apart_m = nan is out of range. Write a number from 0 to 1000000."},
          {"total = 24", "total = 24\napart_m = inf",
           "STOP plan.toml:18: [sample] apart_m = inf is out of range. Write a number from 0 to 1000000."},
          {"total = 24", "total = 24\n[blocks]\nside_m = 0",
           "STOP plan.toml:19: [blocks] side_m = 0 is out of range. Write a number above 0 and at most "
           "10000."},
          {"total = 24", "total = 24\n[blocks]\nsteep_deg = 91",
           "STOP plan.toml:19: [blocks] steep_deg = 91 is out of range. Write a number from 0 to 90."},
          {"total = 24", "total = 24\n[blocks]\nchosen = [\"7601-2003\"]",
           "STOP plan.toml:19: [blocks] chosen: \"7601-2003\" is no block's name. Write the site's code and "
           "two "
           "numbers as swardline blocks prints them, like \"QPR 7601-2003\"."},
          {"total = 24", "total = 24\n[blocks]\nchosen = [\"QPR 7601-2003\", \"QPR 7601-2003\"]",
           "STOP plan.toml:19: [blocks] chosen names QPR 7601-2003 twice. Name it once."},
          {"total = 24", "total = 24\n[points]\nas = [\"gpxx\"]",
           "STOP plan.toml:19: [points] as: \"gpxx\" is not a format. Did you mean gpx?"},
          {"total = 24", "total = 24\n[points]\nname_profile = 7",
           "STOP plan.toml:19: [points] name_profile = 7 is not known. Write one of: 6, 8, 10 and \"free\"."},
          {"total = 24", "total = 24\n[points]\npoints_per_file = -1",
           "STOP plan.toml:19: [points] points_per_file = -1 is out of range. Write a whole number from 0 to "
           "100000000."},
      },
      sound_plan, read_plan_only);
  CHECK_SAYS_ONLY(read_plan_only(with(sound_plan, "[sample]\ntotal = 24\n", "")),
                  "STOP plan.toml: sample is missing. Begin it with [sample].");
}

TEST_CASE("defects of the effort") {
  check_all(
      {
          {"total = 24", "total = 24\n[effort]\nhours = 20",
           "STOP plan.toml:18: [effort] asks nothing: how big a change matters? Write change = 0.20, or say "
           "how "
           "wide the limits may be: precision = 0.25."},
          {"total = 24", "total = 24\n[effort]\nprecision = 25",
           "STOP plan.toml:19: [effort] precision = 25 is out of range. Write a number above 0 and at most "
           "1."},
          {"total = 24", "total = 24\n[effort]\nfind_one = 95",
           "STOP plan.toml:19: [effort] find_one = 95 is out of range. Write a number above 0 and to below "
           "1."},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\nrevisit = \"same plot\"",
           "STOP plan.toml:20: [effort] revisit = \"same plot\" is not known. Did you mean same plots?"},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\ncorrelation = 1",
           "STOP plan.toml:20: [effort] correlation = 1 is out of range. Write a number from -1 to below 1."},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\nvariance_law = [2]",
           "STOP plan.toml:20: [effort] variance_law has two numbers, a and b. Write variance_law = [2.5, "
           "1.4]."},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\nrefused = 1",
           "STOP plan.toml:20: [effort] refused = 1 is out of range. Write a number from 0 to below 1."},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\nspecies = [\"PTUC\"]",
           "STOP plan.toml:18: [effort] species names PTUC, and no sheet has that code. Did you mean PTUB?"},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\n[effort.expected.XXXX]\nmean = 2",
           "STOP plan.toml:20: [effort.expected] names XXXX, and no sheet has that code. The codes are "
           "PTUB."},
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\n[effort.expected.PTUB]\nmean = 2\nsd = 0",
           "STOP plan.toml:22: [effort.expected.PTUB] sd = 0: counts that never differ tell nothing about "
           "spread. "
           "Take it from a pilot or an earlier season, or leave it out and give variance_law."},
          {"total = 24", "total = \"precisoin\"",
           "STOP plan.toml:17: [sample] total = \"precisoin\" is not known. Did you mean precision?"},
          {"total = 24", "total = \"precision\"",
           "STOP plan.toml:16: [sample] total = \"precision\", and [effort] asks for no precision. How wide "
           "may the "
           "limits be? Add [effort] with precision = 0.25."},
          {"total = 24", "total = \"hours\"\n[effort]\nchange = 0.2",
           "STOP plan.toml:16: [sample] total = \"hours\", and [effort] gives no hours. Add [effort] with "
           "hours = "
           "(person-hours there are), and a question it must answer."},
      },
      sound_plan, read_plan_only);
}

TEST_CASE("defects of a sheet's head") {
  check_all(
      {
          {"code = \"PTUB\"\n", "",
           "STOP species/PTUB.toml:1: code is missing. Write it like code = \"PTUB\"."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nversion = 0",
           "STOP species/PTUB.toml:3: version = 0 is out of range. Write a whole number from 1 to 1000000."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nwindow = [\"05-20\", \"06-31\"]",
           "STOP species/PTUB.toml:3: window: '06-31' is no day of the year. Write month-day, like window = "
           "[\"05-20\", \"06-25\"]."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nwindow = [\"05-20\"]",
           "STOP species/PTUB.toml:3: window must name two days, the first and the last. Write window = "
           "[\"05-20\", \"06-25\"]."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nwindow = [\"12-01\", \"02-10\"]",
           "ASK species/PTUB.toml:3: window runs from 12-01 over New Year to 02-10. If that is not meant, "
           "write the earlier day first."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nsensitivity = \"secret\"",
           "STOP species/PTUB.toml:3: sensitivity = \"secret\" is not known. Write one of: none, low, "
           "medium, high and extreme."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\nscored = false",
           "STOP species/PTUB.toml:3: says scored = false and has factors. Take the factors out, or write "
           "scored = true."},
          {"name = \"Penstemon tubaeflorus\"", "name = \"N\"\ntraits = { sap = 3 }",
           "STOP species/PTUB.toml:3: [traits] sap must be text, not a whole number. "},
          {"\"PTUB\"", "\"MAR05\"",
           "STOP species/PTUB.toml:1: code MAR05 becomes a date in spreadsheets: choose another. Four "
           "letters work well."},
          {"\"PTUB\"", "\"1E05\"",
           "STOP species/PTUB.toml:1: code 1E05 becomes a number in spreadsheets: choose another. Four "
           "letters work well."},
          {"\"PTUB\"", "\"007\"",
           "STOP species/PTUB.toml:1: code 007 becomes a number in spreadsheets: choose another. Four "
           "letters work well."},
          {"\"PTUB\"", "\"P/TUB\"",
           "STOP species/PTUB.toml:1: code 'P/TUB' cannot be part of a file name. Use letters, digits, - and "
           "_ only."},
      },
      sound_sheet, read_sheet_only);
  CHECK_SAYS(read_sheet_only("code = \"PGRC\"\nname = \"N\"\n"),
             "STOP species/PTUB.toml:1: has no [[factor]] and does not say scored = false. "
             "Add factors, or write scored = false for a species that is monitored, not scored.");
}

TEST_CASE("defects of responses") {
  check_all(
      {
          {"[20, 26, 38, 46]", "[26, 20, 38, 46]",
           "STOP species/PTUB.toml:5: PTUB moisture: 26 comes before 20. Corners must rise."},
          {"[20, 26, 38, 46]", "[20, 26, 38]",
           "STOP species/PTUB.toml:5: PTUB moisture: trapezoid has 3 corners, it needs four. Write it like "
           "trapezoid = [20, 26, 38, 46], with -inf or inf for an open shoulder."},
          {"[20, 26, 38, 46]", "[-inf, 26, 38, 46]",
           "STOP species/PTUB.toml:5: PTUB moisture: trapezoid has one end of a slope at infinity. An open "
           "shoulder is written twice: [-inf, -inf, 25, 60], or [0, 8, inf, inf]."},
          {"[20, 26, 38, 46]", "[20, 26, 38, nan]",
           "STOP species/PTUB.toml:5: PTUB moisture: trapezoid = nan is out of range. Write a number."},
          {"[20, 26, 38, 46]", "[-inf, -inf, inf, inf]",
           "ASK species/PTUB.toml:5: PTUB moisture: trapezoid is open on both sides, so it is always 1. Give "
           "it corners, or take the factor out."},
          {"trapezoid = [20, 26, 38, 46]", "points = [[20, 0], [20, 1]]",
           "STOP species/PTUB.toml:5: PTUB moisture: 20 comes before 20. Values of points must rise."},
          {"trapezoid = [20, 26, 38, 46]", "points = [[20, 0], [26, 1.5]]",
           "STOP species/PTUB.toml:5: PTUB moisture: response of a point = 1.5 is out of range. Write a "
           "number from 0 to 1."},
          {"trapezoid = [20, 26, 38, 46]", "points = [[20, 0]]",
           "STOP species/PTUB.toml:5: PTUB moisture: points needs at least two pairs. Write it like points = "
           "[[0.75, 0], [0.9, 1], [1.06, 1]]."},
          {"trapezoid = [20, 26, 38, 46]", "points = [20, 26]",
           "STOP species/PTUB.toml:5: PTUB moisture: points must hold pairs of a value and a response. Write "
           "it like points = [[0.75, 0], [0.9, 1], [1.06, 1]]."},
          {"trapezoid = [20, 26, 38, 46]", "why = \"x\"",
           "STOP species/PTUB.toml:3: PTUB moisture: has no response. Give one: trapezoid, points, or scores "
           "of classes (with excluded and otherwise)."},
          {"trapezoid = [20, 26, 38, 46]", "trapezoid = [20, 26, 38, 46]\npoints = [[1, 0], [2, 1]]",
           "STOP species/PTUB.toml:3: PTUB moisture: has more than one kind of response. Give one: "
           "trapezoid, points, or scores of classes (with excluded and otherwise)."},
          {"trapezoid = [20, 26, 38, 46]", "weight = 0\ntrapezoid = [20, 26, 38, 46]",
           "STOP species/PTUB.toml:5: PTUB moisture: weight = 0 is out of range. Write a number above 0 and "
           "at most 1000."},
          {"trapezoid = [20, 26, 38, 46]", "weight = -2\ntrapezoid = [20, 26, 38, 46]",
           "STOP species/PTUB.toml:5: PTUB moisture: weight = -2 is out of range. Write a number above 0 and "
           "at most 1000."},
          {"trapezoid = [20, 26, 38, 46]", "weight = 2\ntrapezoid = [20, 26, 38, 46]",
           "NOTE species/PTUB.toml:3: PTUB moisture: weight 2 has no effect where the lowest counts. Take it "
           "out."},
          {"trapezoid = [20, 26, 38, 46]", "role = \"limitting\"\ntrapezoid = [20, 26, 38, 46]",
           "STOP species/PTUB.toml:5: PTUB moisture: role = \"limitting\" is not known. Did you mean "
           "limiting?"},
          {"MP = 0.9", "MP = 1.9",
           "STOP species/PTUB.toml:8: PTUB cover: scores MP = 1.9 is out of range. Write a number from 0 to "
           "1."},
          {"MP = 0.9", "MP = 0.9, OW = 0.0",
           "STOP species/PTUB.toml:9: PTUB cover: OW is scored and excluded. Keep it in one of them."},
          {"MP = 0.9 }", "MP = 0.9 }\notherwise = 1.5",
           "STOP species/PTUB.toml:9: PTUB cover: otherwise = 1.5 is out of range. Write a number from 0 to "
           "1."},
          {"layer = \"moisture\"\n", "",
           "STOP species/PTUB.toml:3: [[factor]] layer is missing. Write it like layer = \"moisture\"."},
          {"trapezoid =", "trapezoids =",
           "STOP species/PTUB.toml:3: PTUB moisture: has no response. Give one: trapezoid, points, or scores "
           "of "
           "classes (with excluded and otherwise).\nSTOP species/PTUB.toml:5: unknown key 'trapezoids'. Did "
           "you mean trapezoid?"},
      },
      sound_sheet, read_sheet_only);
}

TEST_CASE("defects between a sheet and the plan's layers") {
  check_all(
      {
          {"layer = \"moisture\"", "layer = \"canopy\"",
           "STOP species/PTUB.toml:3: PTUB: canopy is in the rule but no canopy layer was given. Not scored. "
           "Add [layers.canopy] to the plan, or take canopy out of the sheet."},
          {"layer = \"moisture\"", "layer = \"moistur\"",
           "STOP species/PTUB.toml:3: PTUB: moistur is in the rule but no moistur layer was given. Not "
           "scored. Did you mean moisture? Otherwise add [layers.moistur] to the plan."},
          {"layer = \"moisture\"", "layer = \"cover\"",
           "STOP species/PTUB.toml:3: PTUB cover: trapezoid and points are for measures, and cover holds "
           "classes. Use scores = { … } instead.\nASK species/PTUB.toml:6: PTUB: cover is in the rule twice. "
           "If that is not meant, take one out."},
          {"layer = \"cover\"", "layer = \"elevation\"",
           "STOP species/PTUB.toml:6: PTUB elevation: scores are for classes, and elevation is a measure. "
           "Use trapezoid or points, or name the classes in [layers.elevation]."},
          {"layer = \"cover\"", "layer = \"slope\"",
           "STOP species/PTUB.toml:6: PTUB slope: scores are for classes, and slope is a measure. Use "
           "trapezoid or points, or name the classes in [layers.slope]."},
          {"WM = 1.0", "WM = 1.0, WMM = 0.5",
           "STOP species/PTUB.toml:6: PTUB cover: the layer has no class WMM. Did you mean WM?"},
          {"[\"OW\"]", "[\"OW\", \"ZZZZ\"]",
           "STOP species/PTUB.toml:6: PTUB cover: the layer has no class ZZZZ. Its classes are OW, WM and "
           "MP."},
          {", MP = 0.9", "",
           "STOP species/PTUB.toml:6: PTUB cover: the layer has MP, the sheet says nothing about it. Score "
           "or exclude each, or write otherwise = 0.0 for all that are not listed."},
          {"excluded = [\"OW\"]", "excluded = [\"OW\"]\n[[mask]]\nlayer = \"cover\"\nkeep_below = 3",
           "STOP species/PTUB.toml:10: PTUB mask on cover: a mask needs a measure, and cover holds classes. "
           "Write excluded = [ … ] in the factor instead."},
          {"excluded = [\"OW\"]", "excluded = [\"OW\"]\n[[mask]]\nlayer = \"elevation\"",
           "STOP species/PTUB.toml:10: PTUB mask on elevation: keeps everything. Write keep_below = 260 or "
           "keep_above = 120."},
          {"excluded = [\"OW\"]",
           "excluded = [\"OW\"]\n[[mask]]\nlayer = \"elevation\"\nkeep_below = 3\nkeep_above = 3",
           "STOP species/PTUB.toml:12: PTUB mask on elevation: nothing is above 3 and below 3. keep_above "
           "must be less than keep_below."},
          {"excluded = [\"OW\"]", "excluded = [\"OW\"]\n[[mask]]\nlayer = \"range\"\nkeep_below = 3",
           "STOP species/PTUB.toml:10: PTUB: range is in the rule but no range layer was given. Not scored. "
           "Add [layers.range] to the plan, or take range out of the sheet."},
      },
      sound_sheet, read_sheet_only);
}

TEST_CASE("defects of groups and the combination") {
  const std::string sheet = sound_sheet + "[combine]\n";
  check_all(
      {
          {"[combine]\n", "[combine]\nrule = \"arithmetic\"\n",
           "NOTE species/PTUB.toml:11: [combine] rule = \"arithmetic\" lets a zero be bought off: good light "
           "can make up for open water. Keep it only where that is meant."},
          {"[combine]\n", "[combine]\nrule = \"lowest\"\nlimiting_power = 0.5\n",
           "NOTE species/PTUB.toml:12: [combine] limiting_power has an effect with rule = \"graded\" only. "
           "Take it out, or choose graded."},
          {"[combine]\n", "[combine]\nrule = \"mean\"\n",
           "STOP species/PTUB.toml:11: [combine] rule = \"mean\" is not known. Write one of: lowest, "
           "geometric, arithmetic and graded."},
          {"[combine]\n", "[combine]\nlimiting_power = 1.5\n",
           "STOP species/PTUB.toml:11: [combine] limiting_power = 1.5 is out of range. Write a number from 0 "
           "to 1."},
          {"[combine]\n", "[combine]\nfloor = 0.05\n",
           "NOTE species/PTUB.toml:1: PTUB: floor has no effect: no factor is modifying. Take it out."},
          {"[combine]\n", "[[group]]\nname = \"a\"\n",
           "STOP species/PTUB.toml:10: PTUB: group a holds no factor. Write group = \"a\" in a factor, or "
           "take the group out."},
          {"layer = \"moisture\"", "layer = \"moisture\"\ngroup = \"wet\"",
           "STOP species/PTUB.toml:3: PTUB moisture: there is no group 'wet'. Add a [[group]] of this name, "
           "or take it out."},
          {"layer = \"moisture\"\ntrapezoid = [20, 26, 38, 46]\n[[factor]]\nlayer = \"cover\"",
           "layer = \"moisture\"\nrole = \"modifying\"\ntrapezoid = [20, 26, 38, 46]\n[[factor]]\nlayer = "
           "\"cover\"\nrole = \"modifying\"",
           "STOP species/PTUB.toml:1: PTUB: rule = \"graded\" needs a limiting factor, and all are "
           "modifying. Write role = \"limiting\" where it is meant, or choose rule = \"geometric\"."},
      },
      sheet, read_sheet_only);
  const Reading circle =
      read_sheet_only(with(sound_sheet, "layer = \"moisture\"", "layer = \"moisture\"\ngroup = \"a\"") +
                      "[[group]]\nname = \"a\"\nwithin = \"b\"\n[[group]]\nname = \"b\"\nwithin = \"a\"\n");
  CHECK(circle.all() ==
        "STOP species/PTUB.toml:11: PTUB: group a lies within itself. Take out one 'within', so that the "
        "outermost group stands at the top.\n"
        "STOP species/PTUB.toml:14: PTUB: group b lies within itself. Take out one 'within', so that the "
        "outermost group stands at the top.\n");
}

TEST_CASE("codes that are the same, or look the same, are told apart") {
  const auto sheet = [](const std::string& code, const std::string& more = "") {
    return with(sound_sheet, "PTUB", code) + more;
  };
  CHECK_SAYS_ONLY(
      read(sound_plan, {{"a", sheet("PTUB")}, {"b", sheet("PTUB")}}),
      "STOP species/b.toml:1: code PTUB is also in species/a.toml. Give each species its own code.");
  CHECK_SAYS_ONLY(read(sound_plan, {{"a", sheet("PTUB")}, {"b", sheet("Ptub")}}),
                  "STOP species/b.toml:1: code Ptub is also in species/a.toml, there as PTUB. Give each "
                  "species its own code.");
  CHECK_SAYS_ONLY(read(sound_plan, {{"a", sheet("P0IA")}, {"b", sheet("PO1A")}}),
                  "ASK species/b.toml:1: code PO1A looks like P0IA in species/a.toml: I and 1, O and 0 are "
                  "one on paper. Choose another code for one of them.");
  CHECK_SAYS_ONLY(read(sound_plan, {{"a", sheet("PTUB", "[[look_alike]]\nof = \"PDIX\"\ntell = \"t\"\n")},
                                    {"b", sheet("PDIG")}}),
                  "ASK species/a.toml:10: PTUB: look-alike PDIX is no species of this season. Did you mean "
                  "PDIG? Otherwise write the plant's name.");
  CHECK_SAYS_ONLY(read(sound_plan, {{"a", sheet("PTUB", "[[look_alike]]\nof = \"PTUB\"\ntell = \"t\"\n")}}),
                  "ASK species/a.toml:10: PTUB is named as its own look-alike. Name the other plant.");
  CHECK(read(sound_plan,
             {{"a", sheet("PTUB", "[[look_alike]]\nof = \"Digitalis lanata\"\ntell = \"woolly\"\n")}})
            .all() == "");
}

TEST_CASE("everything wrong is found in one pass, in the order of the files") {
  const Reading reading =
      read(with(with(sound_plan, "seed = 2027\n", ""), "total = 24", "totl = 24"),
           {{"PTUB", with(with(sound_sheet, "[20, 26, 38, 46]", "[26, 20, 38, 46]"), "MP = 0.9", "MP = 9")}});
  CHECK(reading.flags.count(Severity::stop) == 5);
  std::vector<std::string> places;
  for (const Flag& flag : reading.flags.all()) places.push_back(flag.place.text());
  CHECK(places == std::vector<std::string>{"plan.toml:1", "plan.toml:15", "plan.toml:16",
                                           "species/PTUB.toml:5", "species/PTUB.toml:8"});
  CHECK_THROWS_AS(reading.flags.throw_if_stopped(), InputError);
}

TEST_CASE("panels of a plan") {
  const std::string sound = "\n[panels]\npattern = \"[1-0,1-3]\"\nstart = 2027\nyear = 2028\n";
  const Reading read = read_plan_only(adding_to_plan(sound));
  CHECK(read.all() == "");
  REQUIRE(read.season.plan.panels.parts.size() == 2);
  CHECK(read.season.plan.panels.parts[1].on_off == std::vector<int>{1, 3});
  CHECK(read.season.plan.panels.parts[0].share == 0.5);
  const std::vector<Case> cases = {
      {"[1-0,1-3]", "[1-x]", "pattern cannot be read: \"1-x\": 'x' is no number of seasons and not n."},
      {"[1-0,1-3]", "1-0", "\"1-0\" is not in brackets"},
      {"[1-0,1-3]", "[1-0,1-n]", "all are drawn at the start: for how many seasons?"},
      {"start = 2027", "start = 2029", "year = 2028 comes before start = 2029."},
      {"year = 2028", "year = 2028\nshares = [0.5, 0.3]", "shares add up to 0.8, not to 1."},
      {"year = 2028", "year = 2028\nshares = [1]",
       "shares has 1 numbers for 2 parts of the pattern [1-0,1-3]."},
      {"start = 2027\n", "", "start is missing"},
      {"year = 2028", "year = 2028\nyears = 0", "years"},
  };
  for (const Case& each : cases) {
    const std::string all = read_plan_only(with(adding_to_plan(sound), each.from, each.to)).all();
    CHECK_MESSAGE(all.find(each.said) != std::string::npos, all);
    CHECK_MESSAGE(std::count(all.begin(), all.end(), '\n') == 1, all);
  }
  const std::string ended = "\n[panels]\npattern = \"[1-n]\"\nstart = 2027\nyear = 2031\nyears = 4\n";
  const std::string all = read_plan_only(adding_to_plan(ended)).all();
  CHECK_MESSAGE(
      all.find("plots were drawn for the seasons 2027 to 2030, and this is 2031.") != std::string::npos, all);
}

TEST_CASE("panels and kept plots beside what they cannot go with") {
  const std::string panels = "\n[panels]\npattern = \"[1-0]\"\nstart = 2027\nyear = 2028\n";
  const std::string transect = "\n[transect]\nlength_m = 25\nwidth_m = 2\n";
  const auto said_once = [](const std::string& plan, const std::string& said) {
    const std::string all = read_plan_only(plan).all();
    const auto found = all.find(said);
    CHECK_MESSAGE(found != std::string::npos, all);
    CHECK_MESSAGE((found == std::string::npos || all.find(said, found + 1) == std::string::npos), all);
  };
  said_once(
      with(adding_to_plan(panels + transect), "total = 24", "total = 24\nunit = \"transect\""),
      "panels go with plots in site polygons only, and the plan asks for transects. Take [panels] out, or "
      "write unit = \"plot\".");
  said_once(with(adding_to_plan(transect), "total = 24",
                 "total = 24\nunit = \"transect\"\nkeep = \"../2027/season.gpkg\""),
            "kept plots go with plots in site polygons only, and the plan asks for transects.");
  said_once(adding_to_plan(panels +
                           "\n[sites.linear]\nsource = \"roads.gpkg\"\nsegment_m = 20\nwidth_m = 4\noffset_m "
                           "= 1\neach = 12\n"),
            "panels go with plots in site polygons only, and the plan has linear sites.");
  said_once(with(adding_to_plan(panels), "total = 24", "total = 24\nedge = \"grown-frame\""),
            "panels go with plots in site polygons only, and edge = \"grown-frame\" puts pins outside them.");
}
