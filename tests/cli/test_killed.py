"""kill -9 at random moments: the old outputs or the new ones, a sound store, and a next run that completes."""
import os
import random
import signal
import sqlite3
import subprocess
import time

import numpy
from osgeo import gdal

from season import CELL, SeasonCase, SIDE, TOOL, cover_values, moisture_values, write_raster

MOMENTS = 50


class Killed(SeasonCase):
    def setUp(self):
        super().setUp()
        self.make()
        # Larger layers, so that a run is long enough to be caught everywhere.
        write_raster(self.folder / "cover.tif", numpy.kron(cover_values(), numpy.ones((8, 8), numpy.uint8)), cell=CELL / 8)
        write_raster(self.folder / "moisture.tif", numpy.kron(moisture_values(), numpy.ones((8, 8), numpy.uint8)), cell=CELL / 8)

    def sound(self):
        store = self.folder / "season.gpkg"
        if store.exists():
            with sqlite3.connect(store) as db:  # rolls a journal back, as any program opening it would
                self.assertEqual(db.execute("pragma integrity_check").fetchone()[0], "ok")
                tables = [r[0] for r in db.execute("select name from sqlite_master where type='table'")]
                if "plots" in tables:
                    count = db.execute("select count(*) from plots").fetchone()[0]
                    self.assertEqual(db.execute("select count(*) from rtree_plots_point").fetchone()[0], count)
                    self.assertEqual(db.execute("select feature_count from gpkg_ogr_contents where table_name='plots'").fetchone()[0], count)
                    extent = db.execute("select min_x, min_y, max_x, max_y from gpkg_contents where table_name='plots'").fetchone()
                    real = db.execute("select min(east), min(north), max(east), max(north) from plots").fetchone()
                    for a, b in zip(extent, real):
                        self.assertAlmostEqual(a, b, 3)
        for version in self.folder.glob("record/v[0-9]"):  # whole, or not there
            self.assertEqual({p.name for p in version.iterdir()}, {"strata.tif", "strata.toml", "survey.gpkg"})
        for path in self.folder.glob("out/*/*.tif"):
            data = gdal.Open(str(path)).ReadAsArray()
            self.assertEqual(data.shape, (SIDE * 8, SIDE * 8))

    def strike(self, verb):
        started = time.monotonic()
        self.tool(verb, "plan.toml", check=0)
        whole = time.monotonic() - started
        first = {p: p.read_bytes() for p in self.folder.glob("out/*/*.tif")}
        dice = random.Random(11)
        for moment in range(MOMENTS // 2):
            if moment % 5 == 0:  # also from nothing
                subprocess.run(["rm", "-rf", str(self.folder / "out"), str(self.folder / "season.gpkg"), str(self.folder / "season.gpkg-journal"), str(self.folder / "record")], check=True)
            process = subprocess.Popen([TOOL, verb, "plan.toml", "--quiet"], cwd=self.folder, stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
            # Late moments are where files are renamed and the store is committed and closed.
            time.sleep(whole * (dice.random() if moment % 2 else 0.75 + 0.3 * dice.random()))
            os.kill(process.pid, signal.SIGKILL)
            process.wait()
            self.sound()
        self.tool(verb, "plan.toml", check=0)
        self.sound()
        for path, content in first.items():
            numpy.testing.assert_array_equal(gdal.Open(str(path)).ReadAsArray().shape, (SIDE * 8, SIDE * 8))
        self.assertEqual(self.leftovers(), [])

    def test_score(self):
        self.strike("score")

    def test_a_map_that_came_without_its_names_is_written_anew(self):
        """A run killed between the two files: the map is there, its side file still under its other name."""
        self.tool("score", "plan.toml", check=0)
        names = self.folder / "out/held-down/PTUB.tif.aux.xml"
        whole = names.read_text()
        for left in (names.with_name("PTUB.tif.aux.xml.part"), names.with_name("PTUB.tif.part.aux.xml")):
            names.rename(left)
            self.tool("score", "plan.toml", check=0)
            self.assertEqual(names.read_text(), whole)
            self.assertFalse(left.exists())

    def test_draw(self):
        self.strike("draw")


class OtherPrograms(SeasonCase):
    def test_a_store_left_in_write_ahead_mode_is_taken_over_or_refused_never_overwritten(self):
        self.make()
        self.tool("draw", "plan.toml", check=0)
        other = subprocess.Popen(["/usr/bin/python3", "-c", """
import sqlite3, sys, time
db = sqlite3.connect('season.gpkg', isolation_level=None)
db.execute('pragma journal_mode=wal')
db.execute("insert into names(name, first_season, plot) values('OLD01A', 'Season 2020', 'x')")
print('ready', flush=True)
time.sleep(60)
"""], cwd=self.folder, stdout=subprocess.PIPE, text=True)
        other.stdout.readline()
        self.assertTrue((self.folder / "season.gpkg-wal").exists())
        code, _, err = self.tool("draw", "plan.toml")
        self.assertEqual(code, 4, err)
        self.assertIn("Close it there", err)
        other.kill()  # leaves -wal and -shm behind
        other.wait()
        other.stdout.close()
        self.assertTrue((self.folder / "season.gpkg-wal").exists())
        self.tool("draw", "plan.toml", check=0)
        self.assertEqual(self.rows("select count(*) from names where name = 'OLD01A'"), [(1,)])
        self.assertFalse((self.folder / "season.gpkg-wal").exists())
