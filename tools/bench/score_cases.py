"""Scoring without maps beside one read of its layers and beside numpy: cases of the benchmark."""

import json
import pathlib
import shutil
import statistics
import sys

from measure import CELL, NORTH, RUNS, WEST, spent

HERE = pathlib.Path(__file__).resolve().parent
COVER = {1: "OW", 2: "WW", 3: "WM", 4: "MP", 5: "DP", 6: "GL", 7: "WD", 8: "CF", 9: "OF", 10: "RD", 11: "CR", 12: "DV"}
BEDROCK = {1: "DOL", 2: "SST", 3: "CHT", 4: "SND", 5: "ALL", 6: "LOE"}
BANDS = [0.25, 0.5, 0.75]


def species_rules(count, layers):
    """Rules that differ from species to species; invented."""
    rules = []
    for i in range(count):
        low = 5 + 3 * (i % 11)
        factors = []
        for layer, kind in layers.items():
            if kind == "percent":
                factors.append({"layer": layer, "trapezoid": [low, low + 6, low + 20 + i % 5, low + 30 + i % 7]})
            elif kind == "m":
                factors.append({"layer": layer, "trapezoid": [50 + i, 120 + i, 300 + i, 420 + i]})
            elif kind == "degrees":
                factors.append({"layer": layer, "trapezoid": [-1, 0, 8 + i, 30 + i]})
            elif kind == "heat":
                factors.append({"layer": layer, "trapezoid": [0.2, 0.5, 1.0, 1.4]})
            else:
                legend = COVER if kind == "cover" else BEDROCK
                scores = {value: (1 + (i * 7 + value * 3) % 10) / 10 for value in legend}
                excluded = [value for value in legend if kind == "cover" and value in (1, 11, 12)]
                factors.append({"layer": layer, "excluded": excluded,
                                "scores": {v: s for v, s in scores.items() if v not in excluded}})
        rules.append({"code": f"S{i:03}", "factors": factors})
    return rules


def toml_of(species, layers):
    text = f'code = "{species["code"]}"\nname = "Planta {species["code"]}"\nversion = 1\n'
    for factor in species["factors"]:
        text += f'[[factor]]\nlayer = "{factor["layer"]}"\nrole = "limiting"\nwhy = "invented"\n'
        if "trapezoid" in factor:
            text += f'trapezoid = {factor["trapezoid"]}\n'
        else:
            legend = COVER if layers[factor["layer"]] == "cover" else BEDROCK
            text += "scores = { " + ", ".join(f"{legend[v]} = {s}" for v, s in factor["scores"].items()) + " }\n"
            text += f'excluded = {json.dumps([legend[v] for v in factor["excluded"]])}\n'
    return text + '[combine]\nrule = "lowest"\n'


def plan_of(layers, files):
    text = (f'[season]\nname = "Benchmark"\ncrs = "EPSG:26914"\nseed = 1\n[sites]\nsource = "sites.gpkg"\n'
            f'[sample]\ntotal = 10\nshape = "circle"\nsize_m = 2\n[strata]\nbands = {BANDS}\n')
    for layer, kind in layers.items():
        if layer not in files:
            continue  # made from elevation
        text += f'[layers.{layer}]\nsource = "{files[layer]}"\n'
        if kind in ("cover", "bedrock"):
            legend = COVER if kind == "cover" else BEDROCK
            text += "classes = { " + ", ".join(f'{v} = "{c}"' for v, c in legend.items()) + " }\n"
        else:
            text += f'unit = "{kind}"\n'
    return text


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
        self.bench.row("2 Byte layers, 64 species", "64 species / 8 species", many / eight, "at most 1.15")
        six = {**two, "canopy": "percent", "bedrock": "bedrock", "cover_before": "cover", "moisture_before": "percent"}
        files = {n: land / f"{n}.tif" for n in ("cover", "moisture", "canopy", "bedrock")}
        files.update({f"{n}_before": other / f"{n}.tif" for n in ("cover", "moisture")})
        self.tables("6 Byte layers, 16 species", six, files, 16, 1.7, None)

    def make_season(self, name, layers, files, count):
        season = self.bench.folder / f"score-{self.side}" / name.replace(" ", "-").replace(",", "")
        shutil.rmtree(season, ignore_errors=True)
        (season / "species").mkdir(parents=True)
        (season / "plan.toml").write_text(plan_of(layers, files))
        rules = species_rules(count, layers)
        for species in rules:
            (season / "species" / f"{species['code']}.toml").write_text(toml_of(species, layers))
        metres = self.side * CELL
        spent([self.bench.parts, "sites", "--out", season / "sites.gpkg", "--count", "1", "--share", "1", "--ground",
               f"{WEST},{NORTH},{metres},{metres}"], season)
        (season / "rules.json").write_text(json.dumps(
            {"layers": {n: str(f) for n, f in files.items()}, "species": rules}))
        return season

    def tables(self, name, layers, files, count, of_floor, of_numpy):
        """Seconds of scoring without maps; rows beside the floor and numpy."""
        season = self.make_season(name, layers, files, count)
        rasters = ",".join(str(files[n]) for n in layers)
        floor, ours, memory = [], [], []
        for _ in range(RUNS):  # in turn, so that a slow minute hits both
            seconds, _, _ = spent([self.bench.parts, "read", "--sites", "sites.gpkg", "--rasters", rasters, "--threads",
                                   str(self.bench.threads)], season)
            floor.append(seconds)
            seconds, peak, out = spent([self.bench.tool, "score", "plan.toml", "--tables-only", "--json", "--quiet",
                                        "--threads", str(self.bench.threads)], season)
            ours.append(seconds)
            memory.append(peak)
        case = f"score without maps: {name}, {self.side ** 2:.2g} cells"
        self.bench.row(case, "one read of the layers, s", statistics.median(floor))
        self.bench.row(case, "score, s", statistics.median(ours))
        self.bench.row(case, "score / read", statistics.median(ours) / statistics.median(floor),
                       f"at most {of_floor}" if of_floor else "")
        self.bench.row(case, "peak memory, MB", max(memory), "under 400")
        if of_numpy:
            seconds, _, numpy_out = spent(["/usr/bin/python3", HERE / "baseline.py", "rules.json"], season)
            self.bench.row(case, "numpy / score", seconds / statistics.median(ours), f"at least {of_numpy}")
            self.compare(json.loads(out), json.loads(numpy_out))
        return statistics.median(ours)

    def compare(self, ours, theirs):
        """The table of the one site against numpy's counts of cells; its outline is a strip short of the landscape,
        so shares are compared."""
        for row in ours["table"]:
            if row["site"] == "all":
                continue
            met = theirs[row["species"]]
            cells = sum(met["percent"]) + met["excluded"] + met["none"]
            bands = [0] * (len(BANDS) + 1)
            for percent, count in enumerate(met["percent"]):
                bands[sum(percent >= 100 * b for b in BANDS)] += count
            hectares = sum(row["hectares_per_band"]) + row["hectares_excluded"] + row["hectares_no_score"]
            for own, other in zip([*row["hectares_per_band"], row["hectares_excluded"]], [*bands, met["excluded"]]):
                if abs(own / hectares - other / cells) > 0.002:
                    sys.exit(f"{row['species']}: {own / hectares:.4f} of the ground, {other / cells:.4f} by numpy")
