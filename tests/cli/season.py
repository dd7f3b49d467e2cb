"""A small invented season made on the spot, and ways to run the tool on it."""
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import tempfile
import unittest

import numpy
from osgeo import gdal, ogr, osr

gdal.UseExceptions()

TOOL = os.environ["SWARDLINE_TOOL"]
SOURCE = pathlib.Path(os.environ["SWARDLINE_SOURCE"])
SHARED = pathlib.Path(os.environ.get("SWARDLINE_SHARED", SOURCE / ".." / "shared")).resolve()
WEST, NORTH, CELL, SIDE = 650000.0, 4210000.0, 10.0, 200

PLAN = """[season]
name = "Test season"
crs = "EPSG:26914"
seed = 2027

[sites]
source = "sites.gpkg"

[[sites.exclude]]
source = "ponds.gpkg"
reason = "water"

[layers.cover]
source = "cover.tif"
classes = { 1 = "MP", 2 = "GL", 3 = "OW" }

[layers.moisture]
source = "moisture.tif"
unit = "percent"

[sample]
shape = "belt"
size_m = [2, 10]
each = 6
spares = 0.5
"""

SHEET = """code = "PTUB"
name = "Penstemon tubaeflorus"
common = "white wand beardtongue"
version = 1
window = ["05-20", "06-25"]

[[factor]]
layer = "moisture"
role = "limiting"
trapezoid = [5, 15, 30, 60]

[[factor]]
layer = "cover"
role = "limiting"
scores = { MP = 1.0, GL = 0.5 }
excluded = ["OW"]
"""


def write_raster(path, values, kind=gdal.GDT_Byte, crs=26914, west=WEST, north=NORTH, cell=CELL, nodata=None):
    rows, cols = values.shape
    dataset = gdal.GetDriverByName("GTiff").Create(str(path), cols, rows, 1, kind, ["TILED=YES", "COMPRESS=DEFLATE"])
    dataset.SetGeoTransform([west, cell, 0, north, 0, -cell])
    if crs:
        system = osr.SpatialReference()
        system.ImportFromEPSG(crs)
        dataset.SetProjection(system.ExportToWkt())
    if nodata is not None:
        dataset.GetRasterBand(1).SetNoDataValue(nodata)
    dataset.GetRasterBand(1).WriteArray(values)
    dataset = None


def write_vectors(path, features, crs=26914, kind=ogr.wkbMultiPolygon, layer="features", append=False):
    """features: list of (fields, WKT)."""
    driver = ogr.GetDriverByName("GPKG")
    dataset = ogr.Open(str(path), 1) if append else driver.CreateDataSource(str(path))
    system = None
    if crs:
        system = osr.SpatialReference()
        system.ImportFromEPSG(crs)
        system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    out = dataset.CreateLayer(layer, system, kind)
    names = sorted({name for fields, _ in features for name in fields})
    for name in names:
        out.CreateField(ogr.FieldDefn(name, ogr.OFTString))
    for fields, wkt in features:
        feature = ogr.Feature(out.GetLayerDefn())
        for name, value in fields.items():
            feature.SetField(name, value)
        geometry = ogr.CreateGeometryFromWkt(wkt)
        if kind == ogr.wkbMultiPolygon:
            geometry = ogr.ForceToMultiPolygon(geometry)
        feature.SetGeometry(geometry)
        out.CreateFeature(feature)
    dataset = None


def square(east, north, side):
    return box(east, north, east + side, north + side)


def box(x0, y0, x1, y1):
    return f"POLYGON(({x0} {y0},{x1} {y0},{x1} {y1},{x0} {y1},{x0} {y0}))"


def cover_values():
    """Prairie, a band of glade, a pond."""
    cover = numpy.full((SIDE, SIDE), 1, numpy.uint8)
    cover[:, 90:130] = 2
    cover[40:50, 40:50] = 3
    return cover


def moisture_values():
    return numpy.tile(numpy.linspace(2, 58, SIDE).astype(numpy.uint8), (SIDE, 1))


