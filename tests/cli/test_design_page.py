"""out/design.html: every number on it is the certificate's, and it stands alone."""
import json
import re
import xml.etree.ElementTree

from season import PLAN, SITES, SeasonCase, square, NORTH, WEST

SPACE = "{http://www.w3.org/1999/xhtml}"


def text_of(element):
    return "".join(element.itertext())


class Page:
    def __init__(self, path):
        self.text = path.read_text(encoding="utf-8")
        self.root = xml.etree.ElementTree.fromstring(self.text)

    def table(self, caption):
        """Rows as lists of texts; the first is the heads."""
        for table in self.root.iter(SPACE + "table"):
            if text_of(table.find(SPACE + "caption")) == caption:
                return [[text_of(cell) for cell in row] for row in table.iter(SPACE + "tr")]
        raise AssertionError(f"no table {caption}")

    def section(self, key):
        return next(s for s in self.root.iter(SPACE + "section") if s.get("id") == key)


def number(text):
    return float(text.replace(",", "").replace("−", "-").replace(" %", ""))


class DesignPage(SeasonCase):
    def same(self, shown, value):
        """`shown` is `value` rounded to the decimals shown."""
        if value is None or shown == "–":
            self.assertTrue(shown in ("–", "0") and not value, f"{shown} and {value}")
            return
        decimals = len(shown.partition(".")[2].rstrip(" %")) if "." in shown else 0
        self.assertLessEqual(abs(number(shown) - value), 0.5000001 * 10**-decimals + 1e-12, f"{shown} and {value}")

    def drawn(self, plan=PLAN, **made):
        self.make(plan=plan, **made)
        code, out, err = self.tool("draw", "plan.toml")
        self.assertIn(code, (0, 1), out + err)
        self.said = out + err
        return Page(self.folder / "out/design.html"), json.loads((self.folder / "out/certificate.json").read_text())

    def test_every_number_of_the_strata_is_the_certificates(self):
        page, kept = self.drawn(PLAN.replace("spares = 0.5", "spares = 0.5\napart_m = 60"))
        rows = page.table("Strata")[1:]
        self.assertEqual([r[0] for r in rows[:-1]], [s["stratum"] for s in kept["strata"]])
        keys = ["area_m2", "asked_planned", "drawn_planned", "asked_spares", "drawn_spares", "chance_per_m2", "weight_m2"]
        for row, stratum in zip(rows, kept["strata"]):
            self.assertEqual(row[1], stratum["rule"])
            for shown, key in zip(row[2:], keys):
                self.same(shown, stratum[key])
        for column, key in zip(rows[-1][2:7], keys):
            self.same(column, sum(s[key] for s in kept["strata"]))

        asked = {s["stratum"]: s for s in kept["strata"] if s["asked_planned"] + s["asked_spares"] > 0}
        spread = page.table("Spread of the planned plots")[1:]
        self.assertEqual([r[0] for r in spread], list(asked))
        departures = 0
        for row in spread:
            stratum = asked[row[0]]
            for shown, key in zip(row[2:4] + row[5:7] + [row[8]],
                                  ["balance", "balance_of_simple_random", "nearest_pair_m", "replaced_for_closeness",
                                   "lattice_points"]):
                self.same(shown, stratum[key])
            if stratum["largest_departure"] is not None:
                departures += 1
                largest, error = row[7].split(" ± ")
                self.same(largest, 100 * stratum["largest_departure"])
                self.same(error, 100 * stratum["largest_departure_error"])
        self.assertGreater(departures, 0, "the plan was to have some")

    def test_sites_words_and_inputs_are_the_certificates(self):
        page, kept = self.drawn()
        rows = page.table("Sites")[1:]
        for row, site in zip(rows, kept["sites"]):
            self.assertEqual(row[:2], [site["site"], site["name"]])
            for shown, key in zip(row[2:], ["survey_m2", "drawn_planned", "drawn_spares"]):
                self.same(shown, site[key])
        self.assertEqual(len(rows), len(SITES) + 1)
        plots = self.rows("select site, spare, count(*) from plots group by site, spare")
        for site, spare, count in plots:
            shown = next(r for r in rows if r[0] == site)[4 if spare else 3]
            self.assertEqual(int(shown), count)
        whole = text_of(page.root)
        for key in ("routes", "allocation", "merged", "shortfalls", "methods"):
            for line in kept[key]:
                self.assertIn(line, whole)
        for piece in (str(kept["seed"]), kept["inputs"], kept["inputs_of"], kept["unit"]):
            self.assertIn(piece, whole)
        self.assertIn("out/design.html", self.said)

    def test_the_worked_chance_is_that_of_its_stratum_and_of_its_plots(self):
        page, kept = self.drawn()
        words = text_of(page.section("by-hand"))
        name = re.match(r"\s*One chance checked by hand\s*(\S+) holds", words)[1]
        stratum = next(s for s in kept["strata"] if s["stratum"] == name)
        plots, area, chance = re.search(r"Chance per m²: ([\d,]+) ÷ ([\d,.]+) = ([\d.]+)", words).groups()
        self.assertEqual(int(plots), stratum["drawn_planned"])
        self.same(area, stratum["area_m2"])
        self.same(chance, stratum["chance_per_m2"])
        for (kept_chance,) in self.rows(f"select chance_per_m2 from plots where stratum = '{name}'"):
            self.same(chance, kept_chance)
        self.same(re.search(r"Weight of a plot: .* = ([\d,.]+) m²", words)[1], stratum["weight_m2"])

    def test_the_page_needs_nothing_but_itself(self):
        page, _ = self.drawn()
        for element in page.root.iter():
            self.assertNotIn(element.tag, [SPACE + t for t in ("script", "iframe", "object", "embed", "video")])
            for attribute in ("src", "href"):
                value = element.get(attribute)
                if value and not value.startswith(("#", "data:")):
                    self.assertTrue((self.folder / "out" / value).is_file(), value)
        images = list(page.root.iter(SPACE + "img"))
        self.assertEqual(len(images), len(SITES))
        self.assertTrue(all(i.get("alt") for i in images))
        self.assertEqual(page.root.get("lang"), "en")
        self.assertFalse(self.leftovers())

    def test_names_that_look_like_markup_stay_text(self):
        odd = '<b onload="x">&amp; Co</b>'
        page, _ = self.drawn(PLAN.replace('"Test season"', f"'{odd}'"),
                             sites=[({"code": "QPR", "name": odd}, square(WEST + 300, NORTH - 900, 500))])
        self.assertEqual(text_of(next(page.root.iter(SPACE + "h1"))), f"Design of {odd}")
        self.assertEqual(page.table("Sites")[1][1], odd)
        self.assertFalse(list(page.root.iter(SPACE + "b")))

    def test_the_same_draw_gives_the_same_page(self):
        page, _ = self.drawn()
        self.tool("draw", "plan.toml", "--threads", "1", "--quiet")
        self.assertEqual((self.folder / "out/design.html").read_text(encoding="utf-8"), page.text)
