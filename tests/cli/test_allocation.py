"""Sharing out plots: over strata, over species, by cost; and chances that follow the score or a layer."""
import json
import re

import numpy
from osgeo import gdal

from season import NORTH, PLAN, SHEET, SIDE, WEST, SeasonCase, box, moisture_values, write_raster

SHARED = """total = 60
allocation = "optimal"
least_per_stratum = 5
spares = 0

[sample.spread]
AAA = 3.1
BBB = 4.8
CCC = 2.2
DDD = 7.5

[strata]
by = ["site"]
"""


class Allocation(SeasonCase):
    def four_sites(self, sample):
        """Sites of 184, 61, 142 and 23 ha, all of one score; no pond."""
        plan = PLAN.replace('[[sites.exclude]]\nsource = "ponds.gpkg"\nreason = "water"\n', "")
        head = plan[:plan.index("each = 6")]
        sites, north = [], NORTH
        for code, hectares in (("AAA", 184), ("BBB", 61), ("CCC", 142), ("DDD", 23)):
            sites.append(({"code": code, "name": code}, box(WEST, north - hectares * 10, WEST + 1000, north)))
            north -= hectares * 10
        cover = numpy.full((410, 100), 1, numpy.uint8)
        self.make(plan=head + sample, sites=sites, cover=cover, moisture=numpy.full((410, 100), 20, numpy.uint8))

    def numbers(self):
        return [planned for _, planned in sorted(self.rows("select site, planned from strata where planned > 0"))]

    def test_sixty_plots_over_four_strata(self):
        """Story 3: 25, 13, 14, 8 by area and spread; by area alone 27, 9, 21, 3."""
        self.four_sites(SHARED)
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        self.assertEqual(self.numbers(), [25, 13, 14, 8])
        self.assertIn("60 planned plots asked over 4 strata: at least 5 in each, poor habitat too, the rest by area × spread.", out)
        self.four_sites(re.sub(r"\[sample.spread\][^\[]*", "", SHARED.replace("optimal", "proportional").replace("stratum = 5", "stratum = 0")))
        self.tool("draw", "plan.toml", check=0)
        self.assertEqual(self.numbers(), [27, 9, 21, 3])

    def test_costs_and_a_budget(self):
        costs = "[sample.cost]\nAAA = 20\nBBB = 20\nCCC = 20\nDDD = 80\nEEE = 10\n[strata]"
        self.four_sites(SHARED.replace("[strata]", costs))
        _, out, err = self.tool("draw", "plan.toml", check=0)
        # Area × spread / √cost: 570.4, 292.8, 312.4 and 172.5 / 2 share sixty as 27, 14, 15, 4; the last keeps 5.
        self.assertEqual(self.numbers(), [27, 14, 14, 5])
        self.assertIn("They take 1,500 minutes.", out)
        self.assertRegex(out + err, r'\[sample.cost\] "EEE" belongs to no stratum')
        self.four_sites(SHARED.replace("[strata]", costs).replace("total = 60", "budget_minutes = 1400"))
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        numbers = self.numbers()
        spent = 20 * sum(numbers[:3]) + 80 * numbers[3]
        self.assertTrue(1320 < spent <= 1400, numbers)
        self.assertIn(f"They take {spent:,} of the 1400 minutes.", out)
        self.four_sites(SHARED.replace("[strata]", costs).replace("total = 60", "budget_minutes = 600"))
        self.refused("draw", "plan.toml", says="600 minutes asked, 700 needed for the minimum of 5 in each of 4 strata")

    def test_several_species_at_once(self):
        """A common species and a rare one that stands in one site only."""
        spread = """[sample.spread.PTUB]
target = 0.2
mean = { AAA = 2.0, BBB = 2.0, CCC = 2.0, DDD = 2.0 }
sd = { AAA = 3.0, BBB = 3.0, CCC = 3.0, DDD = 3.0 }

[sample.spread.PCOB]
target = 0.3
mean = { AAA = 0, BBB = 0, CCC = 0, DDD = 0.4 }
sd = { AAA = 0, BBB = 0, CCC = 0, DDD = 2.5 }

[strata]"""
        plan = re.sub(r"\[sample.spread\][^\[]*\[strata\]", spread, SHARED)
        self.four_sites(plan)
        (self.folder / "species" / "pcob.toml").write_text(SHEET.replace("PTUB", "PCOB").replace("tubaeflorus", "cobaea"))
        code, out, err = self.tool("draw", "plan.toml", check=0)
        numbers = self.numbers()
        self.assertEqual(sum(numbers), 60)
        self.assertGreater(numbers[3], 30)
        expected = {e["species"]: e for e in json.loads((self.folder / "out/certificate.json").read_text())["expected"]}
        # √(Σ A²S²/n) / ΣA·mean with numpy.
        area = numpy.array([184, 61, 142, 23.0])
        for species, mean, sd in (("PTUB", [2, 2, 2, 2], [3, 3, 3, 3]), ("PCOB", [0, 0, 0, .4], [0, 0, 0, 2.5])):
            error = numpy.sqrt(((area * sd) ** 2 / numbers).sum()) / (area * mean).sum()
            self.assertAlmostEqual(expected[species]["relative_standard_error"], error, places=6)
        self.assertRegex(out, r"Expected relative standard error of each total.*PCOB \d+ % \(30 % wanted\) and PTUB \d+ % \(20 % wanted\)")
        self.assertIn("expected relative standard error past 60 %: PCOB", out + err)
        (self.folder / "plan.toml").write_text((self.folder / "plan.toml").read_text().replace("spread.PCOB", "spread.PCOV"))
        self.refused("draw", "plan.toml", says=["[sample.spread.PCOV]", "no species", "Did you mean PCOB?"])

    def test_what_cannot_be_shared_out(self):
        self.four_sites(SHARED.replace("total = 60", "total = 19"))
        self.refused("draw", "plan.toml", says="19 asked, 20 needed for the minimum of 5 in each of 4 strata")
        self.four_sites(SHARED.replace("DDD = 7.5\n", ""))
        self.refused("draw", "plan.toml", says=["spread of counts in DDD", 'Add "DDD" ='])
        self.four_sites(re.sub(r"= \d\.\d\n", "= 0\n", SHARED))
        self.refused("draw", "plan.toml", says="spread 0 everywhere")
        self.four_sites(re.sub(r"\[sample.spread\][^\[]*", "", SHARED))
        self.refused("draw", "plan.toml", says=["plan.toml:", "needs the spread of plot counts"])


