"""Scoring without maps beside one read of its layers and beside numpy: cases of the benchmark."""

import json
import pathlib
import sys

from measure import PYTHON, median, peak, timed
from rules import BANDS, folder_name, make_season

HERE = pathlib.Path(__file__).resolve().parent


class ScoreCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 10240

    def run(self):
        land = self.bench.make_landscape(self.side, ["cover", "moisture", "canopy", "bedrock"])
        other = self.bench.make_landscape(self.side, ["cover", "moisture"], seed=8)
        two = {"cover": "cover", "moisture": "percent"}
        eight = self.tables("2 Byte layers, 8 species", two, {n: land / f"{n}.tif" for n in two}, 8, 1.15, 35)
        many = self.tables("2 Byte layers, 64 species", two, {n: land / f"{n}.tif" for n in two}, 64, None, None)
        self.bench.row(self.case("2 Byte layers, 64 species"), "64 species / 8 species", many / eight, "at most 1.15")
        six = {**two, "canopy": "percent", "bedrock": "bedrock", "cover_before": "cover", "moisture_before": "percent"}
        files = {n: land / f"{n}.tif" for n in ("cover", "moisture", "canopy", "bedrock")}
        files.update({f"{n}_before": other / f"{n}.tif" for n in ("cover", "moisture")})
        self.tables("6 Byte layers, 16 species", six, files, 16, 1.7, None)

    def case(self, name):
        return f"score without maps: {name}, {self.side ** 2:.2g} cells"

    def tables(self, name, layers, files, count, of_floor, of_numpy):
        """Seconds of scoring without maps; rows beside the floor and numpy."""
        season = make_season(self.bench, f"score-{self.side}/{folder_name(name)}", layers, files, count, self.side)
        return tables(self.bench, season, self.case(name), list(files.values()), of_floor, of_numpy)


def tables(bench, season, case, rasters, of_floor, of_numpy):
    """Seconds of scoring this season without maps; rows beside the floor and, where there is a target, numpy."""
    floor, ours = [], []
    for _ in range(bench.runs):  # in turn, so that a slow minute hits both
        floor.append(bench.floor(season, rasters))
        ours.append(bench.score(season, "--tables-only"))
    bench.row(case, "one read of the layers, s", median(floor))
    bench.row(case, "score, s", median(ours))
    bench.row(case, "score / read", median(ours) / median(floor), f"at most {of_floor}" if of_floor else "")
    bench.row(case, "peak memory, MB", peak(ours), "under 400")
    if of_numpy:
        numpy = timed([PYTHON, "-B", HERE / "baseline.py", "rules.json"], season)
        bench.row(case, "numpy, s", numpy.seconds, runs=1)
        bench.row(case, "numpy / score", numpy.seconds / median(ours), f"at least {of_numpy}", runs=1)
        compare_tables(json.loads(ours[-1].out), json.loads(numpy.out))
    return median(ours)


def compare_tables(ours, theirs):
    """The table of the one site against numpy's counts of cells. Its outline is a strip of up to 4.5 cells short of
    the landscape, so shares are compared, to what the strips can hold: half of it may be of another kind."""
    for row in ours["table"]:
        if row["site"] == "all":
            continue
        met = theirs[row["species"]]
        cells = sum(met["percent"]) + met["excluded"] + met["none"]
        bands = [0] * (len(BANDS) + 1)
        for percent, count in enumerate(met["percent"]):
            bands[sum(percent >= 100 * b for b in BANDS)] += count
        tolerance = 0.001 + 0.5 * 4 * 4.5 / cells ** 0.5
        own = [*row["hectares_per_band"], row["hectares_excluded"], row["hectares_no_score"]]
        for hectares, count in zip(own, [*bands, met["excluded"], met["none"]]):
            if abs(hectares / sum(own) - count / cells) > tolerance:
                sys.exit(f"{row['species']}: {hectares / sum(own):.4f} of the ground, {count / cells:.4f} by numpy")
