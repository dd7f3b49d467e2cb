"""The maps that swardline has made against numpy's, cell by cell; and what the floor of writing them needs."""

import json
import sys

import numpy
from osgeo import gdal

from baseline import EXCLUDED, NONE, Ground, lowest_factor

TIE = 1e-3  # 100 S this near to a half may round either way


def kinds_of(band):
    """By held-down value: 255 excluded, 254 no score, 0 a score."""
    kinds = numpy.zeros(256, numpy.uint8)
    for item, name in band.GetMetadata().items():
        if item.startswith("CATEGORY_"):
            value = int(item.removeprefix("CATEGORY_"))
            kinds[value] = EXCLUDED if name.startswith("excluded") else NONE if name.startswith("no data") else 0
    return kinds


def expected(species, tiles, at):
    """At these cells of a window: 100 S, and 255 where excluded, 254 where there is no score, 0 elsewhere."""
    here = {name: (values[at], none[at]) for name, (values, none) in tiles.items()}
    lowest, excluded = lowest_factor(species, here)
    kind = numpy.where(excluded, EXCLUDED, numpy.where(numpy.isnan(lowest), NONE, 0))
    return 100 * lowest, kind


def check_maps(season, numpy_maps):
    """Every cell of every map in season/out against numpy's score maps: they may differ only where 100 S is a tie.
    Both have 255 for ground that is excluded and for no score; there the held-down map must name which, as numpy
    works it out. Returns what was seen."""
    gdal.UseExceptions()
    rules = json.loads((season / "rules.json").read_text())
    ground = Ground(rules)
    seen = {"cells": 0, "ties": 0, "excluded": 0, "no_score": 0, "zero": 0}
    opened = {}
    for species in rules["species"]:
        code = species["code"]
        opened[code] = [gdal.Open(str(path / f"{code}.tif")) for path in
                        (season / "out/score", season / "out/held-down", numpy_maps)]
    for window in ground.windows():
        tiles = ground.tiles(*window)
        for species in rules["species"]:
            files = opened[species["code"]]
            ours, held, theirs = (file.GetRasterBand(1).ReadAsArray(*window) for file in files)
            check_window(species, tiles, ours, kinds_of(files[1].GetRasterBand(1))[held], theirs, seen)
    return seen


def check_window(species, tiles, ours, kind, theirs, seen):
    def stop(what, count):
        sys.exit(f"{species['code']}: {what} at {count} cells that numpy has otherwise")

    if numpy.any((ours == 255) != (kind != 0)):
        stop("score map and held-down map disagree on where there is a score", numpy.sum((ours == 255) != (kind != 0)))
    at = (ours != theirs) | (ours == 255)
    percent, right = expected(species, tiles, at)
    if numpy.any(kind[at] != right):
        stop("excluded or no score", numpy.sum(kind[at] != right))
    differ = (ours != theirs)[at]
    ties = numpy.abs(percent - numpy.floor(percent) - 0.5) < TIE
    if numpy.any(differ & ~ties):
        stop("another percent", numpy.sum(differ & ~ties))
    seen["cells"] += ours.size
    seen["ties"] += int(differ.sum())
    seen["excluded"] += int((right == EXCLUDED).sum())
    seen["no_score"] += int((right == NONE).sum())
    seen["zero"] += int((ours == 0).sum())


def learn_cells(season, to):
    """The cells of the maps in season/out by the bytes of the season's two layers, 65,536 for each map; stops where
    cells of the same bytes differ. Score maps come first."""
    gdal.UseExceptions()
    rules = json.loads((season / "rules.json").read_text())
    ground = Ground(rules)
    codes = [species["code"] for species in rules["species"]]
    maps = [gdal.Open(str(season / "out" / kind / f"{code}.tif")) for kind in ("score", "held-down") for code in codes]
    cells = numpy.full((len(maps), 65536), 255, numpy.uint8)
    known = numpy.zeros(65536, bool)
    for window in ground.windows():
        first, second = (dataset.GetRasterBand(1).ReadAsArray(*window) for dataset in ground.opened.values())
        pair = (first.astype(numpy.uint16) << 8 | second).ravel()
        for number, dataset in enumerate(maps):
            met = dataset.GetRasterBand(1).ReadAsArray(*window).ravel()
            fresh = ~known[pair]
            cells[number][pair[fresh]] = met[fresh]
            if numpy.any(cells[number][pair] != met):
                sys.exit(f"{dataset.GetDescription()}: cells with the same layers have different values")
        known[pair] = True
    to.write_bytes(cells.tobytes())
