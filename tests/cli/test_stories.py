"""Stories of a season, on the demo valley: datum, awkward ground, names and notations."""
import csv
import json
import pathlib
import re
import shutil

from osgeo import ogr

from season import SOURCE, SeasonCase, PLAN, square, write_raster, write_vectors, SHEET, NORTH, WEST, cover_values, moisture_values

VALLEY = SOURCE / "samples/ambry-valley"


class Valley(SeasonCase):
    def valley(self, folder="valley"):
        target = self.folder / folder
        shutil.copytree(VALLEY, target, ignore=shutil.ignore_patterns("out", "season.gpkg"))
        return target

    def test_the_season_as_received_stops_and_names_the_trouble(self):
        folder = self.valley()
        code, out, err = self.tool("check", "plan-as-received.toml", folder=folder)
        self.assertEqual(code, 1, err)
        for words in ("no coordinate system", "Nothing was guessed", "GRV", "HDR", "self-crossing"):
            self.assertIn(words, out)
        self.assertIn("not usable", out)
        code, _, err = self.tool("draw", "plan-as-received.toml", folder=folder)
        self.assertEqual(code, 3)
        code, _, err = self.tool("run", "plan-as-received.toml", folder=folder)
        self.assertEqual(code, 3)
        self.assertRegex(err, r"1 more STOP finding: swardline check plan-as-received.toml shows everything")

    def test_the_season_put_right_runs_through(self):
        folder = self.valley()
        code, out, err = self.tool("run", "plan.toml", folder=folder)
        self.assertIn(code, (0, 1), err)
        sites = {row[0] for row in self.rows("select code from sites", folder)}
        self.assertEqual(len(sites), 12)
        self.assertEqual(len(list((folder / "out/score").glob("*.tif"))), 10)
        self.assertEqual(len(list((folder / "out/held-down").glob("*.tif"))), 10)
        planned = self.rows("select count(*) from plots where spare = 0", folder)[0][0]
        self.assertGreater(planned, 200)
        for path in folder.rglob("*"):
            if path.is_file() and "received" not in path.parts and path.name.endswith((".gpx", ".json", ".svg")):
                self.assertNotIn("owner", path.read_text(errors="ignore").lower(), path)

    def test_reading_unlabelled_numbers_as_nad27_moves_them_by_about_211_m(self):
        """Story 1. The point 761688.07 E 4209802.98 N is near 761656.8 E 4210011.8 N in NAD83; a route without
        the datum grid may be 10 m off, and its accuracy is printed."""
        folder = self.folder
        self.make()
        x, y = 761688.07, 4209802.98
        write_vectors(folder / "quill.gpkg", [({"code": "QPR", "name": "Quill Prairie"}, square(x - 300, y - 300, 600))], crs=None)
        sx, sy = 761656.8, 4210011.8
        parking = [({"site": "QPR"}, f"POINT({sx - 300} {sy})"), ({"site": "QPR"}, f"POINT({sx} {sy - 300})"),
                   ({"site": "QPR"}, f"POINT({sx + 300} {sy + 299})")]
        write_vectors(folder / "parking.gpkg", parking, kind=ogr.wkbPoint)
        for name, values in (("cover", cover_values()), ("moisture", moisture_values())):
            write_raster(folder / f"{name}.tif", values, west=760600.0, north=4211000.0)
        plan = PLAN.replace('source = "sites.gpkg"', 'source = {source}\n[sites.access]\nstart = "parking.gpkg"')
        plan = plan.replace('[[sites.exclude]]\nsource = "ponds.gpkg"\nreason = "water"\n', "")

        (folder / "plan.toml").write_text(plan.replace("{source}", '"quill.gpkg"'))
        self.refused("draw", "plan.toml", says=["quill.gpkg", "no coordinate system", "crs ="])

        (folder / "plan.toml").write_text(plan.replace("{source}", '{ file = "quill.gpkg", crs = "EPSG:26914" }'))
        flag = self.found_by_check("QPR", "NAD27", severity="ASK")
        metres = int(re.search(r"sits (\d+) m", flag["meaning"]).group(1))
        self.assertTrue(201 <= metres <= 221, flag)
        self.assertRegex(flag["meaning"], r"3\d m east, 20\d m south|2\d m east, 2\d\d m south|3\d m east, 21\d m south")

        (folder / "plan.toml").write_text(plan.replace("{source}", '{ file = "quill.gpkg", crs = "EPSG:26714" }'))
        _, out, _ = self.tool("check", "plan.toml")
        self.assertRegex(out, r"NAD27.*accuracy")
        code, _, err = self.tool("draw", "plan.toml")
        self.assertIn(code, (0, 1), err)
        store = ogr.Open(str(folder / "season.gpkg"))
        feature = store.GetLayerByName("sites").GetNextFeature()
        site = feature.GetGeometryRef().Centroid()
        self.assertLess(abs(site.GetX() - sx), 10)
        self.assertLess(abs(site.GetY() - sy), 10)

    def test_the_demo_with_the_wrong_datum_declared_is_found_out(self):
        """Story 1 on the demo: NAD27 numbers called NAD83 lie about 31 m east and 209 m south of their place."""
        folder = self.valley()
        plan = (folder / "plan.toml").read_text()
        self.assertIn('crs = "EPSG:26714"', plan)
        (folder / "plan.toml").write_text(plan.replace('crs = "EPSG:26714"', 'crs = "EPSG:26914"'))
        flag = self.found_by_check("QPR", "looks like NAD27 read as NAD83", severity="ASK", folder=folder)
        self.assertRegex(flag["meaning"], r"sits 2[01]\d m \((2|3)\d m east, (20|21)\d m south\)")
        (folder / "plan.toml").write_text(plan)
        _, out, _ = self.tool("check", "plan.toml", folder=folder)
        self.assertNotIn("looks like NAD27", out)

    def test_awkward_ground(self):
        """Story 4: a glade with a pond, a site smaller than the spacing, a verge; twice the same; alone the same."""
        folder = self.valley()
        plan = (folder / "plan.toml").read_text()
        plan = re.sub(r"total = \d+", "each = 6", plan)
        (folder / "plan.toml").write_text(plan)
        self.tool("draw", "plan.toml", folder=folder)
        first = self.plots(folder)
        self.tool("draw", "plan.toml", folder=folder)
        self.assertEqual(first, self.plots(folder))
        (folder / "plan.toml").write_text(plan.replace('code = "code"', 'code = "code"\nonly = ["CND", "FLG", "PEL"]'))
        code, out, _ = self.tool("draw", "plan.toml", folder=folder)
        for site in ("CND", "FLG", "PEL"):
            self.assertEqual([p for p in first if p[1] == site], self.plots(folder, f"site = '{site}'"))

        glade = [p for p in first if p[1] == "CND"]
        ponds = ogr.Open(str(folder / "ponds.gpkg"))
        water = [f.GetGeometryRef().Buffer(3 - 1e-3) for f in ponds.GetLayer(0)]
        for plot in glade:
            point = ogr.Geometry(ogr.wkbPoint)
            point.AddPoint_2D(plot[5], plot[6])
            self.assertFalse(any(w.Contains(point) for w in water), plot[0])
        self.assertTrue(any(p[10] < 19.99 for p in first), "no plot lies at an edge")
        self.assertTrue(any(p[11] > 0 for p in first), "no plot has a count-twice zone")

        bridges = ogr.Open(str(folder / "bridges.gpkg"))
        spans = [f.GetGeometryRef().Clone() for f in bridges.GetLayer(0)]
        verge = [p for p in first if p[1] == "PEL"]
        self.assertEqual(len(verge), 18)
        for plot in verge:
            point = ogr.Geometry(ogr.wkbPoint)
            point.AddPoint_2D(plot[5], plot[6])
            self.assertFalse(any(s.Contains(point) for s in spans), plot[0])

    def test_a_verge_is_drawn_in_segments(self):
        """Story 4 (c): 3.4 km of road, verges of 2 to 5 m, 20 m segments on both sides, none on the bridge."""
        folder = self.valley()
        plan = (folder / "plan.toml").read_text().replace('code = "code"', 'code = "code"\nonly = ["PEL"]')
        (folder / "plan.toml").write_text(plan)
        code, out, err = self.tool("draw", "plan.toml", folder=folder, check=0)
        self.assertRegex(out, r"PEL: 20 m segments along 3\.4 km, both sides; 338 possible \(169 left, 169 right\)")
        self.assertRegex(out, r"PEL: 12 of 338 segments, the chance of each 12/338; not part of the total")
        self.assertRegex(err, r"NOTE .*traffic.*permit.*local rules")
        rows = self.rows("select name, side, from_m, to_m, inside_m2, twice_m2, chance_per_m2, weight_m2, spare, walk, "
                         "east, north, tape, bearing from plots where site = 'PEL' order by spare, walk, name", folder)
        self.assertEqual([r[8] for r in rows].count(0), 12)
        self.assertEqual([r[8] for r in rows].count(1), 6)

        # By GDAL's own geometry: the line as one, its length, and where each pin lies along and beside it.
        roads = ogr.Open(str(folder / "verges.gpkg"))
        line = ogr.Geometry(ogr.wkbLineString)
        widths = {}
        for feature in roads.GetLayer(0):
            part = feature.GetGeometryRef()
            part = part.GetGeometryRef(0) if part.GetGeometryName() == "MULTILINESTRING" else part
            start = line.Length()
            for i in range(part.GetPointCount()):
                if i > 0 or line.GetPointCount() == 0:
                    line.AddPoint_2D(*part.GetPoint_2D(i))
            widths[(start, line.Length())] = (float(feature["left_m"]), float(feature["right_m"]))
        self.assertAlmostEqual(line.Length(), 3400, delta=5)
        bridges = ogr.Open(str(folder / "bridges.gpkg"))
        span = [f.GetGeometryRef().Clone() for f in bridges.GetLayer(0)][0]
        sides, areas = set(), set()
        for name, side, low, high, inside, twice, chance, weight, spare, walk, east, north, tape, bearing in rows:
            middle = (low + high) / 2
            left, right = next(w for (a, b), w in widths.items() if a <= middle <= b)
            width = left if side == "left" else right
            self.assertAlmostEqual(high - low, 20, delta=0.001 if high < 3380 else 20)
            self.assertAlmostEqual(inside, 20 * width, delta=0.12 * 20 * width, msg=tape)
            self.assertEqual(twice, 0)
            self.assertAlmostEqual(chance * inside, 12 / 338, places=9)
            self.assertAlmostEqual(weight, 0 if spare else inside * 338 / 12, places=6)
            pin = ogr.Geometry(ogr.wkbPoint)
            pin.AddPoint_2D(east, north)
            self.assertFalse(span.Contains(pin), name)
            self.assertAlmostEqual(pin.Distance(line), 3.5 + width / 2, delta=0.05, msg=tape)
            on = line.Value(middle)
            self.assertLess(on.Distance(pin), 3.5 + width / 2 + 0.5, tape)
            ahead, back = line.Value(min(middle + 5, line.Length())), line.Value(middle - 5)
            cross = (ahead.GetX() - back.GetX()) * (north - back.GetY()) - (ahead.GetY() - back.GetY()) * (east - back.GetX())
            self.assertEqual(side, "left" if cross > 0 else "right", tape)
            self.assertRegex(tape, rf"^segment \d+ {side}, from [\d,.]+ m to [\d,.]+ m along the line")
            sides.add(side)
            areas.add(round(inside))
        self.assertEqual(sides, {"left", "right"})
        self.assertGreater(len(areas), 5, "areas differ")
        walked = [r[2] for r in rows if r[8] == 0]
        self.assertIn(walked, (sorted(walked), sorted(walked, reverse=True)), "walked along the line")

        self.tool("points", "plan.toml", "--as", "csv,gpx", folder=folder, check=0)
        with open(folder / "out/points/plots.csv", encoding="utf-8") as lines:
            written = {r["plot"]: r for r in csv.DictReader(lines)}
        for row in rows:
            self.assertEqual(written[row[0]]["side"], row[1])
            self.assertAlmostEqual(float(written[row[0]]["from_m"]), row[2], delta=0.06)
        self.assertIn("along the line", (folder / "out/points/plots.gpx").read_text())
        kept = json.loads((folder / "out/certificate.json").read_text())["strata"]
        self.assertEqual([(s["stratum"], s["segments"], s["chance_per_m2"]) for s in kept], [("PEL|segments|v1", 338, None)])
        self.assertAlmostEqual(kept[0]["chance"], 12 / 338, places=12)
        page = (folder / "out/design.html").read_text(encoding="utf-8")
        self.assertIn("By hand, PEL|segments|v1: 12 ÷ 338 = 0.0355030", page)
        self.assertGreater((folder / "out/maps/PEL.svg").read_text().count('class="unit"'), 17)

    def test_a_site_smaller_than_the_spacing_takes_what_fits(self):
        folder = self.valley()
        plan = (folder / "plan.toml").read_text()
        plan = self.without_panels(re.sub(r"total = \d+", "each = 10", plan)).replace("apart_m = 12", "apart_m = 15")
        plan = plan.replace('code = "code"', 'code = "code"\nonly = ["FLG"]').replace('by = ["site", "score"]', 'by = ["site"]')
        (folder / "plan.toml").write_text(plan)
        code, out, err = self.tool("draw", "plan.toml", folder=folder)
        self.assertEqual(code, 1, out + err)
        line = re.search(r"SHORT .*FLG.*\b(\d) of 10 plots drawn: .*15 m.*; about ([\d.]+) m would give 10", out)
        self.assertTrue(line, out)
        points = self.rows("select east, north from plots where spare = 0", folder)
        self.assertEqual(len(points), int(line[1]))
        self.assertGreaterEqual(self.nearest(points), 15)

        # What the line says would fit does.
        (folder / "plan.toml").write_text(plan.replace("apart_m = 15", f"apart_m = {line[2]}"))
        self.tool("draw", "plan.toml", folder=folder)
        points = self.rows("select east, north from plots where spare = 0", folder)
        self.assertEqual(len(points), 10)
        self.assertGreaterEqual(self.nearest(points), float(line[2]))

        # Told to refuse, it draws none and says what does no harm.
        (folder / "plan.toml").write_text(plan.replace("apart_m = 15", 'apart_m = 15\napart_rule = "refuse"'))
        code, out, _ = self.tool("draw", "plan.toml", folder=folder, check=1)
        self.assertRegex(out, r"SHORT FLG.*not drawn: 15 m apart .*the plan says to refuse. Up to [\d.]+ m does no harm")
        self.assertEqual(self.rows("select count(*) from plots", folder), [(0,)])

    @staticmethod
    def without_panels(plan):
        """The same plan, each plot for every season."""
        return re.sub(r"(?ms)^\[panels\].*?(?=^\[)", "", plan)

    @staticmethod
    def nearest(points):
        return min(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for i, a in enumerate(points) for b in points[:i])

    def test_a_spacing_wider_than_the_site_is_one_clear_line(self):
        folder = self.valley()
        plan = (folder / "plan.toml").read_text()
        plan = self.without_panels(re.sub(r"total = \d+", "each = 10", plan)).replace("apart_m = 12", "apart_m = 500")
        plan = plan.replace('code = "code"', 'code = "code"\nonly = ["FLG"]').replace('by = ["site", "score"]', 'by = ["site"]')
        (folder / "plan.toml").write_text(plan)
        flag = self.found_by_check("apart_m = 500 is more than FLG is across", "one plot fits", severity="ASK", folder=folder)
        self.assertIn("plan.toml", flag["place"])
        code, out, err = self.tool("draw", "plan.toml", folder=folder, check=1)
        lines = [line for line in out.splitlines() if line.startswith("SHORT ") and " plots drawn: " in line]
        self.assertEqual(len(lines), 1, out)
        self.assertRegex(lines[0], r"FLG.*\b[01] of 10 plots drawn: .*500 m.*; about [\d.]+ m would give 10")

    def test_a_site_smaller_than_one_plot_is_said_before_and_after(self):
        folder = self.valley()
        plan = (folder / "plan.toml").read_text()
        plan = re.sub(r"total = \d+", "each = 1", plan).replace("size_m = [2, 10]", "size_m = [30, 60]")
        plan = plan.replace('code = "code"', 'code = "code"\nonly = ["FLG"]').replace('by = ["site", "score"]', 'by = ["site"]')
        (folder / "plan.toml").write_text(plan)
        self.found_by_check("FLG: 1100", "one plot is 1800.0 m²", severity="ASK", folder=folder)
        code, out, _ = self.tool("draw", "plan.toml", folder=folder, check=1)
        self.assertRegex(out, r"SHORT FLG.*its ground \(1,?100 m²\) is smaller than one plot of 1,?800 m²")

    def test_names_and_notations(self):
        """Story 6: six characters, check letters, sorted in draw order; truncated grid references, both zones."""
        folder = self.valley()
        self.tool("run", "plan.toml", folder=folder)
        self.tool("points", "plan.toml", "--as", "csv,gpx", "--name-profile", "6", folder=folder, check=0)
        with open(folder / "out/points/plots.csv", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        names = [r["name_on_unit"] for r in rows]
        self.assertEqual(len(set(names)), len(names))
        for row in rows:
            self.assertRegex(row["name_on_unit"], r"^[A-Z]{3}[0-9A-Y][0-9][A-Z]$")
            degrees = re.fullmatch(r"(\d+) (\d\d\.\d{3}) N (\d+) (\d\d\.\d{3}) W", row["degrees_minutes"])
            self.assertAlmostEqual(int(degrees[1]) + float(degrees[2]) / 60, float(row["lat"]), 4)
            self.assertAlmostEqual(-int(degrees[3]) - float(degrees[4]) / 60, float(row["lon"]), 4)
            self.assertRegex(row["usng"], r"^1[45]S [A-Z]{2} \d{5} \d{5}$")
            self.assertTrue(row["usng_next_zone"], "96 W is near: both zones belong on the sheet")
            zone = 14 if float(row["lon"]) < -96 else 15
            self.assertTrue(row["usng"].startswith(str(zone)))
        for site in {r["site"] for r in rows}:
            planned = [r["plot"] for r in rows if r["site"] == site and r["spare"] == "no"]
            spares = [r["plot"] for r in rows if r["site"] == site and r["spare"] == "yes"]
            self.assertTrue(not spares or (max(planned) < min(spares) and int(min(spares)[3:5]) >= 51), site)
        self.assertEqual({r["usng"][:2] for r in rows if r["site"] == "SKP"}, {"14", "15"})
        code, _, _ = self.tool("points", "plan.toml", "--points-per-file", "100", folder=folder, check=0)
        counts = [len(re.findall("<wpt ", p.read_text())) for p in (folder / "out/points").glob("plots-[0-9].gpx")]
        self.assertEqual(sum(counts), len(rows))
        self.assertTrue(max(counts) <= 100)
