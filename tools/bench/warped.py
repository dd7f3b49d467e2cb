"""Score maps on a warped layer against numpy on gdal's warp of it."""

import json
import shutil

import numpy
from osgeo import gdal

from baseline import NONE, Ground, score
from layers import warp


def share_same(season, like):
    """Share of cells of the maps in season/out that are as numpy's on the cover that gdal's warp gives on the grid of
    `like`, in every seventh window of the ground, and how many cells that are."""
    rules = json.loads((season / "rules.json").read_text())
    on_grid = season / "cover-on-grid.tif"
    grid = gdal.Open(str(like))
    west, cell, _, north, _, _ = grid.GetGeoTransform()
    box = (west, north - grid.RasterYSize * cell, west + grid.RasterXSize * cell, north)
    warp(rules["layers"]["cover"], on_grid, dstSRS=grid.GetProjection(), xRes=cell, yRes=cell, outputBounds=box)
    rules["layers"]["cover"] = str(on_grid)
    ground = Ground(rules)
    maps = {species["code"]: GridOf(season, species["code"], ground) for species in rules["species"]}
    cells, same = 0, 0
    for window in list(ground.windows())[::7]:
        tiles = ground.tiles(*window)
        for species in rules["species"]:
            ours = maps[species["code"]].read(*window)
            cells += ours.size
            same += int((ours == shown(species, tiles)).sum())
    on_grid.unlink()
    shutil.rmtree(season / "out")
    return same / cells, cells


def shown(species, tiles):
    percent = score(species, tiles)
    return numpy.where(percent == NONE, 255, percent).astype(numpy.uint8)


class GridOf:
    """A score map read by windows of the ground, though its extent is another."""

    def __init__(self, season, code, ground):
        self.dataset = gdal.Open(str(season / "out/score" / f"{code}.tif"))
        west, cell, _, north, _, _ = self.dataset.GetGeoTransform()
        self.left = round((ground.transform[0] - west) / cell)
        self.top = round((north - ground.transform[3]) / cell)

    def read(self, x, y, width, height):
        return self.dataset.GetRasterBand(1).ReadAsArray(self.left + x, self.top + y, width, height)
