"""Counts coming back at size: cases of the benchmark."""

import json
import random
import shutil
import sqlite3

from draw_cases import PLAN, SHEET
from measure import CELL, NORTH, WEST, median, peak, spent, timed

SITES = 300
SPECIES = [f"S{i:02}Q" for i in range(10)]
HEADINGS = ("plot,visit_date,start,finish,observer,species,certainty,flowering_stems,twice_stems,count_method,"
            "area_searched_m2,phase,lat,lon,fix_accuracy_m,status,sheet_id\n")


class ReturnsCases:
    def __init__(self, bench):
        self.bench = bench
        self.side = 1024 if bench.quick else 3072
        # Plots in each site: every plot has a row for each species.
        self.sizes = (3, 10) if bench.quick else (33, 334)

    def run(self):
        self.land = self.bench.make_landscape(self.side, ["cover", "moisture"])
        few, many = (SITES * each * len(SPECIES) for each in self.sizes)
        received, estimated = zip(*((self.receive(each), self.estimate(each)) for each in self.sizes))
        for command, per_row in (("receive", received), ("estimate", estimated)):
            self.bench.row(f"{command}: cost of a row", f"at {many:,} rows / at {few:,}", per_row[1] / per_row[0],
                           "at most 1.2")
        self.report()

    def report(self):
        """The season's page of 120 sites and 1,200 plots, all of them counted."""
        season = self.make_season(10, count=120)
        rows = write_returns(season)
        shutil.rmtree(season / "returns", ignore_errors=True)
        shutil.copy(season / "drawn.gpkg", season / "season.gpkg")
        timed([self.bench.tool, "receive", "plan.toml", "counts.csv", "--json", "--quiet", "--today", "2027-07-01"], season)
        ran = [timed([self.bench.tool, "report", "plan.toml", "--json", "--quiet", "--threads", str(self.bench.threads)],
                     season) for _ in range(self.bench.runs)]
        case = f"report: 120 sites, 1,200 plots, {rows:,} rows"
        self.bench.row(case, "report, s", median(ran), "at most 10")
        self.bench.row(case, "peak memory, MB", peak(ran))
        self.bench.row(case, "page, MB", (season / "out/report.html").stat().st_size / 1e6, "under 5", runs=1)

    def receive(self, each):
        """Microseconds a row: copied, read, checked, stored."""
        season = self.make_season(each)
        rows = write_returns(season)
        ran = []
        for _ in range(self.bench.runs):
            # A folder of returns that lost files the store was made of would be refused.
            shutil.rmtree(season / "returns", ignore_errors=True)
            shutil.copy(season / "drawn.gpkg", season / "season.gpkg")
            ran.append(timed([self.bench.tool, "receive", "plan.toml", "counts.csv", "--json", "--quiet", "--today",
                              "2027-07-01", "--threads", str(self.bench.threads)], season))
        said = json.loads(ran[-1].out)
        assert said["rows"] == rows, said
        with sqlite3.connect(season / "season.gpkg") as store:
            assert store.execute("select count(*) from counts").fetchone()[0] == rows
        large = each == self.sizes[-1] and not self.bench.quick
        case = f"receive: {rows:,} rows over {SITES * each:,} plots"
        self.bench.row(case, "receive, s", median(ran), "at most 20" if large else "")
        self.bench.row(case, "peak memory, MB", peak(ran), "under 1,000" if large else "")
        self.bench.row(case, "flags", sum(c["open"] + c["listed"] for c in said["checks"]), runs=1)
        return median(ran) / rows * 1e6

    def estimate(self, each):
        """Microseconds a row: read from the store, estimated, written as CSV, JSON and into the store."""
        season = self.make_season(each)
        ran = [timed([self.bench.tool, "estimate", "plan.toml", "--json", "--quiet", "--threads", str(self.bench.threads)],
                     season) for _ in range(self.bench.runs)]
        rows = SITES * each * len(SPECIES)
        large = each == self.sizes[-1] and not self.bench.quick
        case = f"estimate: {rows:,} rows over {SITES * each:,} plots"
        self.bench.row(case, "estimate, s", median(ran), "at most 5" if large else "")
        self.bench.row(case, "peak memory, MB", peak(ran), "under 1,000" if large else "")
        return median(ran) / rows * 1e6

    def make_season(self, each, count=SITES):
        season = self.land / (f"returns-{each}" if count == SITES else f"returns-{count}-{each}")
        if (season / "drawn.gpkg").exists():
            return season
        shutil.rmtree(season, ignore_errors=True)
        (season / "species").mkdir(parents=True)
        metres = self.side * CELL
        spent([self.bench.parts, "sites", "--out", season / "sites.gpkg", "--count", str(count), "--share", "1",
               "--ground", f"{WEST},{NORTH},{metres},{metres}"], season)
        with sqlite3.connect(season / "sites.gpkg") as sites:
            table = sites.execute("select table_name from gpkg_contents").fetchone()[0]
            codes = [row[0] for row in sites.execute(f'select code from "{table}"')]
        search = "".join(f'"{code}" = {json.dumps(SPECIES)}\n' for code in sorted(set(codes)))
        plan = PLAN.replace('by = ["site", "score"]', 'by = ["site"]').replace("total = 10000\nleast_per_stratum = 2",
                                                                             f"each = {each}")
        (season / "plan.toml").write_text(f"{plan}[returns.search]\n{search}")
        for i, code in enumerate(SPECIES):
            (season / "species" / f"{code}.toml").write_text(
                SHEET.format(code=code, trapezoid=[5, 12, 60 - i, 80 - i], ww=0.2, gl=0.5))
        spent([self.bench.tool, "draw", "plan.toml", "--json", "--quiet"], season)
        shutil.copy(season / "season.gpkg", season / "drawn.gpkg")
        return season


def write_returns(season):
    """One sound row for every plot and species, as a volunteers' team would send it. Invented."""
    dice = random.Random(5)
    with sqlite3.connect(season / "season.gpkg") as store:
        plots = store.execute("select name, inside_m2, twice_m2, lat, lon, site from plots where spare = 0 order by name"
                              ).fetchall()
    rows = 0
    with open(season / "counts.csv", "w") as out:
        out.write(HEADINGS)
        for number, (name, inside, twice, lat, lon, site) in enumerate(plots):
            day, minute = 1 + number % 30, dice.randrange(60)
            visit = (f"2027-06-{day:02},{8 + number % 9:02}:{minute:02},{9 + number % 9:02}:{dice.randrange(60):02},"
                     f"{1 + hash_of(site) % 200:03}")
            fix = f"{lat + dice.gauss(0, 2e-5):.6f},{lon + dice.gauss(0, 2e-5):.6f},{dice.randrange(2, 7)}"
            area = f"{int(inside * 100) / 100:.2f}"
            for code in SPECIES:
                stems = int(dice.expovariate(0.2)) if dice.random() < 0.4 else 0
                box = dice.randrange(stems + 1) if twice > 0 else 0
                out.write(f"{name},{visit},{code},sure,{stems},{box},counted,{area},flower,{fix},counted,{number // 5}\n")
                rows += 1
    return rows


def hash_of(text):
    return sum(ord(letter) * 31 ** i for i, letter in enumerate(text))
