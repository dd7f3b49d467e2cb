"""out/report.html: the season on one page, with counts, without, and where its store is behind. All invented."""
import base64
import hashlib
import json
import re
import sqlite3

import test_change
import test_estimate
from test_design_page import SPACE, Page, text_of


class Report(test_estimate.Estimate):
    def report(self, *words, check=0):
        _, out, err = self.tool("report", "plan.toml", *words, check=check)
        return Page(self.folder / "out/report.html"), out + err

    def said_in(self, page, key):
        return re.sub(r"\s+", " ", text_of(page.section(key)))

    def counted(self, least_m2=12):
        high, low = self.strata(self.inside_season())
        # Story 8's site: 4,286 and 200 stems a hectare.
        rows = [(plot, stems, area, "counted")
                for plot, stems, area in zip(high, [0, 14, 3, 0, 22, 9], [20, 20, 20, least_m2, 20, 20])]
        rows += [(plot, stems, 20, "counted") for plot, stems in zip(low, [0, 0, 2, 0, 0])]
        return rows

    def test_numbers_are_those_of_estimate(self):
        self.received(self.counted())
        self.tool("estimate", "plan.toml", "--json", "--quiet")
        page, _ = self.report()
        row = next(r for r in page.table("PTUB: flowering stems, with limits of 90 %") if r[0] == "all sites")
        # Density, its limits and the total: the worked site of test_estimate. The rest: estimates.csv.
        self.assertEqual([*row[:2], *row[3:6]], ["all sites", "11", "1,367", "650–2,860", "57,400"])
        share = self.rows(where="all sites", stratum="", measure="occupied share")[0]
        self.assertEqual(row[2], f"{100 * float(share['value']):.0f} %")
        total = self.rows(where="all sites", stratum="", measure="total stems")[0]
        for shown, key in zip(row[6].split("–"), ("limit_low", "limit_high")):
            self.assertLess(abs(float(shown.replace(",", "")) / float(total[key]) - 1), 0.05)
        [density] = self.rows(where="all sites", stratum="", measure="stems per ha", estimator=self.leading())
        self.assertEqual(f"{float(density['value']):,.0f}", row[3])
        sentences = [text_of(li) for li in page.section("short").iter(SPACE + "li")]
        self.assertEqual(len(sentences), 5)
        self.assertIn("11 of the 11 plots due at 1 site (42 ha) were counted", sentences[0])
        self.assertIn(f"white wand beardtongue 57,400 ({row[6]})", sentences[1])
        self.assertIn("No earlier season", sentences[3])

    def leading(self):
        return next(r["estimator"] for r in self.rows(where="all sites", stratum="", measure="stems per ha"))

    def test_the_same_page_each_time_and_with_any_number_of_threads(self):
        self.received(self.counted())
        first = self.report("--threads", "1")[0].text
        self.assertEqual(first, self.report("--threads", "2")[0].text)
        self.assertEqual(self.leftovers(), [])

    def test_the_policy_lets_the_script_of_the_page_run_and_nothing_else(self):
        self.season(2027)
        page, _ = self.report()
        [script] = page.root.iter(SPACE + "script")
        policy = next(m.get("content") for m in page.root.iter(SPACE + "meta")
                      if m.get("http-equiv") == "Content-Security-Policy")
        print_of = base64.b64encode(hashlib.sha256(script.text.encode()).digest()).decode()
        self.assertIn(f"script-src 'sha256-{print_of}'", policy)
        self.assertIn("default-src 'none'", policy)

    def test_without_counts_it_tells_what_is_drawn(self):
        self.season(2027)
        page, said = self.report()
        self.assertIn("No count can be used yet", said)
        self.assertIn("11 plots are drawn at 1 site (42 ha), and nothing has come back yet.", self.said_in(page, "short"))
        self.assertIn("Nothing yet", self.said_in(page, "found"))
        sections = [s.get("id") for s in page.root.iter(SPACE + "section")]
        self.assertEqual(sections, ["short", "ground", "effort", "found", "methods", "origin", "care"])
        self.refused("report", "plan.toml", "--against", "season.gpkg", says="no count that can be used")

    def test_before_a_draw_it_is_refused(self):
        self.make()
        self.refused("report", "plan.toml", says="season.gpkg")
        self.assertFalse((self.folder / "out/report.html").exists())

    def test_a_store_behind_its_folder_is_refused_and_the_old_page_stays(self):
        rows = self.counted(least_m2=20)
        self.sent_in(rows)
        before = self.report()[0].text
        with sqlite3.connect(self.folder / "season.gpkg") as store:
            store.execute("delete from returns")
        self.refused("report", "plan.toml", says=["behind what was received", "swardline receive plan.toml"])
        self.assertEqual((self.folder / "out/report.html").read_text(encoding="utf-8"), before)

    def test_effort_flags_and_records(self):
        rows = self.counted(least_m2=20)
        rows[2] = (rows[2][0], "", "", "not countable (mown)")
        rows.pop()
        self.sent_in(rows)
        page, _ = self.report()
        effort = page.table("Effort by site")
        self.assertEqual(effort[1][:8], ["QPR", "Quill Prairie", "11", "9", "1", "1 not countable (mown)", "1", "0 of 0"])
        records = {r[0]: r for r in page.table("Plots of QPR")[1:]}
        self.assertEqual(len(records), 11)
        self.assertEqual(records[rows[1][0]][-1], "14")
        self.assertIn("mown", records[rows[2][0]][4])
        marks = [e.get("data-plot") for e in page.root.iter() if e.get("data-plot")]
        self.assertEqual(len(marks), 11)
        ids = {e.get("id") for e in page.root.iter() if e.get("id")}
        self.assertTrue(ids.issuperset(marks))
        self.assertIn("1 file came back", self.said_in(page, "flags"))

    def test_no_coordinates_leave_on_it(self):
        self.received(self.counted())
        page, _ = self.report()
        with sqlite3.connect(self.folder / "season.gpkg") as store:
            for lat, lon, east, north in store.execute("select lat, lon, east, north from plots"):
                for number in (f"{lat:.3f}", f"{lon:.3f}", f"{east:.0f}", f"{north:.0f}"):
                    self.assertNotIn(number, page.text)
        self.assertIn("exact places of plots are on this page", page.text)

    def test_json_names_the_file(self):
        self.received(self.counted())
        _, out, _ = self.tool("report", "plan.toml", "--json", check=0)
        said = json.loads(out)
        self.assertTrue(said["file"].endswith("report.html"))
        self.assertEqual((said["counts"], said["change"], said["comparison"]), (True, False, True))


class ReportOfChange(test_change.Change):
    def test_change_is_told_in_estimates_words(self):
        self.the_story()
        self.tool("report", "now/plan.toml", "--against", str(self.folder / "then" / "season.gpkg"), check=0)
        page = Page(self.folder / "now/out/report.html")
        row = page.table("PTUB: change on the same plots, 2026 to 2027")[1]
        self.assertEqual((row[0], row[1], row[5]), ("all sites", "6", "no clear change"))
        # −0.83 stems a plot of 20 m², −2.04 to +0.38.
        self.assertEqual(row[4], "−417 (−1,022 to +189)")
        self.assertIn("Since 2026, on the same plots: no clear change: white wand beardtongue.",
                      text_of(page.section("short")))


def load_tests(loader, _tests, _pattern):
    """Not those of the classes whose ways are used."""
    suite = loader.suiteClass()
    for case, base in ((Report, test_estimate.Estimate), (ReportOfChange, test_change.Change)):
        suite.addTests(case(name) for name in loader.getTestCaseNames(case) if not hasattr(base, name))
    return suite