SITES = [({"code": "QPR", "name": "Quill Prairie", "owner": "N. Body"}, square(WEST + 300, NORTH - 900, 500)),
         ({"code": "SKP", "name": "Skep Sand Prairie", "owner": "N. Body"}, square(WEST + 900, NORTH - 1500, 400)),
         ({"code": "TNY", "name": "Tanyard Field", "owner": "N. Body"}, square(WEST + 1500, NORTH - 1900, 300))]


class SeasonCase(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="swardline-cli-"))
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)

    def make(self, folder=None, plan=PLAN, sheets=None, sites=None, cover=None, moisture=None):
        """A season that runs, in the test's folder."""
        folder = folder or self.folder
        (folder / "species").mkdir(parents=True, exist_ok=True)
        write_raster(folder / "cover.tif", cover_values() if cover is None else cover)
        write_raster(folder / "moisture.tif", moisture_values() if moisture is None else moisture)
        write_vectors(folder / "sites.gpkg", SITES if sites is None else sites)
        write_vectors(folder / "ponds.gpkg", [({"kind": "pond"}, square(WEST + 500, NORTH - 700, 60))])
        (folder / "plan.toml").write_text(plan)
        for name, text in (sheets or {"ptub": SHEET}).items():
            (folder / "species" / f"{name}.toml").write_text(text)
        return folder

    def tool(self, *words, folder=None, check=None, env=None):
        """Runs the tool in the season folder; returns (status, stdout, stderr)."""
        done = subprocess.run([TOOL, *[str(w) for w in words]], cwd=folder or self.folder, capture_output=True, text=True,
                              env={**os.environ, **(env or {})}, timeout=600)
        if check is not None:
            self.assertEqual(done.returncode, check, f"{words}\n{done.stdout}\n{done.stderr}")
        self.assertGreaterEqual(done.returncode, 0, f"killed by a signal: {words}\n{done.stderr}")
        return done.returncode, done.stdout, done.stderr

    def refused(self, *words, says, status=3, folder=None):
        """The command must end with this status and one line that holds every piece of `says`."""
        code, out, err = self.tool(*words, folder=folder)
        self.assertEqual(code, status, f"{out}\n{err}")
        lines = [line for line in err.splitlines() if line.startswith("swardline: ")]
        self.assertEqual(len(lines), 1, err)
        for piece in [says] if isinstance(says, str) else says:
            self.assertIn(piece, lines[0])
        return lines[0]

    def found_by_check(self, *pieces, severity="STOP", folder=None):
        """`check` must hold one finding of this severity with every piece."""
        _, out, err = self.tool("check", "plan.toml", "--json", folder=folder)
        flags = json.loads(out)["findings"]
        for flag in flags:
            line = f"{flag['place']} {flag['meaning']} {flag['remedy']}"
            if flag["severity"] == severity and all(piece in line for piece in pieces):
                return flag
        self.fail(f"no {severity} with {pieces} in\n" + "\n".join(str(f) for f in flags) + err)

    def leftovers(self, folder=None):
        return [p for p in (folder or self.folder).rglob("*") if p.name.endswith(".part") or p.name.startswith(".plots")]

    def rows(self, sql, folder=None):
        with sqlite3.connect(f"file:{(folder or self.folder) / 'season.gpkg'}?mode=ro", uri=True) as store:
            return store.execute(sql).fetchall()

    def plots(self, folder=None, where="1"):
        return self.rows("select name, site, stratum, \"order\", spare, east, north, chance_per_m2, weight_m2, bearing, "
                         f"inside_m2, twice_m2, score from plots where {where} order by name", folder)


def pixels(path):
    dataset = gdal.Open(str(path))
    return dataset.ReadAsArray()


def category_names(dataset):
    """GDAL 3.6 looks into a TIFF's side file only once metadata have been asked for."""
    band = dataset.GetRasterBand(1)
    band.GetMetadata()
    return band.GetRasterCategoryNames()
