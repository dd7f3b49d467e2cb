"""blocks: ranked against a cell-by-cell count of our own; chosen blocks hold the draw."""
import csv
import json
import math

import numpy
from osgeo import gdal, ogr

from season import CELL, NORTH, PLAN, SIDE, WEST, SeasonCase, cover_values, moisture_values, square, write_raster, write_vectors

# Sites on whole cells, so that a cell is in or out.
SITES = [({"code": "QPR", "name": "Quill Prairie"}, square(WEST + 300, NORTH - 900, 550)),
         ({"code": "SKP", "name": "Skep Sand Prairie"}, square(WEST + 950, NORTH - 1500, 400))]
ELEVATION = '\n[layers.elevation]\nsource = "elevation.tif"\nunit = "m"\n'
START = '\n[sites.access]\nstart = "parking.gpkg"\nbarriers = "fences.gpkg"\ncrossings = "gates.gpkg"\n'


def elevation_values():
    """A plane, and a steep bank along one column."""
    rows, cols = numpy.mgrid[0:SIDE, 0:SIDE]
    heights = 100 + 0.5 * cols + 0.2 * rows
    return (heights + numpy.where(cols > 60, 12, 0)).astype(numpy.float32)


def slopes(heights):
    """Horn 1981, degrees; the rim has none."""
    z = heights.astype(float)
    east = (z[:-2, 2:] + 2 * z[1:-1, 2:] + z[2:, 2:] - z[:-2, :-2] - 2 * z[1:-1, :-2] - z[2:, :-2]) / (8 * CELL)
    south = (z[2:, :-2] + 2 * z[2:, 1:-1] + z[2:, 2:] - z[:-2, :-2] - 2 * z[:-2, 1:-1] - z[:-2, 2:]) / (8 * CELL)
    out = numpy.full(z.shape, numpy.nan)
    out[1:-1, 1:-1] = numpy.degrees(numpy.arctan(numpy.hypot(east, south)))
    return out


def scores():
    """Whole percents of the sheet's rule (graded, limiting factors only: the lowest); -1 excluded."""
    moisture, cover = moisture_values().astype(float), cover_values()
    response = numpy.interp(moisture, [5, 15, 30, 60], [0, 1, 1, 0])
    habitat = numpy.select([cover == 1, cover == 2], [1.0, 0.5], 0.0)
    percent = numpy.floor(100 * numpy.minimum(response, habitat) + 0.5)
    return numpy.where(cover == 3, -1, percent), response, habitat


