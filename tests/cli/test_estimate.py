"""Estimates from what came back: the worked site, nothing found, ground that could not be counted."""
import csv
import json
import sqlite3

import numpy
from osgeo import ogr

from season import NORTH, SIDE, WEST, SeasonCase, box

PLAN = """[season]
name = "Estimates"
crs = "EPSG:26914"
seed = {seed}

[sites]
source = "sites.gpkg"

[layers.cover]
source = "cover.tif"
classes = {{ 1 = "MP", 2 = "GL", 3 = "OW" }}

[layers.moisture]
source = "moisture.tif"
unit = "percent"

[sample]
shape = "belt"
size_m = [2, 10]
total = 11
allocation = "optimal"
least_per_stratum = 2
spares = 0

[sample.spread]
"0.75-1.00" = 3
"0.50-0.75" = 1
"0.25-0.50" = 1
"0.00-0.25" = 1

[returns.search]
QPR = ["PTUB"]
"""
# 12 ha of prairie above 30 ha of glade.
QUILL = [({"code": "QPR", "name": "Quill Prairie"}, box(WEST + 300, NORTH - 900, WEST + 900, NORTH - 200))]


def cover():
    values = numpy.full((SIDE, SIDE), 2, numpy.uint8)
    values[:40, :] = 1
    return values


