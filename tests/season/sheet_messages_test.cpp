// Every defect of a sheet, and of sheets beside a plan: where, what, and what to do.
#include "message_cases.hpp"

namespace sheet_messages_test {

using namespace swardline;
using namespace swardline::testing;

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

}  // namespace sheet_messages_test
