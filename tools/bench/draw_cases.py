"""The draw at size, and thinning: cases of the benchmark."""

import json
import shutil
import statistics

from measure import CELL, NORTH, WEST, median, peak, spent, timed

PLAN = """[season]
name = "Benchmark"
crs = "EPSG:26914"
seed = 2027
[sites]
source = "sites.gpkg"
[layers.cover]
source = "../cover.tif"
classes = { 1 = "OW", 2 = "WW", 3 = "WM", 4 = "MP", 5 = "DP", 6 = "GL", 7 = "WD", 8 = "CF", 9 = "OF", 10 = "RD", 11 = "CR", 12 = "DV" }
[layers.moisture]
source = "../moisture.tif"
unit = "percent"
[strata]
by = ["site", "score"]
[sample]
shape = "belt"
size_m = [2, 10]
total = 10000
least_per_stratum = 2
spares = 0
"""

SHEET = """code = "{code}"
name = "Planta {code}"
version = 1
[[factor]]
layer = "moisture"
role = "limiting"
trapezoid = {trapezoid}
why = "invented"
[[factor]]
layer = "cover"
role = "limiting"
scores = {{ WW = {ww}, WM = 1.0, MP = 0.9, DP = 0.3, GL = {gl}, WD = 0.4, CF = 0.2, OF = 0.4, RD = 0.5 }}
excluded = ["OW", "CR", "DV"]
why = "invented"
[combine]
rule = "graded"
"""


class DrawCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 3072 if bench.quick else 31744
        # Share of the ground in sites: a few per cent of a state, sites that take up much of it, and compartments
        # that are all of it, so that the frame has as many cells as the landscape. On the small landscape sites
        # keep a real size.
        self.shares = {"small sites": 0.2} if bench.quick else {"small sites": 0.005, "wide sites": 0.3, "compartments": 1}
        self.count = 120 if bench.quick else 300

    def run(self):
        self.land = self.bench.make_landscape(self.side, ["cover", "moisture"])
        for name in self.shares:
            self.make_season(name)
            self.draw(name)

    def make_season(self, name):
        self.season = self.land / name.replace(" ", "-")
        shutil.rmtree(self.season, ignore_errors=True)
        (self.season / "species").mkdir(parents=True)
        (self.season / "plan.toml").write_text(PLAN)
        for code, trapezoid, ww, gl in (("AAAA", [20, 26, 38, 46], 0.2, 0.3), ("BBBB", [8, 12, 22, 30], 0.1, 0.9)):
            (self.season / "species" / f"{code}.toml").write_text(
                SHEET.format(code=code, trapezoid=trapezoid, ww=ww, gl=gl))
        metres = self.side * CELL
        spent([self.bench.parts, "sites", "--out", self.season / "sites.gpkg", "--count", str(self.count),
               "--share", str(self.shares[name]), "--ground", f"{WEST},{NORTH},{metres},{metres}"], self.season)

    def draw(self, name):
        """10,000 plots from 300 sites, beside one read of the tiles that the sites touch."""
        read, draw = [], []
        rasters = [self.land / "cover.tif", self.land / "moisture.tif"]
        for _ in range(self.bench.runs):  # in turn, so that a slow minute hits both
            read.append(self.bench.floor(self.season, rasters))
            self.clear()
            draw.append(self.run_draw())
        tiles, planned = json.loads(read[-1].out), json.loads(draw[-1].out)["planned"]
        case = f"draw: {planned:,} plots, {self.count} {name}, {self.side ** 2:.2g} cells"
        row = self.bench.row
        small = name == "small sites"
        row(case, f"one read of {tiles['tiles']} tiles, {tiles['cells']:.3g} cells, s", median(read))
        row(case, "draw, s", median(draw))
        row(case, "draw / read", median(draw) / median(read), "at most 1.5" if small else "at most 3")
        row(case, "peak memory, MB", peak(draw), "under 512")
        if small:
            self.count_bytes(case, rasters, read[-1], draw[-1])

    def count_bytes(self, case, rasters, read, draw):
        """What draw asks the system to read, beside the tiles that the sites touch. In it are also files that it has
        written itself and reads back, the sites, and the coordinate systems' database: some 20 MB."""
        rasters_text = ",".join(map(str, rasters))
        _, _, out = spent([self.bench.parts, "sizes", "--sites", "sites.gpkg", "--rasters", rasters_text],
                          self.season)
        row = self.bench.row
        row(case, "the tiles' bytes in the files, MB", json.loads(out)["bytes"] / 1e6, runs=1)
        row(case, "asked of the system by the read, MB", read.bytes_read / 1e6, runs=1)
        row(case, "asked of the system by draw, MB", draw.bytes_read / 1e6, runs=1)
        if read.bytes_read:
            row(case, "draw's bytes / the read's", draw.bytes_read / read.bytes_read, "at most 2 of layers alone", runs=1)

    def clear(self):
        for made in ("season.gpkg", "out", "record"):
            path = self.season / made
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)

    def run_draw(self):
        return timed([self.bench.tool, "draw", "plan.toml", "--json", "--quiet", "--threads", str(self.bench.threads)],
                     self.season)


def thinning(bench):
    """Local pivotal thinning in one thread, beside a plain version that looks at every pair."""
    _, _, out = spent([bench.parts, "thinning", "--repeats", str(bench.runs), "--draws", "40"], bench.folder)
    t = json.loads(out)
    case = "thinning by the local pivotal method, one thread"
    bench.row(case, "200,000 candidates to 10,000, s", t["seconds_200k"], "at most 1")
    bench.row(case, "20,000 candidates to 1,000, s", t["seconds_20k"])
    bench.row(case, "200,000 / 20,000", t["seconds_200k"] / t["seconds_20k"], "at most 25")
    bench.row(case, "plain / ours at 20,000", t["plain_seconds_20k"] / t["seconds_20k"])
    bench.row(case, f"balance, mean of {t['draws']} draws at 20,000", t["balance"])
    bench.row(case, "balance of the plain version", t["balance_plain"])
    bench.row(case, "difference, in standard errors", t["difference_in_errors"], "within 3")
    bench.row(case, "largest difference of distributions", t["kolmogorov"],
             f"below {t['kolmogorov_limit']} (1 %)")
