"""Transects from the command line: drawn, told in words, exported, and refused where they cannot be laid."""
import json
import math
import subprocess

import numpy
from osgeo import gdal, ogr

from season import NORTH, PLAN, SHARED, SIDE, SOURCE, WEST, SeasonCase, write_raster, write_vectors

SLOPE = 0.2  # metres of rise a metre, eastwards
LINES = 'length_m = 40\nwidth_m = 2\nbearing = 80\n'


def plan_with(transect, declination='degrees = -1.5\ndate = "2026-10-01"\nsource = "survey sheet 14"\n', sample=""):
    plan = PLAN.replace('shape = "belt"\nsize_m = [2, 10]\n', f'unit = "transect"\n{sample}')
    plan = plan.replace("[sample]", '[layers.elevation]\nsource = "elevation.tif"\nunit = "m"\n\n[sample]')
    return plan + f"\n[transect]\n{transect}" + (f"\n[declination]\n{declination}" if declination else "")


def true_bearing(start, end):
    """On the WGS84 ellipsoid, for a few dozen metres: radii of curvature in the meridian and across it."""
    a, f = 6378137.0, 1 / 298.257223563
    e2 = f * (2 - f)
    latitude = math.radians((start[0] + end[0]) / 2)
    w = math.sqrt(1 - e2 * math.sin(latitude) ** 2)
    north = math.radians(end[0] - start[0]) * a * (1 - e2) / w ** 3
    east = math.radians(end[1] - start[1]) * a / w * math.cos(latitude)
    return math.degrees(math.atan2(east, north)) % 360, math.hypot(east, north)


