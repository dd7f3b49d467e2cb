"""Real layers, awkward as they come, against an independent computation with numpy and GDAL.

(a) shared/real: CORINE Land Cover 2018 (v2020_20u1) and EU-DEM v1.1, Copernicus Land Monitoring
    Service, and municipal polygons (CAOP, Direção-Geral do Território) of an island; read there.
(b) Layers that Debian packages carry: elevation and cantons of Luxembourg (r-cran-terra) and a
    land-cover raster with a palette in an unnamed equal-area system (r-cran-stars), fetched with apt-get.
"""
import json
import os
import pathlib
import subprocess
import unittest

import numpy
from osgeo import gdal, ogr, osr

from season import SHARED, SeasonCase, pixels

BUILD = pathlib.Path(os.environ.get("SWARDLINE_BUILD", "."))


def respond(values, a, b, c, d):
    out = numpy.ones(values.shape)
    if a != -numpy.inf:
        out = numpy.minimum(out, numpy.clip((values - a) / (b - a), 0, 1))
    if d != numpy.inf:
        out = numpy.minimum(out, numpy.clip((d - values) / (d - c), 0, 1))
    return out


def near_half(score):
    """Where rounding to whole percent may go either way (100·S within 1e-3 of a half)."""
    fraction = 100 * score - numpy.floor(100 * score)
    return numpy.abs(fraction - 0.5) < 1e-3


