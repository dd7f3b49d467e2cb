"""out/report.html: the season on one page, with counts, without, and where its store is behind. All invented."""
import base64
import csv
import hashlib
import json
import re
import sqlite3

import test_change
import test_estimate
import test_transects
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
        # Density, its limits and the total: the worked site of test_estimate, 1,367 (650 to 2,860) and 57,400 (27,300
        # to 120,000), each rounded to the second figure of the nearer limit's distance. The rest: estimates.csv.
        self.assertEqual([*row[:2], *row[3:6]], ["all sites", "11", "1,370", "650–2,860", "57,000"])
        share = self.rows(where="all sites", stratum="", measure="occupied share")[0]
        self.assertEqual(row[2], f"{100 * float(share['value']):.0f} %")
        total = self.rows(where="all sites", stratum="", measure="total stems")[0]
        for shown, key in zip(row[6].split("–"), ("limit_low", "limit_high")):
            self.assertLess(abs(float(shown.replace(",", "")) / float(total[key]) - 1), 0.05)
        [density] = self.rows(where="all sites", stratum="", measure="stems per ha", estimator=self.leading())
        self.assertEqual(f"{round(float(density['value']), -1):,.0f}", row[3])
        self.assertEqual(row, ["all sites", *page.table("All sites together: flowering stems, with limits of 90 %")[1][1:]])
        sentences = [text_of(li) for li in page.section("short").iter(SPACE + "li")]
        self.assertEqual(len(sentences), 5)
        self.assertIn("11 of the 11 plots due at 1 site (42 ha) were counted", sentences[0])
        self.assertIn(f"white wand beardtongue 57,000 ({row[6]})", sentences[1])
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
        # −0.83 stems a plot of 20 m², −2.04 to +0.38, to the second figure of the limits' distance.
        self.assertEqual(row[2:5], ["2,420", "2,000", "−420 (−1,020 to +190)"])
        over_all = page.table("All sites together: change on the same plots, 2026 to 2027")[1]
        self.assertEqual(over_all, ["white wand beardtongue (PTUB)", *row[1:]])
        self.assertIn("Two seasons show a change, not a trend.", re.sub(r"\s+", " ", text_of(page.section("change"))))
        self.assertIn("Since 2026, on the same plots: no clear change: white wand beardtongue.",
                      text_of(page.section("short")))

    def test_a_trend_over_four_seasons(self):
        """Ten plots, counted in four years and half as many again each year: stems as +50 % a year leave them."""
        first = [4, 8, 12, 16, 20, 24, 28, 32, 36, 40]
        years = [2024, 2025, 2026, 2027]
        for seed in range(2027, 2060):
            plots = [name for name, inside, twice in self.season("y2024", seed) if abs(inside - 20) < 1e-6 and twice < 1e-6]
            if len(plots) == 10:
                break
        earlier = ", ".join(f'"../y{year}/season.gpkg"' for year in years[:-1])
        for year in years:
            if year > 2024:
                self.season(f"y{year}", seed, f"\n[returns]\nearlier = [{earlier}]\n" if year == 2027 else "")
            self.received(f"y{year}", year, {name: round(stems * 1.5 ** (year - 2024)) for name, stems in zip(plots, first)})
        self.tool("report", "y2027/plan.toml", check=0)
        page = Page(self.folder / "y2027/out/report.html")
        heads, row = page.table("All sites together: trend of flowering stems, 2024 to 2027, with limits of 90 %")
        self.assertEqual(heads, ["Species", "Seasons", "Change a year, %", "Limits, %", "In a word"])
        self.assertEqual((row[0], row[1], row[4]), ("white wand beardtongue (PTUB)", "4", "rising"))
        percent = float(row[2].lstrip("+"))
        low, high = (float(limit.lstrip("+")) for limit in row[3].split(" to "))
        # On a line of the square root the yearly change in the middle of the period is near √: 2(√1.5 − 1) to ln 1.5.
        self.assertTrue(low < percent < high and 40 <= percent <= 46, row)
        said = [len(number.partition(".")[2]) for number in [row[2], *row[3].split(" to ")]]
        self.assertEqual(len(set(said)), 1, row)
        change = page.table("PTUB: change on the same plots, 2026 to 2027")[1]
        self.assertEqual((change[1], change[5]), ("10", "more"))
        words = re.sub(r"\s+", " ", text_of(page.section("change")))
        self.assertIn("A trend is of the plots themselves", words)
        self.assertNotIn("not a trend", words)
        self.assertIn("Urquhart", text_of(page.section("methods")))
        # The same season with two earlier ones has a change and no trend.
        plan = self.folder / "y2027/plan.toml"
        plan.write_text(plan.read_text().replace('"../y2024/season.gpkg", ', ""))
        self.tool("report", "y2027/plan.toml", check=0)
        page = Page(self.folder / "y2027/out/report.html")
        self.assertEqual(page.table("PTUB: change on the same plots, 2026 to 2027")[1], change)
        self.assertNotIn("trend of flowering stems", page.text)