class Transects(SeasonCase):
    def make_lines(self, transect=LINES, **keys):
        rise = numpy.tile((numpy.arange(SIDE) * 10 * SLOPE).astype(numpy.float32), (SIDE, 1))
        write_raster(self.folder / "elevation.tif", rise, kind=gdal.GDT_Float32)
        self.make(plan=plan_with(transect, **keys))

    def lines(self, where="kind != 'reference'"):
        store = ogr.Open(str(self.folder / "season.gpkg"))
        table = store.GetLayerByName("transects")
        table.SetAttributeFilter(where)
        return [(dict(f.items()), f.GetGeometryRef().Clone()) for f in table]

    def areas(self):
        store = ogr.Open(str(self.folder / "season.gpkg"))
        return {f["code"]: f.GetGeometryRef().Clone() for f in store.GetLayerByName("sites")}

    def test_a_draw_of_transects_agrees_with_another_reading_of_the_ground(self):
        self.make_lines()
        _, out, _ = self.tool("draw", "plan.toml", "--json", check=0)
        summary = json.loads(out)
        self.assertEqual(summary["planned"], 18)
        self.assertEqual(summary["spares"], 9)
        areas = self.areas()
        rows = self.lines()
        self.assertEqual(len(rows), 27)
        for row, line in rows:
            inside = line.Intersection(areas[row["site"]])
            if "just outside" not in row["stake_out"]:  # else only the belt's edge is inside
                self.assertAlmostEqual(inside.Length(), row["length_m"], delta=0.01)
            self.assertLessEqual(row["length_m"], 40.001)
            # Starts are drawn from more than the site; each planned one stands for its share.
            self.assertGreater(row["start_ground_m2"], areas[row["site"]].GetArea())
            self.assertAlmostEqual(row["chance_per_m2"] * row["start_ground_m2"], 6, places=6)
            bearing, metres = true_bearing((row["lat"], row["lon"]), (row["end_lat"], row["end_lon"]))
            if metres > 5:
                self.assertLess(abs((bearing - row["bearing"] + 180) % 360 - 180), 0.05)
            self.assertAlmostEqual((row["bearing"] + 1.5) % 360, row["bearing_magnetic"], places=6)
            # Tape: the ground rises with x alone.
            grid = math.radians(row["grid_bearing"])
            laid = line.GetGeometryRef(line.GetGeometryCount() - 1)
            x, y, _ = laid.GetPoint(laid.GetPointCount() - 1)
            level = math.hypot(x - row["east"], y - row["north"])
            self.assertAlmostEqual(row["tape_m"], level * math.hypot(1, SLOPE * math.sin(grid)), delta=0.02)
            self.assertIn(f"Lay {row['tape_m']:.1f} m of tape", row["stake_out"])
            self.assertIn("magnetic", row["stake_out"])
        words = (self.folder / "out/stake-out.txt").read_text()
        self.assertIn("survey sheet 14", words)
        for row, _ in rows:
            self.assertIn(row["name"], words)
        for site in areas:
            self.assertIn("transect, at its start", (self.folder / f"out/maps/{site}.svg").read_text())

    def test_belts_and_folds_add_up(self):
        self.make_lines(LINES + 'boundary = "reflect"\n')
        self.tool("draw", "plan.toml", check=0)
        areas = self.areas()
        folded = 0
        for row, line in self.lines():
            self.assertAlmostEqual(row["length_m"], 40, places=6)
            belt = ogr.CreateGeometryFromWkt(flat_belt(line, 1))
            self.assertAlmostEqual(belt.Intersection(areas[row["site"]]).GetArea(), row["inside_m2"], delta=0.05)
            self.assertLessEqual(row["inside_m2"] + row["twice_m2"], 80.01)
            self.assertAlmostEqual(row["start_ground_m2"], areas[row["site"]].GetArea(), delta=0.5)
            folded += "folded back" in row["stake_out"]
            self.assertEqual("folded back" in row["stake_out"], line.Length() < 39.99)
        self.assertGreater(folded, 0)

    def test_points_for_units_hold_starts_ends_frames_and_the_lines(self):
        self.make_lines('length_m = 40\nbearing = 80\nstep_m = 10\nframe_m = [0.5, 1]\n')
        self.tool("draw", "plan.toml", check=0)
        self.tool("points", "plan.toml", "--as", "gpx,geojson,kml,csv,gpkg", "--name-profile", "8", check=0)
        stations = self.rows("select count(*) from stations")[0][0]
        self.assertGreater(stations, 50)
        gpx = ogr.Open(str(self.folder / "out/points/plots.gpx"))
        kinds = {}
        names = set()
        for point in gpx.GetLayerByName("waypoints"):
            kinds.setdefault(point["type"], []).append(point)
            names.add(point["name"])
            self.assertLessEqual(len(point["name"]), 8)
        self.assertEqual(len(kinds["transect start"]) + len(kinds["spare transect start"]), 27)
        self.assertEqual(len(kinds["transect end"]) + len(kinds["spare transect end"]), 27)
        self.assertEqual(len(kinds["station"]) + len(kinds["spare station"]), stations)
        self.assertEqual(len(names), 54 + stations)
        tracks = [t["type"] for t in gpx.GetLayerByName("tracks")]
        self.assertEqual(tracks.count("transect"), 27)
        schema = SHARED / "references/data/gpx-1.1.xsd"
        if schema.exists():
            done = subprocess.run(["xmllint", "--noout", "--schema", str(schema),
                                   str(self.folder / "out/points/plots.gpx")], capture_output=True, text=True)
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_reference_lines_are_kept_out_of_the_draw(self):
        write_vectors(self.folder / "lines.gpkg",
                      [({"name": "old line"}, f"LINESTRING({WEST + 400} {NORTH - 500},{WEST + 440} {NORTH - 500})")],
                      kind=ogr.wkbLineString)
        self.make_lines(LINES + 'reference_lines = "lines.gpkg"\n')
        self.tool("draw", "plan.toml", check=0)
        (row, _), = self.lines("kind = 'reference'")
        self.assertEqual((row["name"], row["site"]), ("old line", "QPR"))
        self.assertIsNone(row["chance_per_m2"])
        self.assertEqual(len(self.lines()), 27)
        self.assertEqual(self.rows("select count(*) from names where name = 'old line'")[0][0], 0)

    def test_the_model_gives_the_declination(self):
        self.make_lines(declination=f'model = "{SOURCE / "samples/WMM2025.COF"}"\ndate = "2027-05-28"\n')
        self.tool("draw", "plan.toml", check=0)
        for row, _ in self.lines():
            east = (row["bearing"] - row["bearing_magnetic"] + 180) % 360 - 180
            self.assertTrue(0 < east < 6, east)  # some degrees east at 38 N, 97 W
        self.assertIn("WMM-2025 for 2027-05-28", (self.folder / "out/stake-out.txt").read_text())

    def test_bad_input_is_one_clear_line(self):
        cases = (('length_m = 4000\nwidth_m = 2\n', "are longer than QPR, which is 707 m at its longest"),
                 ('length_m = 25\nstep_m = 0.5\nframe_m = 1\n', "frames would overlap: each is 1 m along the line"),
                 ('length_m = 25\nstep_m = 30\nframe_m = 1\n', "step_m = 30 is more than length_m = 25"),
                 ('length_m = 25\nwidth_m = 2\nlay = "baseline"\n', "does not say which way the baseline runs"))
        for transect, says in cases:
            self.make_lines(transect) if not (self.folder / "sites.gpkg").exists() else \
                (self.folder / "plan.toml").write_text(plan_with(transect))
            self.refused("draw", "plan.toml", says=says)
        (self.folder / "plan.toml").write_text(plan_with(LINES).replace("[transect]", '[strata]\nby = ["score"]\n\n[transect]'))
        self.refused("draw", "plan.toml", says="a transect runs through several score bands")
        (self.folder / "plan.toml").write_text(plan_with(LINES, declination='degrees = 2\ndate = "2019-05-01"\n'))
        self.found_by_check("after two years it may be off", severity="ASK")


def flat_belt(line, half):
    """The rectangle about a straight line, ends square."""
    first = line.GetGeometryRef(0)
    x0, y0, _ = first.GetPoint(0)
    x1, y1, _ = first.GetPoint(first.GetPointCount() - 1)
    length = math.hypot(x1 - x0, y1 - y0)
    ax, ay = (y1 - y0) / length * half, -(x1 - x0) / length * half
    return (f"POLYGON(({x0 + ax} {y0 + ay},{x1 + ax} {y1 + ay},{x1 - ax} {y1 - ay},{x0 - ax} {y0 - ay},"
            f"{x0 + ax} {y0 + ay}))")