class Blocks(SeasonCase):
    def season(self, plan=PLAN, blocks=""):
        plan = plan.replace("\n[[sites.exclude]]", START + "\n[[sites.exclude]]").replace("\n[sample]", ELEVATION + "\n[sample]")
        self.make(plan=plan + blocks, sites=SITES)
        write_raster(self.folder / "elevation.tif", elevation_values(), gdal.GDT_Float32)
        write_vectors(self.folder / "parking.gpkg", [({"site": "QPR"}, f"POINT({WEST + 200} {NORTH - 600})")], kind=ogr.wkbPoint)
        write_vectors(self.folder / "fences.gpkg", [({"name": "fence"}, f"LINESTRING({WEST + 600} {NORTH},{WEST + 600} {NORTH - 2000})")], kind=ogr.wkbLineString)
        write_vectors(self.folder / "gates.gpkg", [({"name": "gate"}, f"POINT({WEST + 600} {NORTH - 100})")], kind=ogr.wkbPoint)

    def ranked(self, *words):
        _, out, _ = self.tool("blocks", "plan.toml", "--json", *words, check=0)
        return {b["block"]: b for b in json.loads(out)["blocks"]}

    def test_blocks_are_what_their_cells_are(self):
        self.season()
        blocks = self.ranked()
        percent, response, habitat = scores()
        slope = slopes(elevation_values())
        seen, caution = 0, 0
        for fields, wkt in SITES:
            x0, x1, y0, y1 = ogr.CreateGeometryFromWkt(wkt).GetEnvelope()
            survey = numpy.zeros((SIDE, SIDE), bool)
            survey[round((NORTH - y1) / CELL):round((NORTH - y0) / CELL), round((x0 - WEST) / CELL):round((x1 - WEST) / CELL)] = True
            if fields["code"] == "QPR":  # the pond of the plan
                survey[64:70, 50:56] = False
            worth = {}
            for east in range(math.floor(x0 / 100), math.ceil(x1 / 100)):
                for north in range(math.floor(y0 / 100), math.ceil(y1 / 100)):
                    square_of = numpy.zeros((SIDE, SIDE), bool)
                    row, col = round((NORTH - (north + 1) * 100) / CELL), round((east * 100 - WEST) / CELL)
                    square_of[row:row + 10, col:col + 10] = True
                    here = square_of & survey
                    if not here.any():
                        continue
                    block = blocks[f"{fields['code']} {east % 10000:04}-{north % 10000:04}"]
                    seen += 1
                    rule = block["species"][0]
                    scored = here & (percent >= 0)
                    self.assertAlmostEqual(block["ground_m2"], 100 * here.sum(), 3)
                    self.assertAlmostEqual(rule["scored_m2"], 100 * scored.sum(), 3)
                    self.assertAlmostEqual(rule["excluded_m2"], 100 * (here & (percent < 0)).sum(), 3)
                    if scored.any():
                        self.assertAlmostEqual(rule["mean_score"], percent[scored].mean() / 100, 9)
                        worth[block["block"]] = percent[scored].sum()
                        lost = 100 - percent
                        by = {"moisture": (lost * (scored & (response <= habitat))).sum(),
                              "cover": (lost * (scored & (habitat < response))).sum()}
                        if abs(by["moisture"] - by["cover"]) > 1e-9 and max(by.values()) > 0:
                            self.assertEqual(rule["held_down_by"], max(by, key=by.get), block["block"])
                    self.assertAlmostEqual(block["slope_mean_deg"], slope[here].mean(), delta=0.011)
                    self.assertAlmostEqual(block["slope_steepest_deg"], slope[here].max(), delta=0.011)
                    steep = slope[here].max() > 25
                    self.assertEqual("slopes up to" in block.get("caution", ""), steep, block)
                    caution += steep
            ranks = {name: blocks[name]["species"][0]["rank"] for name in worth}
            self.assertEqual(sorted(ranks.values()), list(range(1, len(worth) + 1)))
            for a in worth:
                for b in worth:
                    if worth[a] > worth[b]:
                        self.assertLess(ranks[a], ranks[b])
        self.assertEqual(seen, len(blocks))
        self.assertGreater(caution, 0)

    def test_ways_are_straight_or_by_the_gate(self):
        self.season()
        blocks = self.ranked()
        near = blocks["QPR 6503-2094"]
        self.assertEqual(near["way"], "straight")
        self.assertAlmostEqual(near["metres_from_start"], math.hypot(150, 50), 3)
        far = blocks["QPR 6507-2094"]
        self.assertEqual(far["way"], "past a barrier")
        by_gate = math.hypot(400, 500) + math.hypot(150, 450)
        self.assertAlmostEqual(far["metres_from_start"], by_gate, delta=0.1)
        self.assertEqual(blocks["SKP 6510-2087"]["way"], "no start given")

    def test_files_and_words_hold_the_same(self):
        self.season()
        blocks = self.ranked()
        with open(self.folder / "out/blocks.csv", encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        self.assertEqual({r["block"] for r in rows}, set(blocks))
        for row in rows:
            rule = blocks[row["block"]]["species"][0]
            self.assertEqual(row["rank"], str(rule.get("rank", "")))
            self.assertAlmostEqual(float(row["scored_m2"]), rule["scored_m2"], 2)
            self.assertEqual(row["chosen"], "no")
        self.assertEqual([r["rank"] for r in rows if r["site"] == "QPR"][:2], ["1", "2"])
        source = ogr.Open(str(self.folder / "out/blocks.gpkg"))
        layer = source.GetLayerByName("blocks")
        self.assertEqual(layer.GetSpatialRef().GetAuthorityCode(None), "26914")
        area = {f["block"]: f.GetGeometryRef().GetArea() for f in layer}
        self.assertEqual(set(area), set(blocks))
        for name, value in area.items():
            self.assertAlmostEqual(value, blocks[name]["ground_m2"], 2)
        _, out, _ = self.tool("blocks", "plan.toml", "--species", "PTUB", "--top", "2", check=0)
        best = [r["block"] for r in rows if r["rank"] in ("1", "2")]
        self.assertEqual([line.split()[1] + " " + line.split()[2] for line in out.splitlines() if line.strip()[:2] in ("1 ", "2 ")], best)
        self.assertIn("estimates then speak for the chosen ground alone", out)
        self.assertFalse(self.leftovers())

    def test_threads_and_side(self):
        self.season()
        one = self.ranked("--threads", "1", "--side", "50")
        csv_one = (self.folder / "out/blocks.csv").read_bytes()
        self.assertEqual(self.ranked("--threads", "3", "--side", "50"), one)
        self.assertEqual((self.folder / "out/blocks.csv").read_bytes(), csv_one)
        self.assertGreater(len(one), 100)
        self.refused("blocks", "plan.toml", "--side", "105", says="a block of 105 m is no whole number of cells of 10 m. Write 100 or 110.")
        self.refused("blocks", "plan.toml", "--species", "PTUX", says="has no scored species 'PTUX'")

    def test_a_chosen_block_holds_the_draw(self):
        self.season(blocks='\n[blocks]\nchosen = ["QPR 6504-2093", "QPR 6505-2093"]\n')
        _, out, _ = self.tool("draw", "plan.toml")
        kept = json.loads((self.folder / "out/certificate.json").read_text())
        ground = 100 * 100 * 2 - 60 * 60  # the pond covers a corner of one of them
        (chosen,) = kept["chosen_blocks"]
        self.assertEqual(chosen["blocks"], ["QPR 6504-2093", "QPR 6505-2093"])
        self.assertAlmostEqual(chosen["chosen_m2"], ground, 2)
        self.assertAlmostEqual(chosen["share"], ground / (550 * 550 - 60 * 60), 6)
        self.assertIn(chosen["speaks_for"], out)
        self.assertIn("never for the site", out)
        self.assertIn(chosen["speaks_for"], (self.folder / "out/design.html").read_text(encoding="utf-8"))
        plots = self.rows("select east, north from plots where site = 'QPR'")
        self.assertGreater(len(plots), 5)
        for east, north in plots:
            self.assertTrue(WEST + 400 <= east <= WEST + 600 and NORTH - 700 <= north <= NORTH - 600, (east, north))
        (area,) = self.rows("select sum(area_m2) from strata where site = 'QPR'")[0]
        self.assertAlmostEqual(area, ground, 2)
        elsewhere = self.rows("select count(*) from plots where site = 'SKP'")[0][0]
        self.assertGreater(elsewhere, 5)
        self.assertTrue(self.ranked()["QPR 6504-2093"]["chosen"])

    def test_a_block_that_is_not_there_stops_the_draw(self):
        self.season(blocks='\n[blocks]\nchosen = ["QPR 0001-0001"]\n')
        self.found_by_check("QPR 0001-0001 holds no survey area of QPR")
        self.refused("draw", "plan.toml", says=["plan.toml:", "QPR 0001-0001 holds no survey area of QPR"])
        self.assertFalse((self.folder / "season.gpkg").exists())