class ReportOfTransects(test_transects.Transects):
    def test_transects_are_told_as_transects(self):
        self.make_lines()
        plan = self.folder / "plan.toml"
        plan.write_text(plan.read_text() + '\n[returns.search]\nQPR = ["PTUB"]\nSKP = ["PTUB"]\nTNY = ["PTUB"]\n')
        self.tool("draw", "plan.toml", check=0)
        self.tool("receive", "plan.toml", "--form", "form.csv", check=0)
        with open(self.folder / "form.csv", newline="") as file:
            rows = list(csv.DictReader(file))
        planned = {row["name"]: row["site"] for row, _ in self.lines("spare = 0")}
        rows = [row for row in rows if row["plot"] in planned]
        stems = {}
        for number, row in enumerate(rows):
            row.update(visit_date="2027-06-01", observer="041", certainty="sure", count_method="counted", phase="flower",
                       flowering_stems=str(number % 4), status="counted", sheet_id=str(100 + number), twice_stems="")
            stems[row["plot"]] = number % 4
        with open(self.folder / "back.csv", "w", newline="") as file:
            out = csv.DictWriter(file, rows[0])
            out.writeheader()
            out.writerows(rows)
        code, out, err = self.tool("receive", "plan.toml", "back.csv", "--today", "2027-06-05")
        self.assertIn(code, (0, 1), out + err)
        self.tool("report", "plan.toml", check=0)
        page = Page(self.folder / "out/report.html")
        effort = page.table("Effort by site")
        self.assertEqual([r[:4] for r in effort[1:]], [["QPR", "Quill Prairie", "6", "6"],
                         ["SKP", "Skep Sand Prairie", "6", "6"], ["TNY", "Tanyard Field", "6", "6"], ["All", "", "18", "18"]])
        found = page.table("PTUB: flowering stems, with limits of 90 %")
        self.assertEqual(found[0][:4], ["Where", "Transects", "Occupied", "Stems a hectare"])
        self.assertEqual([r[1] for r in found[1:]], ["18", "6", "6", "6"])
        short = re.sub(r"\s+", " ", text_of(page.section("short")))
        self.assertIn("18 of the 18 transects due at 3 sites", short)
        records = {r[0]: r[-1] for r in page.table("Transects of QPR")[1:]}
        here = [name for name, site in planned.items() if site == "QPR"]
        self.assertEqual({name: records[name] for name in here}, {name: str(stems[name]) for name in here})
        # Each line is drawn on its site's map; the words never speak of plots.
        self.assertEqual(page.text.count('<path class="casing"') > 0, True)
        self.assertNotIn("plots due", page.text)
        self.assertIn("No earlier season", short)


def load_tests(loader, _tests, _pattern):
    """Not those of the classes whose ways are used."""
    suite = loader.suiteClass()
    for case, base in ((Report, test_estimate.Estimate), (ReportOfChange, test_change.Change),
                       (ReportOfTransects, test_transects.Transects)):
        suite.addTests(case(name) for name in loader.getTestCaseNames(case) if not hasattr(base, name))
    return suite
