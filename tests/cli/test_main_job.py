"""The main job end to end on a small season: sums, sameness, what changes and what must not."""
import json
import shutil

import numpy
from osgeo import gdal, ogr

from season import (CELL, category_names, NORTH, PLAN, SHEET, SIDE, SITES, WEST, SeasonCase, cover_values, moisture_values, pixels,
                    square, write_raster, write_vectors)


def trapezoid(values, a, b, c, d):
    rising = (values - a) / (b - a)
    falling = (d - values) / (d - c)
    return numpy.clip(numpy.minimum(rising, falling), 0, 1)


def expected_percent():
    """The sheet's rule in numpy: the lowest of two limiting factors."""
    moisture = trapezoid(moisture_values().astype(float), 5, 15, 30, 60)
    cover = numpy.choose(cover_values() - 1, [1.0, 0.5, 0.0])
    percent = numpy.floor(100 * numpy.minimum(moisture, cover) + 0.5).astype(int)
    percent[cover_values() == 3] = 255
    return percent


class MainJob(SeasonCase):
    def test_run_leaves_everything_a_season_needs(self):
        self.make()
        self.tool("run", "plan.toml", check=0)
        for name in ("out/score/PTUB.tif", "out/held-down/PTUB.tif", "season.gpkg", "out/points/plots.gpx",
                     "out/certificate.json", "out/maps/QPR.svg", "out/styles/score.sld"):
            self.assertTrue((self.folder / name).exists(), name)
        self.assertEqual(self.leftovers(), [])
        json.loads((self.folder / "out/certificate.json").read_text())

    def test_scores_equal_the_rule_computed_with_numpy(self):
        self.make()
        self.tool("score", "plan.toml", check=0)
        numpy.testing.assert_array_equal(pixels(self.folder / "out/score/PTUB.tif"), expected_percent())

    def test_maps_are_tiled_with_overviews_statistics_and_names(self):
        self.make()
        big = numpy.kron(cover_values(), numpy.ones((4, 4), numpy.uint8))
        write_raster(self.folder / "cover.tif", big, cell=CELL / 4)
        self.tool("score", "plan.toml", check=0)
        score = gdal.Open(str(self.folder / "out/score/PTUB.tif"))  # a band lives as long as its dataset
        band = score.GetRasterBand(1)
        self.assertEqual(band.GetBlockSize(), [256, 256])
        self.assertGreater(band.GetOverviewCount(), 0)
        self.assertEqual(band.GetNoDataValue(), 255)
        self.assertIn("STATISTICS_MEAN", band.GetMetadata())
        held = gdal.Open(str(self.folder / "out/held-down/PTUB.tif"))
        names = category_names(held)
        self.assertTrue(any("moisture" in n for n in names) and any("OW" in n for n in names), names)

    def test_float_and_cloud_optimised_maps(self):
        self.make()
        self.tool("score", "plan.toml", "--float", check=0)
        values = pixels(self.folder / "out/score/PTUB.tif")
        self.assertEqual(values.dtype, numpy.float32)
        expected = expected_percent()
        with_score = expected != 255
        self.assertTrue(numpy.all(numpy.abs(100 * values[with_score] - expected[with_score]) <= 0.5001))
        self.tool("score", "plan.toml", "--cog", check=0)
        info = gdal.Info(str(self.folder / "out/score/PTUB.tif"), format="json")
        self.assertEqual(info["metadata"]["IMAGE_STRUCTURE"].get("LAYOUT"), "COG")
        numpy.testing.assert_array_equal(pixels(self.folder / "out/score/PTUB.tif"), expected)

    def test_tables_only_writes_no_maps_and_the_same_table(self):
        self.make()
        _, with_maps, _ = self.tool("score", "plan.toml", "--json", check=0)
        shutil.rmtree(self.folder / "out")
        _, tables, _ = self.tool("score", "plan.toml", "--tables-only", "--json", check=0)
        self.assertEqual(json.loads(with_maps)["table"], json.loads(tables)["table"])
        self.assertFalse((self.folder / "out" / "score").exists())

    def test_areas_per_band_agree_with_the_polygons(self):
        self.make()
        _, out, _ = self.tool("score", "plan.toml", "--json", check=0)
        percent = expected_percent()
        for row in json.loads(out)["table"]:
            if row["site"] != "SKP":
                continue
            # SKP lies on whole cells: 40 × 40 of them.
            cells = percent[110:150, 90:130]
            for band, (low, high) in enumerate([(0, 25), (25, 50), (50, 75), (75, 101)]):
                self.assertAlmostEqual(row["hectares_per_band"][band], 0.01 * numpy.sum((cells >= low) & (cells < high)), 9)

    def test_same_plots_for_any_threads_and_larger_layers(self):
        first = self.make(self.folder / "one")
        second = self.make(self.folder / "two")
        third = self.make(self.folder / "three")
        longer = numpy.pad(cover_values(), ((0, 90), (0, 120)), constant_values=1)
        write_raster(third / "cover.tif", longer)
        self.tool("run", "plan.toml", "--threads", "1", folder=first, check=0)
        self.tool("run", "plan.toml", "--threads", "2", folder=second, check=0)
        self.tool("run", "plan.toml", "--threads", "2", folder=third, check=0)
        self.assertEqual(self.plots(first), self.plots(second))
        self.assertEqual(self.plots(first), self.plots(third))
        one = pixels(first / "out/score/PTUB.tif")
        numpy.testing.assert_array_equal(one, pixels(second / "out/score/PTUB.tif"))
        numpy.testing.assert_array_equal(one, pixels(third / "out/score/PTUB.tif")[:SIDE, :SIDE])

    def test_removing_a_site_changes_no_other_plot(self):
        whole = self.make(self.folder / "whole")
        fewer = self.make(self.folder / "fewer", sites=SITES[1:])
        turned = self.make(self.folder / "turned", sites=SITES[::-1])
        for folder in (whole, fewer, turned):
            self.tool("draw", "plan.toml", folder=folder, check=0)
        self.assertEqual(self.plots(whole, "site != 'QPR'"), self.plots(fewer))
        self.assertEqual(self.plots(whole), self.plots(turned))

    def test_a_redraw_says_which_numbers_changed(self):
        plan = PLAN.replace("each = 6", "total = 60")
        self.make(plan=plan)
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        self.assertNotIn("CHANGED", out)
        (self.folder / "plan.toml").write_text(plan.replace("total = 60", "total = 70").replace(
            'source = "sites.gpkg"', 'source = "sites.gpkg"\nonly = ["QPR", "SKP"]'))
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        self.assertRegex(out, r"CHANGED QPR\|score=[0-9-]+\|v1: \d+ plots, \d+ in the last draw")
        self.assertRegex(out, r"GONE TNY\|")

    def test_a_draw_takes_the_point_files_of_an_earlier_one_away(self):
        self.make()
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        self.assertNotIn("Removed", out)
        formats = ["gpx", "geojson", "kml", "csv", "gpkg"]
        self.tool("points", "plan.toml", "--as", ",".join(formats), check=0)
        points = self.folder / "out/points"
        (points / "notes.csv").write_text("mine")
        count = len(list(points.iterdir())) - 1
        self.assertEqual({p.suffix[1:] for p in points.glob("plots*")}, set(formats))
        (self.folder / "plan.toml").write_text(PLAN.replace("seed = 2027", "seed = 2028"))
        _, out, _ = self.tool("draw", "plan.toml", check=0)
        self.assertIn(f"Removed {count} point files of an earlier draw", out)
        self.assertEqual([p.name for p in points.iterdir()], ["notes.csv"])

    def test_points_of_another_draw_than_the_plans_are_refused(self):
        self.make()
        self.tool("draw", "plan.toml", check=0)
        plot = self.plots()[0][0]
        for changed, says in ((PLAN.replace("EPSG:26914", "EPSG:26915"), ["UTM zone 14N", "UTM zone 15N"]),
                              (PLAN.replace("EPSG:26914", "EPSG:32614"), ["NAD83 / UTM zone 14N", "WGS 84 / UTM zone 14N"]),
                              (PLAN.replace("seed = 2027", "seed = 2028"), ["2027", "2028"]),
                              (PLAN.replace("Test season", "Next season"), ["Test season", "Next season"])):
            (self.folder / "plan.toml").write_text(changed)
            self.refused("points", "plan.toml", says=["season.gpkg", *says, "swardline draw"])
            self.refused("explain", "plan.toml", "--plot", plot, says=["season.gpkg", *says, "swardline draw"])
            self.assertFalse((self.folder / "out/points").exists())
        # A score brings the survey areas into the plan's system, and leaves the plots in theirs.
        (self.folder / "plan.toml").write_text(PLAN.replace("EPSG:26914", "EPSG:26915"))
        self.tool("score", "plan.toml", "--tables-only", check=0)
        self.refused("points", "plan.toml", says="the plots are in")
        (self.folder / "plan.toml").write_text(PLAN)
        self.refused("points", "plan.toml", says="the survey areas are in")
        self.tool("draw", "plan.toml", check=0)
        self.tool("points", "plan.toml", check=0)

    def test_points_know_a_plan_system_without_a_code_again(self):
        """The store's text of a coordinate system is not the plan's."""
        for text in ("+proj=aea +lat_0=37.5 +lon_0=-96 +lat_1=29.5 +lat_2=45.5 +datum=NAD83 +units=m",
                     "+proj=tmerc +lon_0=-95 +lat_0=38 +x_0=50000 +y_0=50000 +ellps=GRS80 +units=m",
                     "+proj=utm +zone=14 +datum=NAD27 +units=m", "EPSG:5070", "EPSG:6350", "ESRI:102039"):
            self.make(folder=self.folder / "own", plan=PLAN.replace("EPSG:26914", text))
            code, out, err = self.tool("draw", "plan.toml", folder=self.folder / "own")
            self.assertIn(code, (0, 1), err)
            self.tool("points", "plan.toml", folder=self.folder / "own", check=0)
            shutil.rmtree(self.folder / "own")

    def test_a_draw_without_plots_says_so_and_run_goes_on(self):
        self.make(cover=numpy.full((SIDE, SIDE), 3, numpy.uint8))
        code, out, err = self.tool("draw", "plan.toml")
        self.assertEqual(code, 1, err)
        self.assertRegex(out, "SHORT .*no stratum gives a plot")
        code, out, err = self.tool("run", "plan.toml")
        self.assertEqual(code, 1, err)
        self.assertIn("No plots, so no point files.", out)
        self.assertFalse((self.folder / "out/points").exists())
        self.refused("points", "plan.toml", says="The last draw gave none")

    def test_explain_far_from_every_layer_says_so_once(self):
        self.make()
        _, out, _ = self.tool("explain", "plan.toml", "--at", "-80,30", check=0)
        self.assertEqual(len(out.splitlines()), 1, out)
        self.assertIn("no layer has data here", out)

    def test_the_store_deleted_and_made_again_has_the_same_tables(self):
        self.make()
        self.tool("run", "plan.toml", check=0)
        before = self.dump()
        (self.folder / "season.gpkg").unlink()
        self.tool("run", "plan.toml", check=0)
        self.assertEqual(before, self.dump())

    def dump(self):
        tables = [r[0] for r in self.rows("select table_name from gpkg_contents order by 1")]
        self.assertTrue({"sites", "strata", "plots", "names", "site_species", "certificate", "runs"} <= set(tables))
        dumped = {}
        for table in tables:
            columns = [r[1] for r in self.rows(f"pragma table_info({table})")]
            kept = [c for c in columns if c not in ("started", "finished")]
            listed = ", ".join('"%s"' % c for c in kept)
            dumped[table] = self.rows(f'select {listed} from {table} order by {listed}')
        return dumped

    def test_areas_chances_and_places_hold_together(self):
        self.make()
        self.tool("draw", "plan.toml", check=0)
        strata = {r[0]: r for r in self.rows("select stratum, site, area_m2, planned, spare_planned from strata")}
        for code, survey in self.rows("select code, survey_m2 from sites"):
            total = sum(r[2] for r in strata.values() if r[1] == code)
            self.assertAlmostEqual(total / survey, 1, delta=1e-6)
        areas = {}
        sites = ogr.Open(str(self.folder / "sites.gpkg"))
        for feature in sites.GetLayer(0):
            areas[feature["code"]] = feature.GetGeometryRef().Clone()
        pond = ogr.CreateGeometryFromWkt(square(WEST + 500, NORTH - 700, 60))
        percent = expected_percent()
        weights = {}
        for name, site, stratum, order, spare, east, north, chance, weight, bearing, inside, twice, score in self.plots():
            point = ogr.Geometry(ogr.wkbPoint)
            point.AddPoint_2D(east, north)
            self.assertTrue(areas[site].Contains(point), name)
            self.assertFalse(pond.Contains(point), name)
            value = percent[int((NORTH - north) // CELL), int((east - WEST) // CELL)]
            band = stratum.split("score=")[1].split("|")[0]
            low, high = (int(v) for v in band.split("-"))
            self.assertTrue(low <= value < high or value == high == 100, (name, band, value))
            self.assertAlmostEqual(score, value / 100, 2)
            self.assertTrue(0 < inside <= 20 + 1e-6 and 0 <= twice <= inside + 1e-6, name)
            self.assertAlmostEqual(chance, strata[stratum][3] / strata[stratum][2], 12)
            if not spare:
                weights[stratum] = weights.get(stratum, 0) + weight
        for stratum, total in weights.items():
            self.assertAlmostEqual(total / strata[stratum][2], 1, delta=1e-6)
        for stratum, (_, _, _, planned, spares) in strata.items():
            drawn = [p for p in self.plots(where="1") if p[2] == stratum]
            self.assertEqual(sum(1 for p in drawn if not p[4]), planned)
            self.assertEqual(sum(1 for p in drawn if p[4]), spares)

    def test_private_attributes_are_in_no_output(self):
        self.make(plan=PLAN.replace('source = "sites.gpkg"', 'source = "sites.gpkg"\nprivate = ["owner"]'))
        self.tool("run", "plan.toml", check=0)
        for path in self.folder.rglob("*"):
            if path.is_file() and path.name != "sites.gpkg":
                self.assertNotIn(b"N. Body", path.read_bytes(), path)

    def test_explain_tells_the_three_kinds_of_nothing_apart(self):
        moisture = moisture_values()
        self.make(moisture=moisture)
        write_raster(self.folder / "moisture.tif", moisture, nodata=int(moisture[0, 199]))
        self.tool("draw", "plan.toml")

        def explained(col, row):
            from osgeo import osr
            plan, wgs84 = osr.SpatialReference(), osr.SpatialReference()
            plan.ImportFromEPSG(26914)
            wgs84.ImportFromEPSG(4326)
            for system in (plan, wgs84):
                system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
            lon, lat, _ = osr.CoordinateTransformation(plan, wgs84).TransformPoint(
                WEST + (col + 0.5) * CELL, NORTH - (row + 0.5) * CELL)
            _, out, _ = self.tool("explain", "plan.toml", "--at", f"{lon:.9f},{lat:.9f}", "--json", check=0)
            _, words, _ = self.tool("explain", "plan.toml", "--at", f"{lon:.9f},{lat:.9f}", check=0)
            return json.loads(out)["species"][0], words

        pond, words = explained(45, 45)
        self.assertEqual(pond["outcome"], "excluded")
        self.assertIn("xcluded", words)
        gap, words = explained(199, 0)
        self.assertEqual(gap["outcome"], "no score")
        self.assertIn("moisture", words)
        zero, words = explained(5, 0)
        self.assertEqual((zero["outcome"], zero["score"]), ("scored", 0))
        self.assertEqual(zero["held_down_by"], "moisture")
        name = self.plots()[0][0]
        _, words, _ = self.tool("explain", "plan.toml", "--plot", name, check=0)
        self.assertIn(name, words)
        self.refused("explain", "plan.toml", "--plot", name[:-1] + "!", says=["Did you mean", name])