def warp_in_blocks(path, like, method, source_nodata=None):
    """The layer on the grid of `like`, in 256-cell blocks of the global grid, exact transform."""
    target = gdal.Open(str(like))
    left, cell, _, top, _, _ = target.GetGeoTransform()
    cols, rows = target.RasterXSize, target.RasterYSize
    out = numpy.full((rows, cols), numpy.nan)
    first_col, first_row = round(left / cell), round(-top / cell)
    side = 256
    for block_row in range(first_row // side, (first_row + rows - 1) // side + 1):
        for block_col in range(first_col // side, (first_col + cols - 1) // side + 1):
            x0, y1 = block_col * side * cell, -block_row * side * cell
            warped = gdal.Warp("", str(path), format="MEM", dstSRS=target.GetProjection(), errorThreshold=0,
                               outputBounds=(x0, y1 - side * cell, x0 + side * cell, y1), width=side, height=side,
                               resampleAlg=method, outputType=gdal.GDT_Float64, dstNodata=-9999, srcNodata=source_nodata)
            part = warped.ReadAsArray()
            part[part == -9999] = numpy.nan
            c0, r0 = block_col * side - first_col, block_row * side - first_row
            cut = part[max(0, -r0):max(0, rows - r0), max(0, -c0):max(0, cols - c0)]
            if cut.size:
                out[max(0, r0):max(0, r0) + cut.shape[0], max(0, c0):max(0, c0) + cut.shape[1]] = cut
    return out


ISLAND_PLAN = """[season]
name = "Island test"
crs = "EPSG:32626"
seed = 7

[sites]
source = "{real}/concelhos.gpkg"
code = "name"
name = "name"

[grid]
cell_m = 50

[layers.cover]
source = "{real}/clc2018_v2020_20u1.tif"
classes = {{ {classes} }}

[layers.elevation]
source = "{real}/eu_dem_v11.tif"
unit = "m"

[strata]
by = ["site", "score"]

[sample]
shape = "square"
size_m = 2
each = 5
spares = 0.4
"""

ISLAND_SHEET = """code = "TEST"
name = "Test species"
[[factor]]
layer = "cover"
role = "limiting"
scores = {{ {scores} }}
excluded = ["C44"]
otherwise = 0.1
[[factor]]
layer = "elevation"
role = "limiting"
trapezoid = [-inf, -inf, 400, 900]
[[factor]]
layer = "slope"
role = "modifying"
weight = 2
trapezoid = [-inf, -inf, 15, 40]
[[factor]]
layer = "heat"
role = "modifying"
trapezoid = [0.6, 0.95, inf, inf]
[combine]
rule = "graded"
floor = 0.05
"""


class Island(SeasonCase):
    @classmethod
    def setUpClass(cls):
        cls.real = SHARED / "real"
        if not (cls.real / "clc2018_v2020_20u1.tif").exists():
            raise unittest.SkipTest("the real layers are not here")

    def season(self):
        values = numpy.unique(gdal.Open(str(self.real / "clc2018_v2020_20u1.tif")).ReadAsArray())
        (self.folder / "species").mkdir()
        self.scores = {f"C{v}": (v % 7) / 6 for v in values if v != 44}
        classes = ", ".join(f'{v} = "C{v}"' for v in values)
        (self.folder / "plan.toml").write_text(ISLAND_PLAN.format(real=self.real, classes=classes))
        listed = ", ".join(f"{k} = {v!r}" for k, v in self.scores.items())
        (self.folder / "species" / "test.toml").write_text(ISLAND_SHEET.format(scores=listed))

    def test_scores_equal_numpy_and_the_draw_lies_in_its_polygons(self):
        self.season()
        self.tool("check", "plan.toml", check=0)
        _, out, _ = self.tool("run", "plan.toml", "--json")
        ours = self.folder / "out/score/TEST.tif"
        got = pixels(ours).astype(int)

        cover = warp_in_blocks(self.real / "clc2018_v2020_20u1.tif", ours, "near")
        elevation = warp_in_blocks(self.real / "eu_dem_v11.tif", ours, "bilinear")
        slope, heat = self.terrain(ours)
        table = numpy.full(256, 0.1)
        for code, score in self.scores.items():
            table[int(code[1:])] = score
        known = ~numpy.isnan(cover)
        limiting = numpy.full(got.shape, numpy.nan)
        limiting[known] = table[cover[known].astype(int)]
        limiting = numpy.where(numpy.isnan(elevation), numpy.nan,
                               numpy.minimum(limiting, respond(elevation, -numpy.inf, 0, 400, 900)))
        s = numpy.maximum(respond(slope, -numpy.inf, 0, 15, 40), 0.05)
        h = numpy.maximum(respond(heat, 0.6, 0.95, numpy.inf, numpy.inf), 0.05)
        both = (s ** 2 * h) ** (1 / 3)
        modifying = numpy.where(numpy.isnan(slope), numpy.where(numpy.isnan(heat), 1, h), numpy.where(numpy.isnan(heat), s, both))
        none = numpy.isnan(slope) & numpy.isnan(heat)
        score = numpy.where(none, limiting, limiting ** 0.6 * modifying ** 0.4)
        expected = numpy.where(numpy.isnan(score), 255, numpy.floor(100 * numpy.nan_to_num(score) + 0.5)).astype(int)
        expected[cover == 44] = 255
        unsure = near_half(numpy.nan_to_num(score))
        same = (got == expected) | unsure
        self.assertGreater(int(known.sum()), 100000)
        self.assertGreater(int(((got != 255) & (got > 0)).sum()), 50000)
        # Single precision in the warped terrain may turn a rounding; one percent of score at the most.
        self.assertLess(int((~same).sum()), 0.002 * got.size)
        scored = (got != 255) & (expected != 255) & ~same
        self.assertTrue(numpy.all(numpy.abs(got[scored] - expected[scored]) <= 1))

        areas = ogr.Open(str(self.real / "concelhos.gpkg"))
        polygons = {}
        to_plan = self.transform(4326, 32626)
        for feature in areas.GetLayer(0):
            geometry = feature.GetGeometryRef().Clone()
            geometry.Transform(to_plan)
            polygons[feature["name"]] = geometry
        plots = self.plots()
        self.assertGreater(len(plots), 100)
        for plot in plots:
            point = ogr.Geometry(ogr.wkbPoint)
            point.AddPoint_2D(plot[5], plot[6])
            self.assertLess(polygons[plot[1]].Distance(point), 0.01, plot)

    def terrain(self, like):
        """Slope and heat load on the elevation's own cells with numpy, then warped."""
        source = gdal.Open(str(self.real / "eu_dem_v11.tif"))
        z = source.ReadAsArray().astype(float)
        z[z < -1e30] = numpy.nan
        left, dx, _, top, _, dy = source.GetGeoTransform()
        latitude = top + dy * (numpy.arange(z.shape[0]) + 0.5)
        phi = numpy.radians(latitude)
        a, e2 = 6378137.0, 0.0066943799901413165  # WGS84
        w = numpy.sqrt(1 - e2 * numpy.sin(phi) ** 2)
        metres_x = (numpy.radians(dx) * a / w * numpy.cos(phi))[:, None]
        metres_y = (numpy.radians(-dy) * a * (1 - e2) / w ** 3)[:, None]
        p = {(r, c): z[1 + r:z.shape[0] - 1 + r, 1 + c:z.shape[1] - 1 + c] for r in (-1, 0, 1) for c in (-1, 0, 1)}
        mx, my = metres_x[1:-1], metres_y[1:-1]
        gx = ((p[-1, 1] + 2 * p[0, 1] + p[1, 1]) - (p[-1, -1] + 2 * p[0, -1] + p[1, -1])) / (8 * mx)
        gy = ((p[1, -1] + 2 * p[1, 0] + p[1, 1]) - (p[-1, -1] + 2 * p[-1, 0] + p[-1, 1])) / (8 * my)
        slope = numpy.degrees(numpy.arctan(numpy.hypot(gx, gy)))
        # Down the slope: gx rises eastwards, gy southwards.
        facing = numpy.degrees(numpy.arctan2(-gx, gy)) % 360
        folded = numpy.abs(180 - numpy.abs(facing - 225))
        lat = phi[1:-1][:, None]
        s, f = numpy.radians(slope), numpy.radians(folded)
        heat = 0.339 + 0.808 * numpy.cos(lat) * numpy.cos(s) - 0.196 * numpy.sin(lat) * numpy.sin(s) - 0.482 * numpy.cos(f) * numpy.sin(s)
        warped = []
        for name, values in (("slope", slope), ("heat", heat)):
            full = numpy.full(z.shape, -9999.0, numpy.float32)
            full[1:-1, 1:-1] = numpy.where(numpy.isnan(values + p[0, 0]), -9999, values)
            path = self.folder / f"{name}.tif"
            made = gdal.GetDriverByName("GTiff").Create(str(path), z.shape[1], z.shape[0], 1, gdal.GDT_Float32)
            made.SetGeoTransform(source.GetGeoTransform())
            made.SetProjection(source.GetProjection())
            made.GetRasterBand(1).SetNoDataValue(-9999)
            made.GetRasterBand(1).WriteArray(full)
            made = None
            warped.append(warp_in_blocks(path, like, "bilinear"))
        return warped

    @staticmethod
    def transform(source, target):
        a, b = osr.SpatialReference(), osr.SpatialReference()
        a.ImportFromEPSG(source)
        b.ImportFromEPSG(target)
        for system in (a, b):
            system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
        return osr.CoordinateTransformation(a, b)

    def test_class_areas_agree_with_polygon_intersections(self):
        """Hectares per class and polygon against GEOS, cell by cell where the boundary runs."""
        self.season()
        sheet = 'code = "TEST"\nname = "Test species"\n[[factor]]\nlayer = "cover"\nrole = "limiting"\nscores = { %s }\nexcluded = ["C44"]\n'
        listed = ", ".join(f"{k} = {v!r}" for k, v in self.scores.items())
        (self.folder / "species" / "test.toml").write_text(sheet % listed)
        _, out, _ = self.tool("score", "plan.toml", "--json", check=0)
        ours = self.folder / "out/score/TEST.tif"
        percent = pixels(ours)
        left, cell, _, top, _, _ = gdal.Open(str(ours)).GetGeoTransform()
        to_plan = self.transform(4326, 32626)
        table = {row["site"]: row for row in json.loads(out)["table"]}
        areas = ogr.Open(str(self.real / "concelhos.gpkg"))
        for feature in areas.GetLayer(0):
            if feature["name"] not in ("Lagoa", "Nordeste", "Vila Franca do Campo"):
                continue
            polygon = feature.GetGeometryRef().Clone()
            polygon.Transform(to_plan)
            expected = self.areas_by_band(polygon, percent, left, top, cell)
            row = table[feature["name"]]
            got = row["hectares_per_band"] + [row["hectares_excluded"]]
            total = polygon.GetArea() / 1e4
            self.assertAlmostEqual(sum(got) + row["hectares_no_score"], total, delta=1e-6 * total)
            for mine, theirs in zip(got, expected):
                self.assertAlmostEqual(mine, theirs, delta=1e-6 * total)

    @staticmethod
    def areas_by_band(polygon, percent, left, top, cell):
        """Recursive quadrants with GEOS: a quadrant wholly inside counts whole."""
        sums = [0.0] * 5
        inner = polygon.Buffer(0)

        def band(value):
            return 4 if value == 255 else min(3, int(value) // 25)

        def split(geometry, c0, r0, side):
            if geometry is None or geometry.IsEmpty() or geometry.GetArea() == 0:
                return
            c1, r1 = min(c0 + side, percent.shape[1]), min(r0 + side, percent.shape[0])
            whole = (side * cell) ** 2
            if side == 1:
                sums[band(percent[r0, c0])] += geometry.GetArea() / 1e4
                return
            if abs(geometry.GetArea() - whole) < 1e-7 * whole:
                values, counts = numpy.unique(percent[r0:r1, c0:c1], return_counts=True)
                for value, count in zip(values, counts):
                    sums[band(value)] += count * cell * cell / 1e4
                return
            half = side // 2
            for dr in (0, half):
                for dc in (0, half):
                    x0, y1 = left + (c0 + dc) * cell, top - (r0 + dr) * cell
                    if c0 + dc >= percent.shape[1] or r0 + dr >= percent.shape[0]:
                        continue
                    quarter = ogr.CreateGeometryFromWkt(
                        f"POLYGON(({x0} {y1},{x0 + half * cell} {y1},{x0 + half * cell} {y1 - half * cell},{x0} {y1 - half * cell},{x0} {y1}))")
                    split(geometry.Intersection(quarter), c0 + dc, r0 + dr, half)

        side = 1
        while side < max(percent.shape):
            side *= 2
        split(inner, 0, 0, side)
        return sums


def debian_file(package, suffix):
    """A file from a Debian package, downloaded beside the build and unpacked there."""
    folder = BUILD / "debian" / package
    found = list(folder.rglob(suffix))
    if not found:
        folder.mkdir(parents=True, exist_ok=True)
        for step in (["apt-get", "download", package], ["sh", "-c", "dpkg-deb -x *.deb ."]):
            if subprocess.run(step, cwd=folder, capture_output=True).returncode != 0:
                return None
        found = list(folder.rglob(suffix))
    return found[0] if found else None


class Debian(SeasonCase):
    def test_elevation_and_cantons_of_luxembourg(self):
        """elev.tif and lux.shp of r-cran-terra (GPL-3), as packaged by Debian."""
        elevation = debian_file("r-cran-terra", "elev.tif")
        if elevation is None:
            self.skipTest("r-cran-terra cannot be fetched here")
        cantons = next(elevation.parent.glob("lux.*"))
        (self.folder / "species").mkdir()
        (self.folder / "plan.toml").write_text(f"""[season]
name = "Luxembourg test"
crs = "EPSG:2169"
seed = 3
[sites]
source = "{elevation.parent / 'lux.shp'}"
code = "NAME_2"
name = "NAME_2"
[grid]
cell_m = 200
[layers.elevation]
source = "{elevation}"
unit = "m"
[sample]
shape = "circle"
size_m = 2
each = 3
spares = 0
""")
        (self.folder / "species/t.toml").write_text(
            'code = "TEST"\nname = "Test species"\n[[factor]]\nlayer = "elevation"\nrole = "limiting"\ntrapezoid = [150, 250, 350, 500]\n')
        self.assertTrue(cantons)
        self.tool("run", "plan.toml")
        ours = self.folder / "out/score/TEST.tif"
        got = pixels(ours).astype(int)
        elevations = warp_in_blocks(elevation, ours, "bilinear")
        score = respond(elevations, 150, 250, 350, 500)
        expected = numpy.where(numpy.isnan(score), 255, numpy.floor(100 * numpy.nan_to_num(score) + 0.5)).astype(int)
        differs = (got != expected) & ~near_half(numpy.nan_to_num(score))
        self.assertGreater(int((got != 255).sum()), 50000)
        self.assertLess(int(differs.sum()), 0.0005 * got.size)
        self.assertEqual(len({p[1] for p in self.plots()}), 12)

    def test_a_land_cover_palette_in_an_unnamed_equal_area_system(self):
        """lc.tif of r-cran-stars (Apache-2.0), as packaged by Debian: warped to a UTM zone by nearest cell."""
        cover = debian_file("r-cran-stars", "lc.tif")
        if cover is None:
            self.skipTest("r-cran-stars cannot be fetched here")
        values = numpy.unique(gdal.Open(str(cover)).ReadAsArray())
        info = gdal.Info(str(cover), format="json")
        lons = [p[0] for p in info["wgs84Extent"]["coordinates"][0]]
        zone = int((sum(lons) / len(lons) + 180) // 6) + 1
        corners = info["cornerCoordinates"]
        middle = corners["center"]
        (self.folder / "species").mkdir()
        source = osr.SpatialReference(gdal.Open(str(cover)).GetProjection())
        plan = osr.SpatialReference()
        plan.ImportFromEPSG(32600 + zone)
        for system in (source, plan):
            system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
        x, y, _ = osr.CoordinateTransformation(source, plan).TransformPoint(*middle)
        from season import box, write_vectors
        write_vectors(self.folder / "sites.gpkg", [({"code": "MID", "name": "Middle"}, box(x - 2000, y - 2000, x + 2000, y + 2000))],
                      crs=32600 + zone)
        classes = ", ".join(f'{v} = "C{v}"' for v in values)
        scores = ", ".join(f"C{v} = {(v % 5) / 4!r}" for v in values)
        (self.folder / "plan.toml").write_text(f"""[season]
name = "Palette test"
crs = "EPSG:{32600 + zone}"
seed = 3
[sites]
source = "sites.gpkg"
[grid]
cell_m = 30
[layers.cover]
source = "{cover}"
classes = {{ {classes} }}
[sample]
shape = "circle"
size_m = 2
each = 3
""")
        (self.folder / "species/t.toml").write_text(
            f'code = "TEST"\nname = "Test species"\n[[factor]]\nlayer = "cover"\nrole = "limiting"\nscores = {{ {scores} }}\n')
        self.tool("run", "plan.toml")
        ours = self.folder / "out/score/TEST.tif"
        got = pixels(ours).astype(int)
        classes_here = warp_in_blocks(cover, ours, "near")
        known = ~numpy.isnan(classes_here)
        expected = numpy.full(got.shape, 255)
        expected[known] = numpy.floor(100 * ((classes_here[known].astype(int) % 5) / 4) + 0.5)
        self.assertGreater(int(known.sum()), 10000)
        self.assertLess(int((got != expected).sum()), 0.0005 * got.size)
