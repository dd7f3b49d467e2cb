#!/usr/bin/env python3
"""What the benchmark's scoring is compared with: the same scores in numpy, block by block, as an analyst would write
it. baseline.py RULES.json [--maps FOLDER] prints cells by whole percent for every species, and "excluded" and "none".

RULES.json: {"layers": {name: file}, "species": [{"code", "factors": [{"layer", "trapezoid": [a, b, c, d]} or
{"layer", "scores": {value: score}, "excluded": [value]}]}]}; a species scores its lowest factor.
"""
import argparse
import json
import pathlib

import numpy
from osgeo import gdal

gdal.UseExceptions()
SIDE = 1024


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


def score(species, tiles):
    """Whole percents, 255 where excluded, 254 where nothing is known."""
    lowest, out = None, None
    for factor in species["factors"]:
        response, excluded = respond(factor, *tiles[factor["layer"]])
        lowest = response if lowest is None else numpy.minimum(lowest, response)  # NaN stays
        out = excluded if out is None else out | excluded
    percent = numpy.floor(100 * lowest + 0.5)
    percent[numpy.isnan(lowest)] = 254
    percent[out] = 255
    return percent.astype(numpy.uint8)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("rules", type=pathlib.Path)
    parser.add_argument("--maps", type=pathlib.Path)
    given = parser.parse_args()
    rules = json.loads(given.rules.read_text())
    opened = {name: gdal.Open(file) for name, file in rules["layers"].items()}  # bands do not keep them open
    bands = {name: dataset.GetRasterBand(1) for name, dataset in opened.items()}
    first = next(iter(bands.values()))
    cols, rows = first.XSize, first.YSize
    maps = {}
    if given.maps:
        given.maps.mkdir(parents=True, exist_ok=True)
        for species in rules["species"]:
            made = gdal.GetDriverByName("GTiff").Create(str(given.maps / f"{species['code']}.tif"), cols, rows, 1,
                                                        gdal.GDT_Byte, ["COMPRESS=DEFLATE", "TILED=YES"])
            made.SetGeoTransform(next(iter(opened.values())).GetGeoTransform())
            made.SetProjection(next(iter(opened.values())).GetProjection())
            made.GetRasterBand(1).SetNoDataValue(255)
            maps[species["code"]] = made
    counts = {species["code"]: numpy.zeros(256, numpy.int64) for species in rules["species"]}
    for y in range(0, rows, SIDE):
        for x in range(0, cols, SIDE):
            width, height = min(SIDE, cols - x), min(SIDE, rows - y)
            tiles = {}
            for name, band in bands.items():
                values = band.ReadAsArray(x, y, width, height)
                nodata = band.GetNoDataValue()
                none = numpy.isnan(values) if values.dtype.kind == "f" else numpy.zeros(values.shape, bool)
                if nodata is not None:
                    none |= values == nodata
                tiles[name] = values, none
            for species in rules["species"]:
                percent = score(species, tiles)
                counts[species["code"]] += numpy.bincount(percent.ravel(), minlength=256)
                if maps:
                    shown = numpy.where(percent == 254, 255, percent).astype(numpy.uint8)
                    maps[species["code"]].GetRasterBand(1).WriteArray(shown, x, y)
    maps.clear()
    print(json.dumps({code: {"percent": met[:101].tolist(), "excluded": int(met[255]), "none": int(met[254])}
                      for code, met in counts.items()}))


main()
