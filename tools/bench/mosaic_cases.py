"""Memory and time per cell on mosaics of 10^8 and 10^10 cells of the same tiles: a case of the benchmark."""

from measure import median, peak
from rules import make_season

LAYERS = {"cover": "cover", "moisture": "percent"}
SPECIES = 8
ORIGIN = 0, 4800000  # so that a thousand kilometres lie on both sides of the zone's middle


class MosaicCases:
    def __init__(self, bench):
        self.bench = bench
        self.block = 1024 if bench.quick else 5120
        self.sides = (2 * self.block, (8 if bench.quick else 20) * self.block)

    def run(self):
        small, large = (self.season(side) for side in self.sides)
        runs = self.bench.runs if self.bench.quick else 1  # of the large one, which takes minutes
        ours = [self.bench.score(small, "--tables-only") for _ in range(self.bench.runs)]
        many = [self.bench.score(large, "--tables-only") for _ in range(runs)]
        cells = [side ** 2 for side in self.sides]
        per_cell = [median(of) / n * 1e9 for of, n in zip((ours, many), cells)]
        case = f"score without maps: mosaics of the same tiles, 2 Byte layers, {SPECIES} species"
        row = self.bench.row
        row(case, f"{cells[0]:.3g} cells, s", median(ours))
        row(case, f"{cells[1]:.3g} cells, s", median(many), runs=runs)
        row(case, f"{cells[0]:.3g} cells, ns a cell", per_cell[0])
        row(case, f"{cells[1]:.3g} cells, ns a cell", per_cell[1], runs=runs)
        row(case, "time a cell, large / small", per_cell[1] / per_cell[0], "at most 1.1", runs=runs)
        row(case, f"peak memory at {cells[0]:.3g}, MB", peak(ours), "under 400")
        row(case, f"peak memory at {cells[1]:.3g}, MB", peak(many), "under 400", runs=runs)

    def season(self, side):
        land = self.bench.make_landscape(side, ["cover", "moisture"], origin=ORIGIN, mosaic_block=self.block)
        files = {name: land / f"{name}.vrt" for name in LAYERS}
        return make_season(self.bench, f"mosaic-{side}", LAYERS, files, SPECIES, side, ORIGIN)
