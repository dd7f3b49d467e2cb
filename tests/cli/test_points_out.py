"""Point files as other programs see them."""
import csv
import subprocess

from osgeo import ogr, osr

from season import PLAN, SHARED, SeasonCase

FORMATS = "gpx,geojson,kml,csv,gpkg"


class PointFiles(SeasonCase):
    def setUp(self):
        super().setUp()
        self.make()
        self.tool("draw", "plan.toml", check=0)

    def test_every_format_gives_the_same_points_to_another_reader(self):
        self.tool("points", "plan.toml", "--as", FORMATS, check=0)
        plan, wgs84 = osr.SpatialReference(), osr.SpatialReference()
        plan.ImportFromEPSG(26914)
        wgs84.ImportFromEPSG(4326)
        for system in (plan, wgs84):
            system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
        back = osr.CoordinateTransformation(wgs84, plan)
        drawn = {p[0]: (p[5], p[6]) for p in self.plots()}
        self.assertGreater(len(drawn), 20)
        for name, layer, field in (("plots.gpx", "waypoints", "name"), ("plots.geojson", None, "plot"),
                                   ("plots.kml", "plots", "Name"), ("plots.gpkg", "plots", "plot")):
            source = ogr.Open(str(self.folder / "out/points" / name))
            rows = source.GetLayerByName(layer) if layer else source.GetLayer(0)
            found = {}
            for feature in rows:
                at = feature.GetGeometryRef()
                x, y, _ = back.TransformPoint(at.GetX(), at.GetY())
                found[feature[field]] = (x, y)
            self.assertEqual(set(found), set(drawn), name)
            for plot, (x, y) in found.items():
                self.assertLess(((x - drawn[plot][0]) ** 2 + (y - drawn[plot][1]) ** 2) ** 0.5, 0.2, (name, plot))
        with open(self.folder / "out/points/plots.csv", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        self.assertEqual({row["plot"] for row in rows}, set(drawn))
        for row in rows:
            self.assertEqual(row["datum"], "WGS84")
            self.assertAlmostEqual(float(row["plan_east"]), drawn[row["plot"]][0], 3)

    def test_gpx_is_valid_against_the_schema(self):
        """GPX 1.1 schema: TopoGrafix 2004, in shared/references/data."""
        schema = SHARED / "references/data/gpx-1.1.xsd"
        if not schema.exists():
            self.skipTest("the GPX schema is not here")
        self.tool("points", "plan.toml", "--as", "gpx", "--name-profile", "6", "--points-per-route", "5", check=0)
        files = list((self.folder / "out/points").glob("*.gpx"))
        self.assertGreater(len(files), 1)
        for path in files:
            done = subprocess.run(["xmllint", "--noout", "--schema", str(schema), str(path)], capture_output=True, text=True)
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_no_maker_extensions_icons_or_styles(self):
        self.tool("points", "plan.toml", "--as", FORMATS, check=0)
        gpx = (self.folder / "out/points/plots.gpx").read_text()
        for word in ("<sym>", "<extensions>", "<author>"):
            self.assertNotIn(word, gpx)
        kml = (self.folder / "out/points/plots.kml").read_text()
        for word in ("<Icon>", "http://maps.", "<href>"):
            self.assertNotIn(word, kml)
        self.assertNotIn("layer_styles", [r[0] for r in self.rows("select name from sqlite_master")])

    def test_points_before_a_draw_say_what_to_do(self):
        (self.folder / "season.gpkg").unlink()
        self.refused("points", "plan.toml", says=["no plots", "swardline draw"])
