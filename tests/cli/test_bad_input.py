"""Bad input: one clear line with place and remedy, and nothing half-written."""
import json
import os
import pathlib
import re
import shutil
import subprocess

import numpy
from osgeo import gdal, ogr

from season import (CELL, category_names, NORTH, PLAN, SHEET, SIDE, SITES, WEST, SeasonCase, cover_values, moisture_values, square,
                    write_raster, write_vectors)


class BadInput(SeasonCase):
    def tearDown(self):
        self.assertEqual(self.leftovers(), [])

    def test_a_raster_without_a_coordinate_system(self):
        self.make()
        write_raster(self.folder / "cover.tif", cover_values(), crs=None)
        line = self.refused("draw", "plan.toml", says=["plan.toml:", "no coordinate system", "crs ="])
        self.assertIn("Nothing was guessed", line)
        self.found_by_check("no coordinate system")

    def test_sites_without_a_coordinate_system(self):
        self.make()
        write_vectors_without_crs(self.folder / "sites.gpkg")
        self.refused("draw", "plan.toml", says=["no coordinate system", "crs ="])

    def test_a_geographic_plan_system(self):
        self.make(plan=PLAN.replace("EPSG:26914", "EPSG:4326"))
        self.refused("draw", "plan.toml", says=["plan.toml:", "geographic", "EPSG:32614"])
        code, out, _ = self.tool("check", "plan.toml", "--json")
        self.assertEqual([f["severity"] for f in json.loads(out)["findings"]], ["STOP"], "nothing else can be measured")

    def test_a_class_that_no_legend_names(self):
        cover = cover_values()
        cover[100:110, 100:120] = 57
        self.make(cover=cover)
        self.refused("score", "plan.toml", says=["57", "200 cells", "legend"])
        self.found_by_check("57", "200 cells", "legend")
        self.assertFalse((self.folder / "out" / "score").exists() and list((self.folder / "out" / "score").glob("*.tif")))
        self.assertFalse((self.folder / "season.gpkg").exists())

    def test_moisture_scaled_by_ten(self):
        self.make()
        write_raster(self.folder / "moisture.tif", numpy.tile(numpy.linspace(0, 612, SIDE).astype(numpy.uint16), (SIDE, 1)),
                     gdal.GDT_UInt16)
        flag = self.found_by_check("moisture runs 0–612", "percent", "Scaled by 10?")
        self.assertIn("plan.toml:", flag["place"])
        self.refused_by_all("moisture", "Scaled by 10?")

    def refused_by_all(self, *pieces):
        """What only `check` looks for must stop every command that works on the inputs, before it writes."""
        for words in (["score"], ["score", "--tables-only"], ["draw"], ["draw", "--quiet"], ["run"]):
            self.refused(words[0], "plan.toml", *words[1:], says="plan.toml:")
            _, _, err = self.tool(words[0], "plan.toml", *words[1:])
            for piece in pieces:
                self.assertIn(piece, err)
            self.assertFalse((self.folder / "season.gpkg").exists(), words)
            self.assertFalse((self.folder / "out").exists(), words)

    def test_no_data_that_was_not_declared(self):
        values = moisture_values().astype(numpy.int16)
        values[20:60, 60:80] = -9999
        self.make()
        write_raster(self.folder / "moisture.tif", values, gdal.GDT_Int16)
        self.found_by_check("moisture", "-9999")
        self.refused_by_all("moisture", "-9999")

    def test_a_refusal_shows_every_stop_and_counts_them(self):
        self.make(sites=SITES + [({"code": "FAR", "name": "Far Field"}, square(WEST + 5000, NORTH, 200))])
        write_raster(self.folder / "moisture.tif", numpy.tile(numpy.linspace(0, 612, SIDE).astype(numpy.uint16), (SIDE, 1)),
                     gdal.GDT_UInt16)
        stops = [f for f in self.findings("check", "plan.toml") if f["severity"] == "STOP"]
        self.assertGreater(len(stops), 1)
        kinds = [(f["check"], f["place"]) for f in stops]
        for verb in ("score", "draw", "run"):
            line = self.refused(verb, "plan.toml",
                                says=[stops[0]["meaning"], f"({len(stops) - 1} more STOP finding", "swardline check plan.toml"])
            code, out, _ = self.tool(verb, "plan.toml", "--json")
            self.assertEqual(code, 3)
            # Commands look at the sites' cells only, so their numbers need not be those of `check`.
            own = [f for f in json.loads(out)["findings"] if f["severity"] == "STOP"]
            self.assertEqual([(f["check"], f["place"]) for f in own], kinds)
            _, _, err = self.tool(verb, "plan.toml")
            for stop in own[1:]:
                self.assertIn(stop["meaning"], err)
                self.assertNotIn(stop["meaning"], line)

    def test_every_slip_of_a_plan_is_shown_with_its_place(self):
        plan = PLAN.replace("seed = 2027", "sead = 2027").replace("spares = 0.5", "spares = 0.5\nspacing = 12")
        self.make(plan=plan.replace('unit = "percent"', 'unit = "percent"\nbottom = 3'))
        at = {key: 1 + (self.folder / "plan.toml").read_text().split("\n").index(line)
              for key, line in (("sead", "sead = 2027"), ("spacing", "spacing = 12"), ("bottom", "bottom = 3"))}
        for verb in ("points", "packet", "report"):
            line = self.refused(verb, "plan.toml", says="more STOP flag")
            _, out, err = self.tool(verb, "plan.toml")
            self.assertEqual(out, "")
            for key, number in at.items():
                self.assertRegex(err, rf"plan\.toml:{number}: .*{key}", verb)
            more = [text for text in err.splitlines() if text.startswith("STOP")]
            self.assertIn(f"({len(more)} more STOP flags)", line)
            self.assertEqual(len(more), len(set(more)))

    def findings(self, *words):
        _, out, err = self.tool(*words, "--json")
        found = json.loads(out)["findings"]
        for finding in found:
            self.assertEqual(set(finding), {"severity", "check", "place", "meaning", "remedy"}, err)
        return found

    def test_doubts_are_shown_once_also_with_quiet_and_json(self):
        x, y = WEST + 300, NORTH - 900
        bow = f"POLYGON(({x} {y},{x + 400} {y + 400},{x + 400} {y},{x} {y + 400},{x} {y}))"
        self.make(sites=[({"code": "QPR", "name": "Quill Prairie"}, bow)],
                  sheets={"a": SHEET.replace("PTUB", "PC0B"), "b": SHEET.replace("PTUB", "PCOB")})
        for verb in ("score", "draw", "run"):
            found = self.findings(verb, "plan.toml")
            self.assertEqual([f["severity"] for f in found if "PC0B" in f["meaning"] and "PCOB" in f["meaning"]], ["ASK"], found)
            self.assertEqual(len([f for f in found if f["severity"] == "NOTE" and "self-crossing" in f["meaning"]]), 1, found)
            _, out, err = self.tool(verb, "plan.toml")
            lines = [line for line in (out + err).splitlines() if line[:4] in ("STOP", "ASK ", "NOTE")]
            self.assertEqual(len(lines), len(set(lines)))
            self.assertEqual(len(lines), len(found), lines)
            _, out, err = self.tool(verb, "plan.toml", "--quiet")
            self.assertEqual(out, "")
            self.assertEqual({line[:3] for line in err.splitlines()}, {"ASK"}, err)
        _, out, err = self.tool("check", "plan.toml", "--quiet")
        self.assertEqual((out, {line[:3] for line in err.splitlines()}), ("", {"ASK"}))

    def test_corners_that_fall(self):
        self.make(sheets={"ptub": SHEET.replace("[5, 15, 30, 60]", "[26, 20, 38, 46]")})
        self.refused("draw", "plan.toml", says=["ptub.toml:", "26 comes before 20", "rise"])

    def test_an_unknown_key_names_the_nearest(self):
        self.make(plan=PLAN.replace("spares = 0.5", "spaers = 0.5"))
        self.refused("draw", "plan.toml", says=["plan.toml:", "spaers", "spares"])

    def test_weight_zero(self):
        self.make(sheets={"ptub": SHEET.replace("trapezoid", "weight = 0\ntrapezoid")})
        self.refused("draw", "plan.toml", says=["ptub.toml:", "weight"])

    def test_a_factor_whose_layer_is_missing(self):
        self.make(sheets={"ptub": SHEET + '[[factor]]\nlayer = "canopy"\nrole = "modifying"\ntrapezoid = [-inf, -inf, 25, 60]\n'})
        self.refused("draw", "plan.toml", says=["ptub.toml:", "canopy", "no canopy layer"])

    def test_a_self_crossing_ring_is_mended_and_said(self):
        x, y = WEST + 300, NORTH - 900
        bow = f"POLYGON(({x} {y},{x + 400} {y + 400},{x + 400} {y},{x} {y + 400},{x} {y}))"
        self.make(sites=[({"code": "QPR", "name": "Quill Prairie"}, bow)])
        _, _, err = self.tool("draw", "plan.toml", check=0)
        self.assertIn("self-crossing", err)
        self.found_by_check("self-crossing", severity="NOTE")

    def test_a_site_outside_the_rasters(self):
        self.make(sites=SITES + [({"code": "FAR", "name": "Far Field"}, square(WEST + 5000, NORTH, 200))])
        self.found_by_check("FAR", "no data")
        self.refused("draw", "plan.toml", says=["sites.gpkg, feature 4", "far from the ground the layers cover"])
        _, _, err = self.tool("draw", "plan.toml")
        self.assertIn("FAR lies wholly where", err)

    def test_overlapping_sites(self):
        self.make(sites=SITES + [({"code": "GRV", "name": "Gravel Slough"}, square(WEST + 700, NORTH - 900, 200))])
        self.refused("draw", "plan.toml", says=["GRV", "QPR", "overlap"])

    def test_duplicate_species_codes(self):
        self.make(sheets={"a": SHEET, "b": SHEET})
        self.refused("draw", "plan.toml", says=["PTUB", ".toml"])

    def test_codes_that_look_alike(self):
        self.make(sheets={"a": SHEET.replace("PTUB", "PC0B"), "b": SHEET.replace("PTUB", "PCOB")})
        self.found_by_check("PC0B", "PCOB", severity="ASK")

    def test_a_code_that_a_spreadsheet_turns_into_a_date(self):
        self.make(sites=[({"code": "MAR", "name": "March Field"}, square(WEST + 300, NORTH - 900, 400))])
        self.found_by_check("MAR", "date", severity="STOP")
        self.make(folder=self.folder / "second", sheets={"a": SHEET.replace("PTUB", "MAR05")})
        self.found_by_check("MAR05", "date", folder=self.folder / "second")

    def test_an_empty_site_layer(self):
        self.make(sites=[])
        self.refused("draw", "plan.toml", says=["sites.gpkg", "no features"])

    def test_a_truncated_raster(self):
        self.make()
        whole = (self.folder / "moisture.tif").read_bytes()
        (self.folder / "moisture.tif").write_bytes(whole[: len(whole) // 2])
        code, _, err = self.tool("score", "plan.toml")
        self.assertIn(code, (3, 4), err)
        self.assertIn("moisture.tif", err)
        self.assertFalse(list(self.folder.glob("out/score/*")))

    def test_nan_and_infinite_cells_are_no_data(self):
        values = moisture_values().astype(numpy.float32)
        values[60:70, 40:60] = numpy.nan
        values[70:75, 40:60] = numpy.inf
        values[75:80, 40:60] = -numpy.inf
        self.make()
        write_raster(self.folder / "moisture.tif", values, gdal.GDT_Float32)
        self.tool("score", "plan.toml", check=0)
        held = gdal.Open(str(self.folder / "out/held-down/PTUB.tif"))
        names = category_names(held)
        got = {names[v] for v in numpy.unique(held.ReadAsArray()[60:80, 40:60])}
        self.assertEqual(len(got), 1)
        self.assertIn("no data", got.pop())
        self.tool("draw", "plan.toml", check=0)
        self.assertTrue(any("no-score" in row[2] for row in self.plots()))

    def test_a_plan_that_is_not_toml(self):
        self.make(plan="[season\nname = 3")
        self.refused("draw", "plan.toml", says=["plan.toml:1", "TOML"])
        self.refused("check", "plan.toml", says=["plan.toml:1", "TOML"])

    def test_a_plan_that_is_not_there(self):
        self.refused("draw", "nothing.toml", says="nothing.toml", status=4)

    def test_more_plots_than_fit(self):
        x, y = WEST + 300, NORTH - 900
        plan = PLAN.replace("each = 6", "each = 10\napart_m = 15")
        strip = f"POLYGON(({x} {y},{x + 60} {y},{x + 60} {y + 18.3},{x} {y + 18.3},{x} {y}))"
        self.make(plan=plan, sites=[({"code": "FLG", "name": "Flintlatch Glade"}, strip)])
        code, out, err = self.tool("draw", "plan.toml")
        self.assertEqual(code, 1, err)
        self.assertRegex(out, r"SHORT .*\d+ of 10 plots drawn: .*15 m")
        self.assertRegex(out, r"about [\d.]+ m would give 10")
        for stratum, planned, spares in self.rows("select stratum, sum(1 - spare), sum(spare) from plots group by stratum"):
            self.assertRegex(out, rf"  {re.escape(stratum)} +[\d.]+ +{planned}( of 10)? +{spares}( of 5)?(  .*)?\n")
        self.assertRegex(out, r"  FLG\|\S+ +[\d.]+ +\d of 10 ")
        _, out, _ = self.tool("draw", "plan.toml", "--json")
        for row in json.loads(out)["strata"]:
            for name, spare in (("planned", 0), ("spares", 1)):
                drawn = self.rows(f"select count(*) from plots where stratum = '{row['stratum']}' and spare = {spare}")[0][0]
                self.assertEqual(row[name], drawn)
            self.assertEqual((row["planned_asked"], row["spares_asked"]), (10, 5))

    def test_fewer_plots_than_the_minimum_needs(self):
        self.make(plan=PLAN.replace("each = 6", "total = 5\nleast_per_stratum = 6"))
        self.refused("draw", "plan.toml", says=["5 asked", "needed", "minimum of 6"])

    def test_a_season_folder_in_use(self):
        self.make()
        holder = subprocess.Popen(["flock", str(self.folder / ".swardline.lock"), "sleep", "20"])
        try:
            for _ in range(100):
                if (self.folder / ".swardline.lock").exists():
                    break
            code = 0
            for _ in range(50):
                code, _, err = self.tool("draw", "plan.toml")
                if code == 4:
                    break
            self.assertEqual(code, 4, err)
            self.assertIn("another", err)
        finally:
            holder.kill()
            holder.wait()


class Disks(SeasonCase):
    def test_an_output_folder_that_cannot_be_written(self):
        self.make(plan=PLAN.replace("seed = 2027", 'seed = 2027\nout = "/proc/swardline"'))
        code, _, err = self.tool("score", "plan.toml")
        self.assertEqual(code, 4, err)
        self.assertIn("/proc cannot be written", err)
        self.assertIn("out in the plan", err)
        self.found_by_check("/proc", "cannot be written")

    def test_a_full_disk_leaves_the_old_files(self):
        """A tmpfs of a few hundred kilobytes that the maps outgrow; root only."""
        disk = self.folder / "disk"
        disk.mkdir()
        mounted = os.geteuid() == 0 and subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=700k", "tmpfs", str(disk)], capture_output=True).returncode == 0
        if not mounted:
            self.skipTest("no tmpfs can be mounted here")
        try:
            noise = numpy.random.default_rng(1).integers(5, 60, (SIDE * 5, SIDE * 5)).astype(numpy.uint8)
            big = numpy.kron(cover_values(), numpy.ones((5, 5), numpy.uint8))
            self.make(plan=PLAN.replace("seed = 2027", f'seed = 2027\nout = "{disk}/out"'))
            write_raster(self.folder / "cover.tif", big, cell=CELL / 5)
            write_raster(self.folder / "moisture.tif", noise, cell=CELL / 5)
            (disk / "out" / "score").mkdir(parents=True)
            (disk / "out" / "score" / "PTUB.tif").write_bytes(b"the old map")
            code, _, err = self.tool("score", "plan.toml")
            self.assertEqual(code, 4, err)
            self.assertEqual((disk / "out" / "score" / "PTUB.tif").read_bytes(), b"the old map")
            self.assertEqual([p for p in disk.rglob("*") if p.name.endswith(".part")], [])
            self.assertFalse((self.folder / "season.gpkg").exists())
        finally:
            subprocess.run(["umount", str(disk)], check=True)

    def test_a_full_disk_under_the_store(self):
        disk = self.folder / "disk"
        disk.mkdir()
        mounted = os.geteuid() == 0 and subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=60k", "tmpfs", str(disk)], capture_output=True).returncode == 0
        if not mounted:
            self.skipTest("no tmpfs can be mounted here")
        try:
            self.make(plan=PLAN.replace("seed = 2027", f'seed = 2027\nstore = "{disk}/season.gpkg"'))
            code, _, err = self.tool("draw", "plan.toml")
            self.assertEqual(code, 4, err)
            self.assertIn("season.gpkg", err)
            # What the store does not hold must not be shown elsewhere.
            self.assertFalse((self.folder / "out" / "certificate.json").exists())
            self.assertFalse(list(self.folder.glob("out/maps/*.svg")))
        finally:
            subprocess.run(["umount", str(disk)], check=True)


def write_vectors_without_crs(path):
    """A GeoPackage whose system is 'undefined', as an export without a label leaves it."""
    os.remove(path)
    write_vectors(path, SITES, crs=None)


class Rubbish(SeasonCase):
    def test_random_bytes_in_every_input_never_crash(self):
        self.make()
        originals = {p: p.read_bytes() for p in self.folder.rglob("*") if p.is_file()}
        dice = numpy.random.default_rng(7)
        for path, content in originals.items():
            for _ in range(4):
                broken = bytearray(content)
                for at in dice.integers(0, len(broken), max(3, len(broken) // 200)):
                    broken[at] = dice.integers(0, 256)
                path.write_bytes(bytes(broken))
                shutil.rmtree(self.folder / "out", ignore_errors=True)
                (self.folder / "season.gpkg").unlink(missing_ok=True)
                for verb in ("check", "draw"):
                    code, out, err = self.tool(verb, "plan.toml")
                    self.assertIn(code, (0, 1, 3, 4), f"{path.name}: {err}")
            path.write_bytes(content)
