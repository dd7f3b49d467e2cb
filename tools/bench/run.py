"""Runs the benchmark's cases and prints their ratios; started by run.sh. Needs only Python's own library."""

import argparse
import json
import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import time

RUNS = 5
CELL = 10
WEST, NORTH = 700000, 4400000

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


def spent(command, folder):
    """Wall seconds, peak memory in MB and output of one process; 1 means done, but something needs a person."""
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    out = process.stdout.read()
    error = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        sys.exit(f"{' '.join(map(str, command))} failed:\n{error[-2000:]}")
    return seconds, usage.ru_maxrss / 1024, out


class Bench:
    def __init__(self, folder, build, quick, threads):
        self.folder = folder
        self.tool = build / "tools/swardline/swardline"
        self.landscape = build / "tools/landscape/landscape"
        self.parts = build / "tools/bench/bench"
        self.side = 3072 if quick else 31744
        # Share of the ground in sites: a few per cent of a state, sites that take up much of it, and compartments
        # that are all of it, so that the frame has as many cells as the landscape. On the small landscape sites
        # keep a real size.
        self.shares = {"small sites": 0.2} if quick else {"small sites": 0.005, "wide sites": 0.3, "compartments": 1}
        self.count = 120 if quick else 300
        self.threads = threads
        self.rows = []

    def row(self, case, what, value, target=""):
        self.rows.append({"case": case, "what": what, "value": value, "target": target})

    def make_landscape(self):
        """Two Byte layers, tiled; made once."""
        self.land = self.folder / f"land-{self.side}"
        if (self.land / "done").exists():
            return
        shutil.rmtree(self.land, ignore_errors=True)
        seconds, _, _ = spent(
            [self.landscape, "--out", self.land, "--seed", "7", "--origin", f"{WEST},{NORTH}", "--cell-m", str(CELL),
             "--size", f"{self.side},{self.side}", "--layers", "cover,moisture"], self.folder)
        (self.land / "done").write_text(f"{seconds:.0f} s\n")

    def make_season(self, name):
        self.season = self.land / name.replace(" ", "-")
        shutil.rmtree(self.season, ignore_errors=True)
        (self.season / "species").mkdir(parents=True)
        (self.season / "plan.toml").write_text(PLAN)
        for code, trapezoid, ww, gl in (("AAAA", [20, 26, 38, 46], 0.2, 0.3), ("BBBB", [8, 12, 22, 30], 0.1, 0.9)):
            (self.season / "species" / f"{code}.toml").write_text(
                SHEET.format(code=code, trapezoid=trapezoid, ww=ww, gl=gl))
        metres = self.side * CELL
        spent([self.parts, "sites", "--out", self.season / "sites.gpkg", "--count", str(self.count),
               "--share", str(self.shares[name]), "--ground", f"{WEST},{NORTH},{metres},{metres}"], self.season)

    def draw(self, name):
        """10,000 plots from 300 sites, beside one read of the tiles that the sites touch."""
        read, draw, memory = [], [], []
        rasters = f"{self.land / 'cover.tif'},{self.land / 'moisture.tif'}"
        for _ in range(RUNS):  # in turn, so that a slow minute hits both
            seconds, _, out = spent([self.parts, "read", "--sites", "sites.gpkg", "--rasters", rasters,
                                     "--threads", str(self.threads)], self.season)
            read.append(seconds)
            tiles = json.loads(out)
            for made in ("season.gpkg", "out", "record"):
                path = self.season / made
                shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
            seconds, peak, out = spent([self.tool, "draw", "plan.toml", "--json", "--quiet", "--threads",
                                        str(self.threads)], self.season)
            draw.append(seconds)
            memory.append(peak)
        planned = json.loads(out)["planned"]
        case = f"draw: {planned:,} plots, {self.count} {name}, {self.side ** 2:.2g} cells"
        self.row(case, f"one read of {tiles['tiles']} tiles, {tiles['cells']:.3g} cells, s", statistics.median(read))
        self.row(case, "draw, s", statistics.median(draw))
        self.row(case, "draw / read", statistics.median(draw) / statistics.median(read), "at most 3")
        self.row(case, "peak memory, MB", max(memory), "under 512")

    def thinning(self):
        """Local pivotal thinning in one thread, beside a plain version that looks at every pair."""
        _, _, out = spent([self.parts, "thinning", "--repeats", str(RUNS), "--draws", "40"], self.folder)
        t = json.loads(out)
        case = "thinning by the local pivotal method, one thread"
        self.row(case, "200,000 candidates to 10,000, s", t["seconds_200k"], "at most 1")
        self.row(case, "20,000 candidates to 1,000, s", t["seconds_20k"])
        self.row(case, "200,000 / 20,000", t["seconds_200k"] / t["seconds_20k"], "at most 25")
        self.row(case, "plain / ours at 20,000", t["plain_seconds_20k"] / t["seconds_20k"])
        self.row(case, f"balance, mean of {t['draws']} draws at 20,000", t["balance"])
        self.row(case, "balance of the plain version", t["balance_plain"])
        self.row(case, "difference, in standard errors", t["difference_in_errors"], "within 3")
        self.row(case, "largest difference of distributions", t["kolmogorov"],
                 f"below {t['kolmogorov_limit']} (1 %)")

    def show(self):
        width = max(len(row["what"]) for row in self.rows)
        case = None
        for row in self.rows:
            if row["case"] != case:
                case = row["case"]
                print(f"\n{case}")
            print(f"  {row['what']:<{width}} {row['value']:>10.4g}  {row['target']}")
        result = self.folder / "bench.json"
        result.write_text(json.dumps({"cores": os.cpu_count(), "threads": self.threads, "runs": RUNS,
                                      "rows": self.rows}, indent=2) + "\n")
        print(f"\nMedians of {RUNS} runs. As JSON: {result}")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=pathlib.Path)
    parser.add_argument("--build", type=pathlib.Path, required=True)
    parser.add_argument("--quick", action="store_true", help="a hundredth of the ground")
    parser.add_argument("--threads", type=int, default=os.cpu_count())
    parser.add_argument("--only", choices=["draw", "thinning"])
    given = parser.parse_args()
    folder = (given.folder or given.build.parent / "bench").resolve()
    folder.mkdir(parents=True, exist_ok=True)
    bench = Bench(folder, given.build.resolve(), given.quick, given.threads)
    if given.only != "thinning":
        bench.make_landscape()
        for name in bench.shares:
            bench.make_season(name)
            bench.draw(name)
    if given.only != "draw":
        bench.thinning()
    bench.show()


main()
