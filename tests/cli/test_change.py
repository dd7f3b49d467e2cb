"""Two seasons side by side: change on the same plots, and next season's plan."""
import csv
import json
import sqlite3

import numpy
from osgeo import ogr

import test_estimate
from season import NORTH, SIDE, WEST, SeasonCase, box

PLAN = test_estimate.PLAN.replace("total = 11", "total = 10").replace('allocation = "optimal"\n', "").split(
    "[sample.spread]")[0] + '[returns.search]\nQPR = ["PTUB"]\n'
MEADOW = [({"code": "QPR", "name": "Quill Prairie"}, box(WEST + 300, NORTH - 900, WEST + 900, NORTH - 300))]


class Change(SeasonCase):
    def season(self, name, seed, effort=""):
        folder = self.folder / name
        self.make(folder=folder, plan=PLAN.format(seed=seed) + effort, sites=MEADOW,
                  cover=numpy.full((SIDE, SIDE), 1, numpy.uint8), moisture=numpy.full((SIDE, SIDE), 20, numpy.uint8))
        self.tool("draw", f"{name}/plan.toml", check=0)
        with sqlite3.connect(folder / "season.gpkg") as store:
            return store.execute('SELECT name, inside_m2, twice_m2 FROM plots WHERE spare = 0 ORDER BY "order"').fetchall()

    def two_seasons(self, effort=""):
        """The same ten plots in two folders, all of them wholly inside. Returns their names."""
        for seed in range(2027, 2060):
            plots = self.season("then", seed)
            if len(plots) == 10 and all(abs(inside - 20) < 1e-6 and twice < 1e-6 for _, inside, twice in plots):
                self.assertEqual(self.season("now", seed, effort), plots)
                return [name for name, *_ in plots]
        self.fail("no seed of 33 has all plots inside")

    def received(self, name, year, stems):
        """Puts counts into a store as `receive` leaves them; a text in place of a number is a status."""
        store = ogr.Open(str(self.folder / name / "season.gpkg"), 1)
        table, add = test_estimate.Estimate.table, test_estimate.Estimate.add
        visits = table(store, "visits", visit=int, plot=str, date=str, observer=str, status=str)
        counts = table(store, "counts", visit=int, species=str, certainty=str, stems=int, method=str,
                       area_searched_m2=float, use=str)
        for number, (plot, count) in enumerate(stems.items(), 1):
            counted = isinstance(count, int)
            add(visits, visit=number, plot=plot, date=f"{year}-06-01", observer="041",
                status="counted" if counted else count)
            if counted:
                add(counts, visit=number, species="PTUB", certainty="sure", stems=count, method="counted",
                    area_searched_m2=20, use="used")
        searched = table(store, "searched", site=str, species=str, searched=int)
        add(searched, site="QPR", species="PTUB", searched=1)

    def the_story(self, effort=""):
        names = self.two_seasons(effort)
        self.received("then", 2026, dict(zip(names, [12, 0, 5, 9, 3, 0, 7, 16])))
        self.received("now", 2027, dict(zip(names, [10, 0, 4, 6, 3, 1, "not countable (mown)", 30, 15, 11])))
        # The last two are new, and the eighth was put 14 m farther east.
        store = ogr.Open(str(self.folder / "then" / "season.gpkg"), 1)
        store.ExecuteSQL(f"DELETE FROM plots WHERE name IN ('{names[8]}', '{names[9]}')")
        store = None
        store = ogr.Open(str(self.folder / "now" / "season.gpkg"), 1)
        plots = store.GetLayerByName("plots")
        plots.SetAttributeFilter(f"name = '{names[7]}'")
        plot = plots.GetNextFeature()
        point = plot.GetGeometryRef()
        point.SetPoint_2D(0, point.GetX() + 14, point.GetY())
        plot["east"] += 14
        plots.SetFeature(plot)
        return names

    def test_no_clear_change_on_six_pairs(self):
        """Story 8: −0.83 stems a plot (−17 %), 90 % −2.04 to +0.38, 6 pairs; 7, 8, 9 and 10 listed with reasons."""
        names = self.the_story()
        code, out, err = self.tool("estimate", "now/plan.toml", "--against", str(self.folder / "then" / "season.gpkg"))
        self.assertIn(code, (0, 1), err)
        self.assertIn("PTUB, all sites: −0.83 stems per plot (−17 %), 90 % −2.04 to +0.38, 6 pairs: no clear change.",
                      out)
        self.assertRegex(out, r"about 16 pairs would show a change of 20 %")
        self.assertRegex(out, names[6] + r"\s+not countable \(mown\) in 2027")
        self.assertRegex(out, names[7] + r"\s+moved 14 m: treated as a new plot")
        for new in names[8:]:
            self.assertRegex(out, new + r"\s+new, not among the plots of 2026")
        self.assertNotIn("+23 %", out)
        with open(self.folder / "now" / "out" / "estimates.csv") as file:
            rows = [row for row in csv.DictReader(file) if row["measure"] == "change in stems per ha"]
        self.assertEqual(len(rows), 1)
        self.assertAlmostEqual(float(rows[0]["value"]), -5 / 6 * 500, 4)
        self.assertEqual((rows[0]["plots"], rows[0]["degrees_freedom"]), ("6", "5"))
        with sqlite3.connect(self.folder / "now" / "season.gpkg") as store:
            kept = store.execute("SELECT value FROM estimates WHERE measure = 'change in stems per ha'").fetchall()
        self.assertAlmostEqual(kept[0][0], -5 / 6 * 500, 4)
        code, out, _ = self.tool("estimate", "now/plan.toml", "--against", str(self.folder / "then" / "season.gpkg"),
                                 "--json")
        change = json.loads(out)["change"]
        self.assertEqual(change["estimates"][0]["in_words"], "no clear change")
        self.assertEqual({plot["plot"]: plot["matching"] for plot in change["plots"]}[names[7]], "moved")

    def test_a_store_without_counts_is_refused(self):
        names = self.two_seasons()
        self.received("now", 2027, {name: 1 for name in names})
        code, _, err = self.tool("estimate", "now/plan.toml", "--against", str(self.folder / "then" / "season.gpkg"))
        self.assertEqual(code, 3, err)
        self.assertIn("season.gpkg: holds no count that can be used.", err)

    def test_next_season(self):
        self.the_story(effort="\n[effort]\nchange = 0.20\n")
        code, out, err = self.tool("next", "now/plan.toml", "--against", str(self.folder / "then" / "season.gpkg"))
        self.assertIn(code, (0, 1), err)
        self.assertIn("In 2027 teams were sent to 10 plots and counted 9; 10 % were not counted: "
                      "1 not countable (mown).", out)
        self.assertIn("Plots to plan for each question:", out)
        self.assertIn("refused = 0.1\n", out)
        with open(self.folder / "now" / "out" / "next-pilot.csv") as file:
            pilot = list(csv.DictReader(file))
        self.assertEqual(len(pilot), 8 + 9)
        self.assertEqual(sum(int(row["count"]) for row in pilot if row["season"] == "2027"), 80)
        lines = (self.folder / "now" / "out" / "next-plan.toml").read_text()
        self.assertIn("[sample.spread.PTUB]", lines)
        code, out, _ = self.tool("next", "now/plan.toml", "--json")
        self.assertEqual(json.loads(out)["spreads"][0]["pairs"], 0)

    def test_next_season_without_a_question(self):
        self.the_story()
        code, out, err = self.tool("next", "now/plan.toml")
        self.assertEqual(code, 1, err)
        self.assertIn("nothing to plan for: how big a change matters?", err)
