"""Maps of eight species beside the floor of writing them and beside numpy, and the run after one number was changed:
cases of the benchmark."""

import json
import pathlib
import shutil
import sys

from measure import PYTHON, apart, median, peak, timed
from rules import make_season, write_sheet

HERE = pathlib.Path(__file__).resolve().parent
LAYERS = {"cover": "cover", "moisture": "percent"}
SPECIES = 8


class MapCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 10240
        self.case = f"maps: 2 Byte layers, {SPECIES} species, {self.side ** 2:.2g} cells"

    def run(self):
        land = self.bench.make_landscape(self.side, ["cover", "moisture", "canopy", "bedrock"])
        self.files = {name: land / f"{name}.tif" for name in LAYERS}
        self.season = make_season(self.bench, f"maps-{self.side}", LAYERS, self.files, SPECIES, self.side)
        numpy = self.prepare()
        floor, ours, edited = [], [], []
        for _ in range(self.bench.runs):  # in turn, so that a slow minute hits all
            floor.append(self.write_floor())
            self.clear()
            ours.append(self.bench.score(self.season))
            edited.append(self.edit())
        row = self.bench.row
        row(self.case, "floor: read, look up, write 16 maps, s", median(floor))
        row(self.case, "score with maps, s", median(ours))
        row(self.case, "score / floor", median(ours) / median(floor), "at most 1.15")
        row(self.case, "numpy, 8 score maps without overviews, s", numpy.seconds, runs=1)
        row(self.case, "numpy / score", numpy.seconds / median(ours), "at least 5", runs=1)
        row(self.case, "peak memory, MB", peak(ours), "under 400")
        row(self.case, "one number of one sheet changed, s", median(edited))
        row(self.case, "changed / all", median(edited) / median(ours), "at most 0.3")

    def clear(self):
        shutil.rmtree(self.season / "out", ignore_errors=True)
        (self.season / "season.gpkg").unlink(missing_ok=True)

    def prepare(self):
        """Numpy's run; the maps compared with numpy's; what the floor writes."""
        theirs = self.season / "numpy"
        numpy = timed([PYTHON, "-B", HERE / "baseline.py", "rules.json", "--maps", theirs], self.season)
        self.bench.score(self.season)
        seen = apart("agree", "check_maps", self.season, theirs)
        row = self.bench.row
        row(self.case, "cells of score maps as numpy's", seen["cells"], "all but ties", runs=1)
        row(self.case, "of these ties that round otherwise", seen["ties"], "100 S within 0.001 of a half", runs=1)
        row(self.case, "excluded cells, so in both", seen["excluded"], "all", runs=1)
        row(self.case, "cells of score 0", seen["zero"], runs=1)
        apart("agree", "learn_cells", self.season, self.season / "cells.bin")
        shutil.rmtree(theirs)
        return numpy

    def write_floor(self):
        out = self.season / "floor"
        shutil.rmtree(out, ignore_errors=True)
        out.mkdir()
        ran = timed([self.bench.parts, "write", "--rasters", ",".join(str(file) for file in self.files.values()),
                     "--cells", "cells.bin", "--averaged", str(SPECIES), "--out", out, "--threads",
                     str(self.bench.threads)], self.season)
        shutil.rmtree(out)
        return ran

    def edit(self):
        """One corner of one sheet moved after all maps are there; the sheet as it was again in the end."""
        species = json.loads((self.season / "rules.json").read_text())["species"][3]
        whole = json.dumps(species)
        species["factors"][1]["trapezoid"][3] += 1
        write_sheet(self.season, with_numbers(species), LAYERS)
        ran = self.bench.score(self.season)
        write_sheet(self.season, with_numbers(json.loads(whole)), LAYERS)
        kept = json.loads(ran.out)["maps_kept"]
        if len(kept) != SPECIES - 1 or species["code"] in kept:
            sys.exit(f"after a change of {species['code']} the maps of {kept} were kept")
        return ran


def with_numbers(species):
    """Class values as numbers again, which JSON has as text."""
    for factor in species["factors"]:
        if "scores" in factor:
            factor["scores"] = {int(value): score for value, score in factor["scores"].items()}
    return species
