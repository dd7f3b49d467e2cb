"""A class layer of another coordinate system and cell size, warped on the way: a case of the benchmark."""

from measure import apart, median, peak
from rules import make_season

LAYERS = {"cover": "cover", "moisture": "percent"}
SPECIES = 8
OTHER_CRS, OTHER_CELL = "EPSG:26915", 12
AGREE = 0.999  # nearest cells at equal distance may go either way


class WarpCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 2048  # every cell is transformed exactly: microseconds, not nanoseconds

    def run(self):
        land = self.bench.make_landscape(self.side, ["cover", "moisture", "canopy", "bedrock"])
        made = self.bench.folder / f"warp-{self.side}"
        made.mkdir(exist_ok=True)
        files = {"cover": made / "cover-other.tif", "moisture": land / "moisture.tif"}
        if not files["cover"].exists():
            apart("layers", "warp_to", land / "cover.tif", files["cover"], OTHER_CRS, OTHER_CELL)
        season = make_season(self.bench, f"warp-{self.side}/season", LAYERS, files, SPECIES, self.side)
        floor, ours = [], []
        for _ in range(self.bench.runs):
            floor.append(self.bench.floor(season, files.values()))
            ours.append(self.bench.score(season, "--tables-only"))
        case = (f"score without maps: cover warped from {OTHER_CRS} in {OTHER_CELL} m, {SPECIES} species, "
                f"{self.side ** 2:.2g} cells")
        self.bench.row(case, "one read of the layers, s", median(floor))
        self.bench.row(case, "score, s", median(ours))
        self.bench.row(case, "score / read", median(ours) / median(floor))
        self.bench.row(case, "peak memory, MB", peak(ours), "under 400")
        self.compare(case, season, land / "moisture.tif")

    def compare(self, case, season, like):
        """Score maps against numpy on the cover that gdal's warp gives on the grid, in squares over the ground."""
        self.bench.score(season)
        share, cells = apart("warped", "share_same", season, like)
        if share < AGREE:
            raise SystemExit(f"warped: {share} of {cells} cells are as numpy's")
        self.bench.row(case, f"share of {cells:.3g} sampled cells as numpy's on gdal's warp", share,
                       f"at least {AGREE}", runs=1)