class Weights(SeasonCase):
    def draw_with(self, lines, check=0):
        self.make(plan=PLAN + lines + '\n[strata]\nby = ["site"]\n')
        return self.tool("draw", "plan.toml", check=check)

    def test_chances_in_proportion_to_the_score(self):
        _, out, _ = self.draw_with('weight = "score"\nweight_floor = 0.6')
        self.assertRegex(out, r"in proportion to score, in whole steps of 0.01 and at least 0.6: [\d.]+ ha have less, or none")
        sums = dict(self.rows("select stratum, weight_sum_m2 from strata"))
        plots = self.plots(where="spare = 0")
        self.assertEqual(len({p[7] for p in plots if p[1] == "QPR"}) > 1, True)
        for plot in plots:
            weight = max(plot[12], 0.6)
            self.assertAlmostEqual(plot[7], 6 * weight / sums[plot[2]], delta=1e-9 * plot[7])
            self.assertAlmostEqual(plot[7] * plot[8], 1, places=9)

    def test_ground_without_a_chance_stops(self):
        moisture = moisture_values()
        moisture[:, :50] = 2  # too dry for the species
        self.make(plan=PLAN + 'weight = "score"\n[strata]\nby = ["site"]\n', moisture=moisture)
        self.refused("draw", "plan.toml", says=["plan.toml:", 'weight = "score" is 0, or missing, on', "weight_floor"])
        self.assertFalse((self.folder / "season.gpkg").exists())

    def test_weights_that_are_none(self):
        self.make(plan=PLAN + 'weight = "cover"\n')
        self.refused("draw", "plan.toml", says=["weight names cover, which holds classes"])
        self.make(plan=PLAN + 'weight = "moistur"\n')
        self.refused("draw", "plan.toml", says=["weight names moistur", "Did you mean moisture?"])
        self.make(plan=PLAN.replace('unit = "percent"', "").replace("each = 6", 'each = 6\nweight = "moisture"'))
        values = numpy.tile(numpy.linspace(-20, 58, SIDE).astype(numpy.int16), (SIDE, 1))
        write_raster(self.folder / "moisture.tif", values, gdal.GDT_Int16)
        self.refused("draw", "plan.toml", says=['weight = "moisture"', "hold values below 0"])
