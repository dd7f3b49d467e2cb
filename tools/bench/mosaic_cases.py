"""Memory and time per cell on mosaics of 10^8 and 10^10 cells of the same tiles: a case of the benchmark."""

import itertools
import re

from measure import median, peak
from rules import make_season

LAYERS = {"cover": "cover", "moisture": "percent"}
SPECIES = 8
ORIGIN = 0, 4800000  # so that a thousand kilometres lie on both sides of the zone's middle


class MosaicCases:
    def __init__(self, bench):
        self.bench = bench
        self.block = 1024 if bench.quick else 5120
        self.sides = (2048, 8192) if bench.quick else (10240, 99840)  # a season may have 10^10 cells

    def run(self):
        small, large = (self.season(side) for side in self.sides)
        ours, many = [], []
        for _ in range(self.bench.runs):  # in turn, so that a slow minute hits both
            ours.append(self.bench.score(small, "--tables-only"))
            many.append(self.bench.score(large, "--tables-only"))
        cells = [side ** 2 for side in self.sides]
        per_cell = [median(of) / n * 1e9 for of, n in zip((ours, many), cells)]
        case = f"score without maps: mosaics of the same tiles, 2 Byte layers, {SPECIES} species"
        row = self.bench.row
        row(case, f"{cells[0]:.3g} cells, s", median(ours))
        row(case, f"{cells[1]:.3g} cells, s", median(many))
        row(case, f"{cells[0]:.3g} cells, ns a cell", per_cell[0])
        row(case, f"{cells[1]:.3g} cells, ns a cell", per_cell[1])
        row(case, "time a cell, large / small", per_cell[1] / per_cell[0], "at most 1.1")
        row(case, f"peak memory at {cells[0]:.3g}, MB", peak(ours), "under 400")
        row(case, f"peak memory at {cells[1]:.3g}, MB", peak(many), "under 400")

    def season(self, side):
        land = self.bench.make_landscape(side, ["cover", "moisture"], origin=ORIGIN, mosaic_block=self.block)
        files = {name: tiled(land, name) for name in LAYERS}
        return make_season(self.bench, f"mosaic-{side}", LAYERS, files, SPECIES, side, ORIGIN)


def tiled(land, layer):
    """The mosaic with every tile under a file name of its own, all of them links to one file: tiles of one name would
    be decoded once and then come from GDAL's cache."""
    numbers = itertools.count()

    def own_name(_):
        name = f"{layer}-{next(numbers)}.tif"
        if not (land / name).is_symlink():
            (land / name).symlink_to(f"{layer}-block.tif")
        return f">{name}<"

    mosaic = land / f"{layer}-tiles.vrt"
    mosaic.write_text(re.sub(f">{layer}-block.tif<", own_name, (land / f"{layer}.vrt").read_text()))
    return mosaic