class Estimate(SeasonCase):
    def season(self, seed):
        self.make(plan=PLAN.format(seed=seed), sites=QUILL, cover=cover(),
                  moisture=numpy.full((SIDE, SIDE), 20, numpy.uint8))
        self.tool("draw", "plan.toml", check=0)

    def plots(self):
        with sqlite3.connect(self.folder / "season.gpkg") as store:
            return store.execute("SELECT name, stratum, inside_m2, twice_m2 FROM plots WHERE spare = 0 ORDER BY stratum, "
                                 "\"order\"").fetchall()

    def inside_season(self):
        """A season all of whose plots lie wholly inside."""
        for seed in range(2027, 2060):
            self.season(seed)
            plots = self.plots()
            if all(abs(inside - 20) < 1e-6 and twice < 1e-6 for _, _, inside, twice in plots):
                return plots
        self.fail("no seed of 33 has all plots inside")

    def received(self, rows):
        """Puts visits and counts into the store as `receive` leaves them. Rows: plot, stems, area, status."""
        store = ogr.Open(str(self.folder / "season.gpkg"), 1)
        for name in ("visits", "counts", "searched"):
            if store.GetLayerByName(name) is not None:
                store.ExecuteSQL(f"DELLAYER:{name}")
        visits = self.table(store, "visits", visit=int, plot=str, date=str, observer=str, status=str)
        counts = self.table(store, "counts", visit=int, species=str, certainty=str, stems=int, method=str,
                            area_searched_m2=float, use=str)
        for number, (plot, stems, area, status) in enumerate(rows, 1):
            self.add(visits, visit=number, plot=plot, date="2024-06-01", observer="041", status=status)
            if status in ("counted", "part counted"):
                self.add(counts, visit=number, species="PTUB", certainty="sure", stems=stems, method="counted",
                         area_searched_m2=area, use="used")
        searched = self.table(store, "searched", site=str, species=str, searched=int)
        self.add(searched, site="QPR", species="PTUB", searched=1)

    def sent_in(self, rows):
        """The same through `receive`: a file as teams send it."""
        with open(self.folder / "counts.csv", "w", newline="") as file:
            out = csv.writer(file)
            out.writerow(["plot", "visit_date", "observer", "species", "certainty", "flowering_stems",
                          "area_searched_m2", "status", "sheet_id"])
            for number, (plot, stems, area, status) in enumerate(rows, 1):
                out.writerow([plot, "2024-06-01", "041", "PTUB", "sure", stems, area, status, 400 + number])
        _, out, err = self.tool("receive", "plan.toml", "counts.csv", "--today", "2024-06-05")
        self.assertNotIn("STOP", out + err)
        self.assertNotIn("ASK", out + err)

    @staticmethod
    def table(store, name, **columns):
        layer = store.CreateLayer(name, None, ogr.wkbNone)
        kinds = {int: ogr.OFTInteger, str: ogr.OFTString, float: ogr.OFTReal}
        for column, kind in columns.items():
            layer.CreateField(ogr.FieldDefn(column, kinds[kind]))
        return layer

    @staticmethod
    def add(layer, **values):
        row = ogr.Feature(layer.GetLayerDefn())
        for name, value in values.items():
            row.SetField(name, value)
        layer.CreateFeature(row)

    def strata(self, plots):
        high = [name for name, stratum, *_ in plots if "75-100" in stratum]
        low = [name for name, stratum, *_ in plots if "50-75" in stratum]
        self.assertEqual((len(high), len(low)), (6, 5), plots)
        return high, low

    def rows(self, **wanted):
        with open(self.folder / "out" / "estimates.csv") as file:
            return [row for row in csv.DictReader(file) if all(row[k] == v for k, v in wanted.items())]

    def test_the_worked_site(self):
        """Story 8: 4,286 and 200 stems a hectare; site 1,367 (SE 535), total 57,400 (SE 22,500), df 5.8, 90 % log-based
        650-2,860, symmetric 320-2,415."""
        high, low = self.strata(self.inside_season())
        stems = [0, 14, 3, 0, 22, 9]
        returned = [(name, y, 12 if i == 3 else 20, "part counted" if i == 3 else "counted")
                    for i, (name, y) in enumerate(zip(high, stems))]
        returned += [(name, y, 20, "counted") for name, y in zip(low, [0, 0, 2, 0, 0])]
        self.sent_in(returned)
        code, out, err = self.tool("estimate", "plan.toml", "--symmetric")
        self.assertEqual((code, err), (0, ""), out)
        for words in ("PTUB: flowering stems, 90 % limits", "4,286", "1,367", "535", "650–2,860", "57,400  22,500  5.8",
                      "320–2,415 s", "limits too narrow: 5 occupied plots, fewer than ten"):
            self.assertIn(words, out)
        self.assertNotIn("2,358", out)
        site = self.rows(where="QPR", stratum="", measure="stems per ha", limits_kind="log-based")[0]
        self.assertAlmostEqual(float(site["value"]), 1367.347, 2)
        self.assertEqual(site["plots"], "11")
        low_rows = self.rows(stratum=[s for s in {p[1] for p in self.plots()} if "50-75" in s][0],
                             measure="stems per ha")
        self.assertAlmostEqual(float(low_rows[0]["value"]), 200, 6)
        # The store, the table and the JSON hold the same.
        with sqlite3.connect(self.folder / "season.gpkg") as store:
            kept = store.execute('SELECT value, source FROM estimates WHERE "where" = \'QPR\' AND stratum IS NULL AND '
                                 "measure = 'total stems'").fetchone()
            ratio = store.execute("SELECT geodesic_ratio FROM sites").fetchone()[0]
        self.assertAlmostEqual(kept[0], 57428.571 * ratio, 1)
        self.assertIn("Cochran 1977", kept[1])
        whole = json.loads((self.folder / "out" / "estimates.json").read_text())
        self.assertEqual(len(whole["estimates"]), len(self.rows()))
        self.assertTrue(all(row["estimator"] and row["source"] for row in self.rows()))
        # The store is a product of the folder: run makes the same estimates again.
        before = (self.folder / "out" / "estimates.csv").read_bytes()
        self.tool("estimate", "plan.toml", check=0)
        plain = (self.folder / "out" / "estimates.csv").read_bytes()
        self.assertNotEqual(before, plain)  # without the symmetric limits
        (self.folder / "season.gpkg").unlink()
        self.tool("run", "plan.toml")
        self.assertEqual((self.folder / "out" / "estimates.csv").read_bytes(), plain)
        # In percent, and for one species.
        code, out, _ = self.tool("estimate", "plan.toml", "--confidence", "95", "--species", "PTUB", "--json", check=0)
        answer = json.loads(out)
        total = [row for row in answer["estimates"] if row["where"] == "QPR" and row["measure"] == "total stems"][0]
        self.assertEqual(total["confidence_percent"], 95)
        self.assertLess(total["limit_low"], 57428 / 2.1)

    def test_nothing_found_and_ground_that_was_refused(self):
        high, low = self.strata(self.inside_season())
        self.received([(name, 0, 20, "counted") for name in high] + [(name, "", "", "no permission") for name in low])
        code, out, _ = self.tool("estimate", "plan.toml")
        self.assertEqual(code, 0, out)
        self.assertIn("QPR: none found in 6 plots; up to 39 % of plots could hold it; under ", out)
        self.assertIn("if scattered at random, possibly more if clumped", out)
        self.assertIn("No estimate speaks of 30 ha: no plot counted (no permission: 5).", out)
        self.assertNotIn("absent", out)
        # Some refused: the headline, and totals of the accessible land beside.
        self.received([(name, 0, 20, "counted") for name in high] + [(name, 3, 20, "counted") for name in low[:2]] +
                      [(name, "", "", "no permission") for name in low[2:]])
        code, out, _ = self.tool("estimate", "plan.toml")
        self.assertEqual(code, 1, out)
        self.assertIn("of the ground could not be counted (no permission: 3 plots, 18 ha): estimates speak of the "
                      "accessible land", out)

    def test_what_cannot_be_done_is_said(self):
        self.season(2027)
        code, _, err = self.tool("estimate", "plan.toml")
        self.assertEqual(code, 3, err)
        self.assertIn("season.gpkg: holds no count that can be used. Take in what the teams sent: swardline receive "
                      "plan.toml FILE.", err)
        self.received([(name, 1, 20, "counted") for name, *_ in self.plots()])
        code, _, err = self.tool("estimate", "plan.toml", "--species", "PTUP")
        self.assertEqual(code, 3)
        self.assertIn("PTUP is not a species of the season. Did you mean PTUB?", err)
        self.assertEqual(self.tool("estimate", "plan.toml", "--confidence", "0.9")[0], 2)

    def test_figures_are_of_what_came_back_and_of_nothing_else(self):
        self.sent_in([(name, 1, 20, "counted") for name, *_ in self.inside_season()])
        self.tool("estimate", "plan.toml", check=0)
        table = (self.folder / "out" / "estimates.csv").read_bytes()
        # One species alone is shown, not kept in place of all.
        _, out, _ = self.tool("estimate", "plan.toml", "--species", "PTUB", check=0)
        self.assertIn("nothing was written", out)
        self.assertEqual((self.folder / "out" / "estimates.csv").read_bytes(), table)
        # A draw that moves plots which were counted is refused before anything is written.
        store = (self.folder / "season.gpkg").read_bytes()
        plan = (self.folder / "plan.toml").read_text()
        (self.folder / "plan.toml").write_text(plan.replace("seed = ", "seed = 9"))
        self.refused("draw", "plan.toml", says=["returns: counts have come back", "Nothing was written"])
        (self.folder / "plan.toml").write_text(plan)
        self.assertEqual((self.folder / "season.gpkg").read_bytes(), store)
        # A form is written over nothing but a blank form.
        before = (self.folder / "plan.toml").read_bytes()
        self.refused("receive", "plan.toml", "--form", "plan.toml", says=["is there already, and is no blank form"])
        self.assertEqual((self.folder / "plan.toml").read_bytes(), before)
        # Corrections that a killed run left in the list alone: no figure until the tables are made again.
        folder = self.folder / "returns"
        with open(folder / "received.csv") as file:
            name = list(csv.DictReader(file))[0]["file"]
        (folder / "corrections.csv").write_text(
            "file,row,column,old,new,who,when,why,evidence\r\n"
            f"{name},2,flowering_stems,1,2,B,2027-06-20,asked,sheet\r\n")
        self.refused("estimate", "plan.toml", says=["is behind what was received and corrected", "swardline receive plan.toml"])
        self.tool("receive", "plan.toml")
        self.tool("estimate", "plan.toml", check=0)
        self.assertNotEqual((self.folder / "out" / "estimates.csv").read_bytes(), table)
        self.refused("estimate", "plan.toml", "--against", "nowhere.gpkg", says=["nowhere.gpkg: is not there"])
        self.refused("estimate", "plan.toml", "--against", "season.gpkg", says=["season.gpkg: is a season of ", "not earlier than"])
