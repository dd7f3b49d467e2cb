"""Site sheets at size: a case of the benchmark."""

import json
import math
import random
import shutil

from draw_cases import PLAN, SHEET
from measure import CELL, NORTH, WEST, apart, median, peak, spent, timed

SITES, PLOTS = 120, 10
SPECIES = [f"S{i:02}Q" for i in range(4)]
GROUND = """
[[sites.exclude]]
source = "ponds.gpkg"
reason = "water"
[sites.access]
start = "parking.gpkg"
barriers = "creeks.gpkg"
crossings = "planks.gpkg"
[declination]
degrees = -1.5
date = "2027-03-01"
source = "illustrative"
"""


class PacketCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 3072
        self.count = 12 if bench.quick else SITES

    def run(self):
        """A sheet a visit for 120 sites, and half as many spares as plots; ponds and a creek lie in every way."""
        self.land = self.bench.make_landscape(self.side, ["cover", "moisture"])
        season = self.make_season()
        ran = [timed([self.bench.tool, "packet", "plan.toml", "--json", "--quiet", "--today", "2027-03-18", "--threads",
                      str(self.bench.threads)], season) for _ in range(self.bench.runs)]
        said = json.loads(ran[-1].out)
        assert said["sheets"] >= self.count, said
        case = f"packet: {self.count} sites, {self.count * PLOTS:,} plots, {self.count * PLOTS // 2:,} spares"
        self.bench.row(case, "packet, s", median(ran), "at most 10")
        self.bench.row(case, "peak memory, MB", peak(ran))
        self.bench.row(case, "sheets", said["sheets"], runs=1)
        self.bench.row(case, "all sheets in one file, MB", (season / "out/packet/all.html").stat().st_size / 1e6, runs=1)
        self.looks(20 if self.bench.quick else 200)

    def looks(self, tables):
        """The shortest set and the best order of looks of made cards, each kind of table."""
        said = json.loads(timed([self.bench.parts, "looks", "--tables", str(tables)], self.land).out)
        for kind in said["looks"]:
            self.bench.row(f"looks: 40 plants, 30 characters, {kind['kind']}", "slowest table, s", kind["slowest"],
                           "under 1", runs=tables)

    def make_season(self):
        season = self.land / f"packet-{self.count}"
        if (season / "season.gpkg").exists():
            return season
        shutil.rmtree(season, ignore_errors=True)
        (season / "species").mkdir(parents=True)
        metres = self.side * CELL
        spent([self.bench.parts, "sites", "--out", season / "sites.gpkg", "--count", str(self.count), "--share", "0.06",
               "--ground", f"{WEST},{NORTH},{metres},{metres}"], season)
        codes = apart("packet_cases", "draw_ground", season)
        plan = PLAN.replace('by = ["site", "score"]', 'by = ["site"]').replace(
            "total = 10000\nleast_per_stratum = 2\nspares = 0", f"each = {PLOTS}\nspares = 0.5")
        teams = "[teams]\n" + "".join(f"team{i} = {json.dumps(codes[i::20])}\n" for i in range(20) if codes[i::20])
        (season / "plan.toml").write_text(plan + GROUND + teams)
        for i, code in enumerate(SPECIES):
            (season / "species" / f"{code}.toml").write_text(
                SHEET.format(code=code, trapezoid=[5, 12, 60 - i, 80 - i], ww=0.2, gl=0.5).replace(
                    "version = 1", 'version = 1\nwindow = ["05-20", "06-25"]'))
        spent([self.bench.tool, "draw", "plan.toml", "--json", "--quiet"], season)
        return season


def draw_ground(season):
    """Six ponds of 200 corners, a winding creek with two planks and a parking for each site; the sites' codes."""
    from osgeo import ogr, osr

    ogr.UseExceptions()
    sites = ogr.Open(str(season / "sites.gpkg"))
    boxes = [(site["code"], site.GetGeometryRef().GetEnvelope()) for site in sites.GetLayer(0)]
    dice = random.Random(3)
    ponds, creeks, planks, parking = [], [], [], []
    for code, (x0, x1, y0, y1) in boxes:
        for _ in range(6):
            x, y, radius = dice.uniform(x0, x1), dice.uniform(y0, y1), dice.uniform(15, 60)
            ring = []
            for i in range(200):
                turn = 2 * math.pi * i / 200
                far = radius * (1 + 0.25 * math.sin(5 * turn) + 0.03 * math.sin(37 * turn))
                ring.append(f"{x + far * math.cos(turn)} {y + far * math.sin(turn)}")
            ponds.append((code, f"POLYGON (({', '.join([*ring, ring[0]])}))"))
        middle, bends = (x0 + x1) / 2, int((y1 - y0 + 100) / 5)
        bank = [f"{middle + 30 * math.sin(i / 8)} {y0 - 50 + 5 * i}" for i in range(bends)]
        creeks.append((code, f"LINESTRING ({', '.join(bank)})"))
        planks += [(code, f"POINT ({bank[int(share * bends)]})") for share in (0.3, 0.7)]
        parking.append((code, f"POINT ({x0 - 40} {y0 - 40})"))
    reference = osr.SpatialReference()
    reference.ImportFromEPSG(26914)
    for name, features in (("ponds", ponds), ("creeks", creeks), ("planks", planks), ("parking", parking)):
        file = ogr.GetDriverByName("GPKG").CreateDataSource(str(season / f"{name}.gpkg"))
        layer = file.CreateLayer(name, reference)
        layer.CreateField(ogr.FieldDefn("site", ogr.OFTString))
        for code, text in features:
            feature = ogr.Feature(layer.GetLayerDefn())
            feature["site"] = code
            feature.SetGeometry(ogr.CreateGeometryFromWkt(text))
            layer.CreateFeature(feature)
        file = layer = None
    return [code for code, _ in boxes]
