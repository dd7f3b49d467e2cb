"""Float layers, and slope, aspect and heat from elevation, beside one read of the files and beside numpy: a case of
the benchmark."""

import pathlib
import shutil

from measure import PYTHON, apart, timed
from rules import TERRAIN, make_season
from score_cases import tables

HERE = pathlib.Path(__file__).resolve().parent
LAYERS = {"cover": "cover", "moisture": "percent", "wetness": "percent", "elevation": "m",
          **{name: name for name in TERRAIN}}
SPECIES = 8


class FloatCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 10240

    def run(self):
        season, files = self.make("tables", self.side)
        case = (f"score without maps: 4 layers, 2 of them Float32, slope, aspect, heat, {SPECIES} species, "
                f"{self.side ** 2:.2g} cells")
        tables(self.bench, season, case, list(files.values()), 2.0, 12)
        self.compare(case)

    def make(self, name, side):
        land = self.bench.make_landscape(side, ["cover", "moisture", "elevation"])
        files = {layer: land / f"{layer}.tif" for layer in ("cover", "moisture", "wetness", "elevation")}
        if not files["wetness"].exists():
            apart("layers", "make_wetness", files["moisture"], files["wetness"])
        return make_season(self.bench, f"float-{side}/{name}", LAYERS, files, SPECIES, side), files

    def compare(self, case):
        """Maps of the same rules against numpy's on smaller ground, cell by cell."""
        season, _ = self.make("maps", 1024)
        theirs = season / "numpy"
        timed([PYTHON, "-B", HERE / "baseline.py", "rules.json", "--maps", theirs], season)
        self.bench.score(season)
        seen = apart("agree", "check_maps", season, theirs)
        shutil.rmtree(theirs)
        self.bench.row(case, "cells of score maps as numpy's, of 1024 x 1024", seen["cells"], "all but ties", runs=1)
        self.bench.row(case, "of these ties that round otherwise", seen["ties"], "100 S within 0.001 of a half", runs=1)
        self.bench.row(case, "excluded cells, so in both", seen["excluded"], "all", runs=1)
        self.bench.row(case, "cells without a score, so in both", seen["no_score"], "all", runs=1)
