"""Slope, aspect and heat load in numpy: Horn's method (Horn 1981) on whole windows, and McCune & Keon 2002, eq. 3."""

import numpy
from osgeo import osr


def horn(z, cell_m):
    """Rise per metre eastwards and southwards; z has one cell more on every side, NaN where nothing is known."""
    nw, n, ne = z[:-2, :-2], z[:-2, 1:-1], z[:-2, 2:]
    w, here, e = z[1:-1, :-2], z[1:-1, 1:-1], z[1:-1, 2:]
    sw, s, se = z[2:, :-2], z[2:, 1:-1], z[2:, 2:]
    east = ((ne + 2 * e + se) - (nw + 2 * w + sw)) / (8 * cell_m)
    south = ((sw + 2 * s + se) - (nw + 2 * n + ne)) / (8 * cell_m)
    east[numpy.isnan(here)] = numpy.nan  # the middle cell has no part in the sums
    return east, south


def slope(east, south):
    return numpy.degrees(numpy.arctan(numpy.hypot(east, south)))


def aspect(east, south):
    """Degrees clockwise from north, the way the ground faces; flat ground has none."""
    facing = numpy.degrees(numpy.arctan2(-east, south)) % 360
    facing[(east == 0) & (south == 0)] = numpy.nan
    return facing


def latitudes(dataset, x, y, cols, rows):
    """Of the cells' middles in radians, straight between the window's corners and middle lines: right to 1e-8."""
    system = dataset.GetSpatialRef()
    geographic = osr.SpatialReference()
    geographic.ImportFromEPSG(4326)
    for each in (system, geographic):
        each.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    transform = osr.CoordinateTransformation(system, geographic)
    west, cell_x, _, north, _, cell_y = dataset.GetGeoTransform()
    at_x, at_y = numpy.linspace(0, cols - 1, 17), numpy.linspace(0, rows - 1, 17)
    known = numpy.array([[transform.TransformPoint(west + (x + 0.5 + i) * cell_x, north + (y + 0.5 + j) * cell_y)[1]
                          for i in at_x] for j in at_y])
    along = numpy.array([numpy.interp(numpy.arange(cols), at_x, line) for line in known])
    j = numpy.arange(rows) / max(rows - 1, 1) * 16
    low = numpy.minimum(j.astype(int), 15)
    share = (j - low)[:, None]
    return numpy.radians(along[low] * (1 - share) + along[low + 1] * share)


def heat(east, south, latitude):
    steep = numpy.arctan(numpy.hypot(east, south))
    facing = numpy.degrees(numpy.arctan2(-east, south)) % 360
    folded = numpy.radians(numpy.abs(180 - numpy.abs(facing - 225)))
    return (0.339 + 0.808 * numpy.cos(latitude) * numpy.cos(steep) - 0.196 * numpy.sin(latitude) * numpy.sin(steep)
            - 0.482 * numpy.cos(folded) * numpy.sin(steep))
