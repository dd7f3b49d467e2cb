"""The edge rules from the command line: what is said before the draw, what is stored for estimates."""
import json
import unittest

from osgeo import ogr

from season import NORTH, PLAN, WEST, SeasonCase, box

# A field of 100 × 80 m on one kind of ground, and a strip of 60 × 12 m.
FIELD = (WEST + 1000, NORTH - 500, WEST + 1100, NORTH - 420)
STRIP = (WEST + 1300, NORTH - 500, WEST + 1360, NORTH - 488)
SITES = [({"code": "FLD", "name": "Field", "owner": ""}, box(*FIELD)),
         ({"code": "STR", "name": "Strip", "owner": ""}, box(*STRIP))]


def plan(edge):
    return PLAN.replace("each = 6", f'each = 20\nedge = {edge}') + '\n[strata]\nby = ["site"]\n'


class Edges(SeasonCase):
    def drawn(self, edge, status=0):
        self.make(plan=plan(edge), sites=SITES)
        _, out, _ = self.tool("draw", "plan.toml", check=status)
        return out, json.loads((self.folder / "out" / "certificate.json").read_text())

    def test_an_inner_margin_says_what_it_loses_and_keeps_pins_away(self):
        # 90 × 70 of 100 × 80 m and 50 × 2 of 60 × 12 m keep pins.
        self.make(plan=plan('"inner-margin"\nmargin_m = 5'), sites=SITES)
        flag = self.found_by_check("inner margin of 5 m: no pin falls on 86 % of STR (0.06 of 0.07 ha) and 21 % of FLD "
                                   "(0.17 of 0.80 ha)", severity="ASK")
        self.assertIn("walk-through", flag["remedy"])
        out, certificate = self.drawn('"inner-margin"\nmargin_m = 5')
        self.assertIn("no pin falls on 86 % of STR", out.splitlines()[0])
        self.assertEqual(certificate["edge"]["rule"], "inner-margin")
        for east, north in self.rows("select east, north from plots where site = 'FLD'"):
            self.assertGreaterEqual(min(east - FIELD[0], FIELD[2] - east, north - FIELD[1], FIELD[3] - north), 5)
        (area, frame), = self.rows("select area_m2, frame_m2 from strata where site = 'FLD'")
        self.assertAlmostEqual(area, 8000, 6)
        self.assertAlmostEqual(frame, 90 * 70, delta=0.5)

    def test_a_margin_that_leaves_nothing_stops(self):
        self.make(plan=plan('"inner-margin"\nmargin_m = 6.5'), sites=SITES)
        self.refused("draw", "plan.toml", says=["STR lies wholly within 6.5 m of its edges", "margin_m smaller"])

    def test_a_grown_frame_keeps_what_its_estimate_needs(self):
        out, certificate = self.drawn('"grown-frame"')
        self.assertIn("frame_m2 / (plots × plot_m2)", certificate["edge"]["estimator"])
        stratum, = [s for s in certificate["strata"] if s["site"] == "FLD"]
        self.assertGreater(stratum["frame_m2"], 8000 + 360 * 5.09)
        self.assertLess(stratum["frame_m2"], 8000 + 360 * 5.11 + 84)
        field = ogr.CreateGeometryFromWkt(box(*FIELD))
        outside = 0
        for east, north, away, inside, plot, chance, tape, walk in self.rows(
                "select east, north, pin_outside_m, inside_m2, plot_m2, chance_per_m2, tape, walk from plots "
                "where site = 'FLD' and spare = 0"):
            point = ogr.CreateGeometryFromWkt(f"POINT({east} {north})")
            self.assertAlmostEqual(away, field.Distance(point), 6)
            self.assertAlmostEqual(chance * stratum["frame_m2"], 20, 6)
            self.assertAlmostEqual(plot, 20)
            self.assertEqual(walk == 0, inside == 0)
            if away > 0:
                outside += 1
                self.assertIn("no visit needed" if inside == 0 else "where the landowner and the ground allow it", tape)
        self.assertGreater(outside, 0)

    def test_folded_belts_make_up_whole_plots_on_average(self):
        # A strip as narrow as a belt is long: nearly every belt is folded, and none loses ground past its ends.
        self.drawn('"fold-back"')
        rows = self.rows("select inside_m2, twice_m2, tape from plots where site = 'STR' and spare = 0")
        self.assertTrue(any("fold back" in tape for _, _, tape in rows))
        mean = sum(inside + twice for inside, twice, _ in rows) / len(rows)
        self.assertLess(abs(mean - 20), 1)

    def test_the_area_inside_alone_is_said_to_lose_edge_plants(self):
        self.make(plan=plan('"inside-area"'), sites=SITES)
        # Reach √(1² + 5²) = 5.099 m: 49.8 × 1.8 of 60 × 12 m and 89.8 × 69.8 of 100 × 80 m are farther in.
        self.found_by_check("inside-area gives plants within 5.1 m of an edge less than their chance",
                            "88 % of STR (0.06 of 0.07 ha) and 22 % of FLD (0.17 of 0.80 ha)", severity="ASK")
        self.drawn('"inside-area"')
        self.assertEqual(self.rows("select max(twice_m2) from plots"), [(0.0,)])
        self.assertEqual(self.rows("select distinct edge from strata"), [("inside-area",)])


if __name__ == "__main__":
    unittest.main()
