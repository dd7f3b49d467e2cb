"""Species rules, sheets, plans and seasons of the benchmark's scoring cases; all invented."""

import json
import shutil

from measure import CELL, NORTH, WEST, spent

COVER = {1: "OW", 2: "WW", 3: "WM", 4: "MP", 5: "DP", 6: "GL", 7: "WD", 8: "CF", 9: "OF", 10: "RD", 11: "CR", 12: "DV"}
BEDROCK = {1: "DOL", 2: "SST", 3: "CHT", 4: "SND", 5: "ALL", 6: "LOE"}
BANDS = [0.25, 0.5, 0.75]
TERRAIN = ("slope", "aspect", "heat")  # from the layer elevation


def trapezoid(kind, i):
    """Corners for species number i."""
    low = 5 + 3 * (i % 11)
    return {"percent": [low, low + 6, low + 20 + i % 5, low + 30 + i % 7],
            "m": [50 + i, 120 + i, 300 + i, 420 + i],
            "slope": [-1, 0, 8 + i, 30 + i],
            "aspect": [-60 + i, -10 + i, 250 + i, 350 - i],
            "heat": [0.2 + i / 100, 0.5 + i / 100, 1.0, 1.4]}[kind]


def species_rules(count, layers):
    """Rules that differ from species to species, from {layer: kind}."""
    rules = []
    for i in range(count):
        factors = []
        for layer, kind in layers.items():
            if kind not in ("cover", "bedrock"):
                factors.append({"layer": layer, "trapezoid": trapezoid(kind, i)})
                continue
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
            f'[sample]\ntotal = 10\nshape = "circle"\nsize_m = 2\n[grid]\ncell_m = {CELL}\n[strata]\nbands = {BANDS}\n')
    for layer, kind in layers.items():
        if layer in TERRAIN:
            continue  # made from elevation
        text += f'[layers.{layer}]\nsource = "{files[layer]}"\n'
        if kind in ("cover", "bedrock"):
            legend = COVER if kind == "cover" else BEDROCK
            text += "classes = { " + ", ".join(f'{v} = "{c}"' for v, c in legend.items()) + " }\n"
        else:
            text += f'unit = "{kind}"\n'
    return text


def write_sheet(season, species, layers):
    (season / "species" / f"{species['code']}.toml").write_text(toml_of(species, layers))


def make_season(bench, folder, layers, files, count, side, origin=(WEST, NORTH)):
    """A season of one site that covers the ground, its sheets, and the same rules for baseline.py; a new folder."""
    season = bench.folder / folder
    shutil.rmtree(season, ignore_errors=True)
    (season / "species").mkdir(parents=True)
    (season / "plan.toml").write_text(plan_of(layers, files))
    rules = species_rules(count, layers)
    for species in rules:
        write_sheet(season, species, layers)
    metres = side * CELL
    spent([bench.parts, "sites", "--out", season / "sites.gpkg", "--count", "1", "--share", "1", "--ground",
           f"{origin[0]},{origin[1]},{metres},{metres}"], season)
    (season / "rules.json").write_text(json.dumps(
        {"layers": {n: str(f) for n, f in files.items()}, "species": rules}))
    return season


def folder_name(case):
    return case.replace(" ", "-").replace(",", "")
