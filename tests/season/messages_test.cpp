// Every defect of a plan: where, what, and what to do.
#include "message_cases.hpp"

namespace messages_test {

using namespace swardline;
using namespace swardline::testing;

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
           "STOP plan.toml:5: unknown key 'zzzzzzz'. Known here: name, crs, seed, store, species, out, "
           "traits and known."},
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
          {"source = \"sites.gpkg\"", "source = \"sites.gpkg\"\nonly = []",
           "STOP plan.toml:7: [sites] only names no site. Name one, or take only out for all."},
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
          {"total = 24", "total = 24\n[effort]\nchange = 0.2\n[effort.expected.PZZZ]\nmean = 2",
           "STOP plan.toml:20: [effort.expected] names PZZZ, and no sheet has that code. The codes are "
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

}  // namespace messages_test
