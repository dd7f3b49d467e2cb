"""Layers that the benchmark makes from those of the landscape."""

import numpy
from osgeo import gdal

NONE = -9999


def make_wetness(moisture, to):
    """A Float32 measure: moisture and noise from -0.5 to 0.5 in sixteenths, unknown in one square of 40."""
    gdal.UseExceptions()
    source = gdal.Open(str(moisture))
    cols, rows = source.RasterXSize, source.RasterYSize
    part = to.with_suffix(".part.tif")
    made = gdal.GetDriverByName("GTiff").Create(
        str(part), cols, rows, 1, gdal.GDT_Float32, ["TILED=YES", "COMPRESS=DEFLATE", "PREDICTOR=3"])
    made.SetGeoTransform(source.GetGeoTransform())
    made.SetProjection(source.GetProjection())
    made.GetRasterBand(1).SetNoDataValue(NONE)
    random = numpy.random.default_rng(7)
    squares = random.random((rows // 100 + 1, cols // 100 + 1)) < 1 / 40
    for y in range(0, rows, 256):
        height = min(256, rows - y)
        values = source.GetRasterBand(1).ReadAsArray(0, y, cols, height).astype(numpy.float32)
        values += random.integers(-8, 9, values.shape).astype(numpy.float32) / 16
        down, across = (numpy.arange(y, y + height) // 100)[:, None], (numpy.arange(cols) // 100)[None, :]
        values = numpy.clip(values, 0, 100)
        values[squares[down, across]] = NONE
        made.GetRasterBand(1).WriteArray(values, 0, y)
    del made
    part.rename(to)


def warp(source, to, **options):
    """Nearest, with no error threshold: every cell's place is worked out."""
    gdal.UseExceptions()
    part = to.with_suffix(".part.tif")
    gdal.Warp(str(part), str(source), resampleAlg="near", errorThreshold=0, multithread=True,
              creationOptions=["TILED=YES", "COMPRESS=DEFLATE"], **options)
    part.rename(to)


def warp_to(source, to, crs, cell_m):
    warp(source, to, dstSRS=crs, xRes=cell_m, yRes=cell_m)
