#!/usr/bin/env python3
"""What the benchmark's scoring is compared with: the same scores in numpy, block by block, as an analyst would write
it. baseline.py RULES.json [--maps FOLDER] prints cells by whole percent for every species, and "excluded" and "none".

RULES.json: {"layers": {name: file}, "species": [{"code", "factors": [{"layer", "trapezoid": [a, b, c, d]} or
{"layer", "scores": {value: score}, "excluded": [value]}]}]}; a species scores its lowest factor. The layers slope,
aspect and heat, where a rule asks for them, come from the layer elevation (terrain.py: numpy, no other program).
"""
import argparse
import json
import pathlib

import numpy
from osgeo import gdal

import terrain

gdal.UseExceptions()
SIDE = 1024
EXCLUDED, NONE = 255, 254


class Ground:
    """The layers of the rules, by window."""

    def __init__(self, rules):
        self.opened = {name: gdal.Open(file) for name, file in rules["layers"].items()}
        first = next(iter(self.opened.values()))
        self.cols, self.rows = first.RasterXSize, first.RasterYSize
        self.transform, self.projection = first.GetGeoTransform(), first.GetProjection()
        asked = {factor["layer"] for species in rules["species"] for factor in species["factors"]}
        self.derived = sorted(asked - set(self.opened))

    def windows(self):
        for y in range(0, self.rows, SIDE):
            for x in range(0, self.cols, SIDE):
                yield x, y, min(SIDE, self.cols - x), min(SIDE, self.rows - y)

    def tiles(self, x, y, width, height):
        """By layer: values, and where there are none."""
        tiles = {}
        for name, dataset in self.opened.items():
            band = dataset.GetRasterBand(1)
            values = band.ReadAsArray(x, y, width, height)
            nodata = band.GetNoDataValue()
            none = numpy.isnan(values) if values.dtype.kind == "f" else numpy.zeros(values.shape, bool)
            if nodata is not None:
                none |= values == nodata
            tiles[name] = values, none
        if self.derived:
            tiles.update(self.terrain(x, y, width, height))
        return tiles

    def terrain(self, x, y, width, height):
        """The asked of slope, aspect and heat; cells at the raster's edge have none of them."""
        dataset = self.opened["elevation"]
        band = dataset.GetRasterBand(1)
        left, top = max(x - 1, 0), max(y - 1, 0)
        right, bottom = min(x + width + 1, self.cols), min(y + height + 1, self.rows)
        z = numpy.full((height + 2, width + 2), numpy.nan)
        read = band.ReadAsArray(left, top, right - left, bottom - top).astype(float)
        if band.GetNoDataValue() is not None:
            read[read == band.GetNoDataValue()] = numpy.nan
        z[top - y + 1:bottom - y + 1, left - x + 1:right - x + 1] = read
        east, south = terrain.horn(z, self.transform[1])
        made = {}
        for name in self.derived:
            if name == "slope":
                values = terrain.slope(east, south)
            elif name == "aspect":
                values = terrain.aspect(east, south)
            else:
                values = terrain.heat(east, south, terrain.latitudes(dataset, x, y, width, height))
            made[name] = values, numpy.isnan(values)
        return made


def respond(factor, values, none):
    """Response and exclusion of one factor; NaN where nothing is known."""
    if "trapezoid" in factor:
        a, b, c, d = factor["trapezoid"]
        response = numpy.interp(values, [a, b, c, d], [0, 1, 1, 0])
        excluded = numpy.zeros(values.shape, bool)
    else:
        response = numpy.full(values.shape, numpy.nan)
        for value, score in factor["scores"].items():
            response[values == int(value)] = score
        excluded = numpy.isin(values, factor["excluded"])
    response[none] = numpy.nan
    excluded[none] = False
    return response, excluded


def lowest_factor(species, tiles):
    """The score before rounding, NaN where nothing is known, and where ground is excluded."""
    lowest, out = None, None
    for factor in species["factors"]:
        response, excluded = respond(factor, *tiles[factor["layer"]])
        lowest = response if lowest is None else numpy.minimum(lowest, response)  # NaN stays
        out = excluded if out is None else out | excluded
    return lowest, out


def score(species, tiles):
    """Whole percents, 255 where excluded, 254 where nothing is known."""
    lowest, out = lowest_factor(species, tiles)
    percent = numpy.floor(100 * lowest + 0.5)
    percent[numpy.isnan(lowest)] = NONE
    percent[out] = EXCLUDED
    return percent.astype(numpy.uint8)


def create(folder, code, ground):
    made = gdal.GetDriverByName("GTiff").Create(str(folder / f"{code}.tif"), ground.cols, ground.rows, 1, gdal.GDT_Byte,
                                                ["COMPRESS=DEFLATE", "TILED=YES"])
    made.SetGeoTransform(ground.transform)
    made.SetProjection(ground.projection)
    made.GetRasterBand(1).SetNoDataValue(255)
    return made


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("rules", type=pathlib.Path)
    parser.add_argument("--maps", type=pathlib.Path)
    given = parser.parse_args()
    rules = json.loads(given.rules.read_text())
    ground = Ground(rules)
    maps = {}
    if given.maps:
        given.maps.mkdir(parents=True, exist_ok=True)
        maps = {species["code"]: create(given.maps, species["code"], ground) for species in rules["species"]}
    counts = {species["code"]: numpy.zeros(256, numpy.int64) for species in rules["species"]}
    for x, y, width, height in ground.windows():
        tiles = ground.tiles(x, y, width, height)
        for species in rules["species"]:
            percent = score(species, tiles)
            counts[species["code"]] += numpy.bincount(percent.ravel(), minlength=256)
            if maps:
                shown = numpy.where(percent == NONE, 255, percent).astype(numpy.uint8)
                maps[species["code"]].GetRasterBand(1).WriteArray(shown, x, y)
    maps.clear()
    print(json.dumps({code: {"percent": met[:101].tolist(), "excluded": int(met[EXCLUDED]), "none": int(met[NONE])}
                      for code, met in counts.items()}))


if __name__ == "__main__":
    main()
