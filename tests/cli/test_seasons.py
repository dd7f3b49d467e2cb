"""From one season to the next: strata of record, plots that stay, new ground, panels."""
import json
import shutil
import sqlite3

from osgeo import ogr

from season import NORTH, PLAN, SHEET, SITES, SeasonCase, WEST, square, write_vectors

PANELS = '\n[panels]\npattern = "[1-0,1-3]"\nstart = 2027\nyear = 2027\n'
CHANGED = SHEET.replace("[5, 15, 30, 60]", "[5, 15, 40, 60]")


class Seasons(SeasonCase):
    def first(self, extra=""):
        folder = self.make(self.folder / "2027", plan=PLAN.replace("Test season", "Season 2027") + extra)
        self.tool("draw", "plan.toml", folder=folder, check=0)
        return folder

    def second(self, extra="", sheet=CHANGED, keep="../2027/season.gpkg", grown=True):
        """Next season: a copy of the folder with another seed and rule, and QPR 60 m longer each way."""
        folder = self.folder / "2028"
        shutil.copytree(self.folder / "2027", folder)
        plan = PLAN.replace("Test season", "Season 2028").replace("seed = 2027", "seed = 2028")
        if keep:
            plan = plan.replace("spares = 0.5", f'spares = 0.5\nkeep = "{keep}"')
        (folder / "plan.toml").write_text(plan + extra)
        (folder / "species" / "ptub.toml").write_text(sheet)
        if grown:
            (folder / "sites.gpkg").unlink()
            write_vectors(folder / "sites.gpkg", [(fields, square(WEST + 300, NORTH - 900, 560) if fields["code"] == "QPR" else wkt)
                                                  for fields, wkt in SITES])
        return folder

    def strata(self, folder):
        return dict(self.rows("select stratum, area_m2 from strata", folder))

    def by_name(self, folder):
        return {row[0]: row for row in self.rows(
            "select name, stratum, spare, east, north, chance_per_m2, bearing, status, panel from plots", folder)}

    def test_plots_and_strata_stay_and_new_ground_is_drawn(self):
        first = self.first()
        old, old_strata = self.by_name(first), self.strata(first)
        second = self.second()
        # A pit is dug where one plot of TNY lay.
        lost = next(row for row in old.values() if row[1].startswith("TNY") and not row[2])
        write_vectors(second / "ponds.gpkg", [({"kind": "pond"}, square(WEST + 500, NORTH - 700, 60)),
                                              ({"kind": "pit"}, square(lost[3] - 3, lost[4] - 3, 6))],
                      layer="dug", append=True)
        plan = (second / "plan.toml").read_text()
        (second / "plan.toml").write_text(plan.replace('source = "ponds.gpkg"', 'source = { file = "ponds.gpkg", layer = "dug" }'))
        _, out, err = self.tool("draw", "plan.toml", folder=second, check=0)
        self.assertRegex(err, r"NOTE .*would be in another stratum by the scores of now. Strata stay as of version 1")
        self.assertIn("QPR: 6.4 ha of survey area are new since the strata of record", err)
        self.assertIn(f"Outside the survey area now, and not visited: {lost[0]}", out)
        strata = self.strata(second)
        for stratum, area in old_strata.items():
            if not stratum.startswith("TNY"):
                self.assertEqual(strata[stratum], area, stratum)
        self.assertAlmostEqual(sum(a for s, a in strata.items() if s.endswith("|v2")), 560 ** 2 - 500 ** 2, 3)
        self.assertTrue(all(s.startswith("QPR") for s in strata if s.endswith("|v2")))
        now = self.by_name(second)
        for name, row in old.items():
            self.assertEqual(now[name][:7], row[:7], name)
            self.assertEqual(now[name][7], "outside the survey area since Season 2028" if name == lost[0] else row[7])
        new = {name: row for name, row in now.items() if name not in old}
        self.assertTrue(new and all(row[1].endswith("|v2") for row in new.values()))
        names = self.rows("select name, first_season from names", second)
        self.assertEqual(len(names), len(set(n for n, _ in names)))
        self.assertEqual({n for n, s in names if s == "Season 2027"}, set(old))
        # Neither points nor maps send anyone to the lost plot.
        self.tool("points", "plan.toml", folder=second, check=0)
        self.assertNotIn(lost[0], (second / "out/points/plots.gpx").read_text())
        self.assertNotIn(lost[0], (second / "out/maps/TNY.svg").read_text())
        self.assertIn("Strata of record", (second / "out/design.html").read_text())
        # The store is a product of the folder.
        before = self.rows("select * from plots order by name", second)
        (second / "season.gpkg").unlink()
        self.tool("draw", "plan.toml", folder=second, check=0)
        self.assertEqual([r[1:] for r in before], [r[1:] for r in self.rows("select * from plots order by name", second)])

    def test_new_strata_are_made_on_request_only_and_what_changes_is_said(self):
        first = self.first()
        (first / "species" / "ptub.toml").write_text(CHANGED)
        self.tool("draw", "plan.toml", folder=first, check=0)
        self.assertTrue(all(s.endswith("|v1") for s in self.strata(first)))
        _, out, _ = self.tool("draw", "plan.toml", "--new-strata", folder=first, check=0)
        self.assertTrue(all(s.endswith("|v2") for s in self.strata(first)))
        self.assertRegex(out, r"In place of version 1: [\d.]+ ha of [\d.]+ ha is ground of another kind")
        self.assertRegex(out, r"QPR\|score=75-100: [\d.]+ ha before, [\d.]+ ha now \(\+[\d.]+ ha\)")
        self.assertEqual(sorted(p.name for p in (first / "record").iterdir()), ["v1", "v2"])

    def test_names_that_stand_elsewhere_are_said(self):
        first = self.first()
        _, out, _ = self.tool("draw", "plan.toml", folder=first, check=0)
        self.assertNotIn("MOVED", out)
        before = self.by_name(first)
        plan = (first / "plan.toml").read_text()
        (first / "plan.toml").write_text(plan.replace("seed = 2027", "seed = 2031"))
        _, out, _ = self.tool("draw", "plan.toml", folder=first, check=0)
        now = self.by_name(first)
        both = [n for n in now if n in before]
        moved = [n for n in both if abs(now[n][3] - before[n][3]) + abs(now[n][4] - before[n][4]) > 0.02]
        self.assertTrue(moved)
        self.assertIn(f"MOVED {len(moved)} of the {len(both)} plots", out)

    def test_kept_plots_of_another_size_are_refused(self):
        self.first()
        second = self.second(grown=False)
        plan = (second / "plan.toml").read_text()
        (second / "plan.toml").write_text(plan.replace("size_m = [2, 10]", "size_m = [2, 20]"))
        self.refused("draw", "plan.toml", folder=second, says=["season.gpkg", "20 m²", "40 m²", "size_m back"])

    def test_panels_taken_out_are_refused_in_their_own_season_too(self):
        first = self.first(PANELS)
        plan = (first / "plan.toml").read_text()
        before = self.by_name(first)
        (first / "plan.toml").write_text(plan.replace(PANELS, ""))
        self.refused("draw", "plan.toml", folder=first, says=["panels [1-0,1-3] were begun in 2027", "panels.toml"])
        self.assertEqual(self.by_name(first), before)

    def test_another_stratification_is_refused(self):
        first = self.first("\n[strata]\nbands = [0.5]\n")
        plan = (first / "plan.toml").read_text()
        (first / "plan.toml").write_text(plan.replace("[0.5]", "[0.4]"))
        self.refused("draw", "plan.toml", folder=first, says=["bands 0.5", "bands 0.4", "--new-strata"])
        self.found_by_check("bands 0.5", "bands 0.4", "--new-strata", folder=first)
        # What does not draw, or draws anew, goes on.
        self.tool("score", "plan.toml", folder=first, check=0)
        self.tool("draw", "plan.toml", "--new-strata", folder=first, check=0)
        self.assertNotIn("strata of record", self.tool("check", "plan.toml", "--json", folder=first)[1])

    def test_panels_go_on_with_other_plots_due(self):
        first = self.first(PANELS)
        old = self.by_name(first)
        _, out, _ = self.tool("draw", "plan.toml", "--json", folder=first, check=0)
        drawn = json.loads(out)
        self.assertEqual(drawn["planned"] + drawn["resting"] + drawn["spares"], len(old))
        second = self.second(PANELS.replace("year = 2027", "year = 2028"), grown=False)
        _, out, _ = self.tool("draw", "plan.toml", folder=second, check=0)
        self.assertRegex(out, r">\s+2028 +30 plots  A B2")
        now = self.by_name(second)
        self.assertEqual({n: r[:5] + r[8:] for n, r in now.items()}, {n: r[:5] + r[8:] for n, r in old.items()})
        due = {n for n, r in now.items() if r[7] == "planned"}
        self.assertEqual({now[n][8] for n in due}, {"A", "B2"})
        self.assertEqual(len(due), 30)
        certificate = json.loads((second / "out/certificate.json").read_text())
        self.assertEqual([y["plots"] for y in certificate["panels"]["years"]], [30] * 4)
        self.assertIn("Which panels are visited when", (second / "out/design.html").read_text())
        for stratum, panel, plots, chance, area in self.rows(
                "select p.stratum, p.panel, p.plots, p.chance_per_m2, s.area_m2 from panels p join strata s using (stratum)", second):
            self.assertAlmostEqual(chance * area, plots, 9, (stratum, panel))

    def test_panels_changed_mid_cycle_are_refused(self):
        self.first(PANELS)
        second = self.second(PANELS.replace("year = 2027", "year = 2028").replace("[1-0,1-3]", "[1-0,1-1]"), grown=False)
        self.refused("draw", "plan.toml", folder=second,
                     says=["[1-0,1-3] were begun in 2027", "B1 (15 plots, counted in 2027, due again in 2031)", "change = true"])
        plan = (second / "plan.toml").read_text()
        (second / "plan.toml").write_text(plan.replace("[1-0,1-1]", "[1-0,1-3]").replace("each = 6", "each = 8"))
        self.refused("draw", "plan.toml", folder=second, says=["each = 6", "each = 8"])
        (second / "plan.toml").write_text(plan + "change = true\n")
        _, _, err = self.tool("draw", "plan.toml", folder=second, check=0)
        self.assertIn("are given up", err)

    def test_bad_panels(self):
        folder = self.make()
        for text, says in ((PANELS.replace("[1-0,1-3]", "[1-x]"), ["pattern cannot be read", "'x' is no number of seasons"]),
                           (PANELS.replace("[1-0,1-3]", "[1-n]"), ["years = 6"]),
                           (PANELS.replace("year = 2027", "year = 2020"), ["year = 2020 comes before start = 2027"]),
                           (PANELS + "shares = [0.5, 0.4]\n", ["shares add up to 0.9"])):
            (folder / "plan.toml").write_text(PLAN + text)
            self.refused("draw", "plan.toml", says=["plan.toml:", *says])
        self.assertFalse((folder / "record").exists())

    def kept_copy(self, change):
        """2027's plots as a layer of their own, after `change` on the open file."""
        store = ogr.Open(str(self.folder / "2027" / "season.gpkg"))
        copy = ogr.GetDriverByName("GPKG").CreateDataSource(str(self.folder / "plots.gpkg"))
        copy.CopyLayer(store.GetLayerByName("plots"), "plots")
        change(copy.GetLayer(0))
        copy = None

    def test_bad_kept_plots(self):
        first = self.first()
        second = self.second(keep="../plots.gpkg", grown=False)
        names = sorted(self.by_name(first))

        def twin(layer):
            feature = layer.GetNextFeature().Clone()
            feature.SetFID(-1)
            feature["name"] = "OLD01A"
            layer.CreateFeature(feature)
        self.kept_copy(twin)
        self.refused("draw", "plan.toml", folder=second, says=["plots.gpkg", "OLD01A", "0.00 m apart", "under two names"])
        (self.folder / "plots.gpkg").unlink()

        self.kept_copy(lambda layer: layer.DeleteField(layer.GetLayerDefn().GetFieldIndex("chance_per_m2")))
        self.refused("draw", "plan.toml", folder=second, says=["plots.gpkg", "no column chance_per_m2"])
        (self.folder / "plots.gpkg").unlink()

        def chanceless(layer):
            feature = layer.GetNextFeature()
            feature.SetFieldNull("chance_per_m2")
            layer.SetFeature(feature)
        self.kept_copy(chanceless)
        line = self.refused("draw", "plan.toml", folder=second, says=["plots.gpkg, feature", "has no chance"])
        self.assertTrue(any(name in line for name in names))
        (self.folder / "plots.gpkg").unlink()

        self.kept_copy(lambda layer: None)
        self.tool("draw", "plan.toml", folder=second, check=0)
        self.assertEqual(set(self.by_name(second)), set(names))
        plan = (second / "plan.toml").read_text()
        (second / "plan.toml").write_text(plan.replace("../plots.gpkg", "season.gpkg"))
        self.refused("draw", "plan.toml", folder=second, says=["own store"])
        (second / "plan.toml").write_text(plan.replace("../plots.gpkg", "../2027/season.gpkg"))
        shutil.rmtree(second / "record")
        self.refused("draw", "plan.toml", folder=second, says=["strata of record", "Copy the folder `record`"])

    def test_a_record_changed_by_hand_is_refused(self):
        first = self.first()
        # A desktop map that opens a GeoPackage changes its bytes; that is no harm.
        with sqlite3.connect(first / "record/v1/survey.gpkg") as db:
            db.execute("pragma user_version = 7")
        db.close()
        self.tool("draw", "plan.toml", folder=first, check=0)
        survey = ogr.Open(str(first / "record/v1/survey.gpkg"), 1)
        layer = survey.GetLayer(0)
        feature = layer.GetNextFeature()
        feature["code"] = "XXX"
        layer.SetFeature(feature)
        layer = survey = None
        self.refused("draw", "plan.toml", folder=first, says=["survey.gpkg", "damaged"])
        self.found_by_check("survey.gpkg", "damaged", folder=first)
