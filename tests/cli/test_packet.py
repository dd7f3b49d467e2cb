"""Site sheets, the table of visits and identification cards, as files."""
import csv
import datetime
import json
import re
import shutil
import subprocess
import xml.etree.ElementTree

from osgeo import ogr

from season import NORTH, PLAN, SHEET, SITES, SOURCE, WEST, SeasonCase, square, write_vectors

HOSTILE = ["<script>alert(1)</script>", "\"quotes\" & 'more'", "\u202eturned\u202c", "W" * 300, "\U0001F33C" * 40, ""]
LOOK = PLAN + """
[declination]
degrees = -1.5
date = "2027-03-01"
source = "illustrative"

[packet]
stop_if = ["the river gauge is above 3.1 m"]

[teams]
north = ["QPR", "SKP"]
south = ["TNY"]
"""
TODAY = ("--today", "2027-03-18")
XHTML = "{http://www.w3.org/1999/xhtml}"


class Packets(SeasonCase):
    def packet(self, *words, plan=LOOK, check=None, **made):
        if not (self.folder / "season.gpkg").exists():
            self.make(plan=plan, **made)
            self.tool("draw", "plan.toml", check=0)
        return self.tool("packet", "plan.toml", *TODAY, *words, check=check)

    def page(self, name):
        text = (self.folder / "out/packet" / name).read_text(encoding="utf-8")
        return text, xml.etree.ElementTree.fromstring(text.split("\n", 1)[1])

    def sheets(self, root):
        return [e for e in root.iter(XHTML + "section") if e.get("class") == "sheet"]

    def test_every_site_has_its_sheets_and_all_are_in_one_file(self):
        code, out, err = self.packet("--json")
        self.assertIn(code, (0, 1), err)
        said = json.loads(out)
        names = sorted(p.name for p in (self.folder / "out/packet").iterdir())
        self.assertEqual(names, ["QPR.html", "SKP.html", "TNY.html", "all.html"])
        single = sum(len(self.sheets(self.page(name)[1])) for name in names if name != "all.html")
        self.assertEqual(len(self.sheets(self.page("all.html")[1])), single)
        self.assertEqual(said["sheets"], single)
        with open(self.folder / "out/visits.csv", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        self.assertEqual({row["site"] for row in rows}, {"QPR", "SKP", "TNY"})
        self.assertEqual(self.leftovers(), [])

    def test_every_plot_that_is_due_stands_on_its_sites_sheets(self):
        self.packet()
        for site in ("QPR", "SKP", "TNY"):
            text, root = self.page(f"{site}.html")
            heads = ["".join(e.itertext()) for e in root.iter(XHTML + "th") if e.get("scope") == "row"]
            for plot in self.plots(where=f"site = '{site}'"):
                self.assertGreaterEqual(heads.count(plot[0]), 2, plot[0])  # the table and the form
            self.assertNotIn("N. Body", text)
            for line in ("visit 1 of 1", "Contact: [coordinator writes in]", "Never taste any plant", "declination"):
                self.assertIn(line.lower(), text.lower())

    def test_the_same_packet_whatever_the_threads(self):
        self.packet("--threads", "1")
        one = {p.name: p.read_bytes() for p in (self.folder / "out/packet").iterdir()}
        self.packet("--threads", "3")
        self.assertEqual(one, {p.name: p.read_bytes() for p in (self.folder / "out/packet").iterdir()})

    def test_no_file_names_an_address_and_none_is_asked_for(self):
        self.packet()
        text, _ = self.page("all.html")
        self.assertNotRegex(re.sub(r'xmlns="[^"]*"', "", text), r"https?://|src=|@import")

    def test_one_site_alone_leaves_the_others(self):
        self.packet()
        before = {p.name: p.read_bytes() for p in (self.folder / "out/packet").iterdir()}
        (self.folder / "out/packet/QPR.html").unlink()
        self.packet("--site", "QPR")
        self.assertEqual(before, {p.name: p.read_bytes() for p in (self.folder / "out/packet").iterdir()})
        self.refused("packet", "plan.toml", *TODAY, "--site", "QPS", says=["QPS", "QPR"], status=2)

    def test_pages_of_sites_that_are_gone_are_removed_and_nothing_else(self):
        self.packet()
        old = self.folder / "out/packet/GONE.html"
        old.write_bytes((self.folder / "out/packet/QPR.html").read_bytes())
        own = self.folder / "out/packet/notes.html"
        own.write_text("<html>mine</html>")
        _, out, _ = self.packet()
        self.assertFalse(old.exists())
        self.assertTrue(own.exists())
        self.assertIn("Removed 1 page", out)

    def test_a_store_of_another_draw_is_refused(self):
        self.packet()
        plan = self.folder / "plan.toml"
        plan.write_text(LOOK.replace("seed = 2027", "seed = 2028"))
        self.refused("packet", "plan.toml", *TODAY, says=["seed"])

    def test_before_a_draw_it_says_what_to_do(self):
        self.make(plan=LOOK)
        self.refused("packet", "plan.toml", *TODAY, says=["draw"])

    def test_a_window_that_a_closure_takes_needs_a_person(self):
        closed = LOOK + '\n[[visits.closure]]\nfrom = "05-01"\nuntil = "07-31"\nreason = "flood"\n'
        code, out, err = self.packet(plan=closed)
        self.assertEqual(code, 1, out + err)
        self.assertIn("CONFLICT", out)

    def test_cards_alone(self):
        self.packet("--card")
        self.assertEqual([p.name for p in (self.folder / "out/packet").iterdir()], ["cards.html"])
        self.packet("--training")
        text, _ = self.page("cards.html")
        self.assertIn("PTUB", text)

    def test_a_fence_without_a_gate_is_said_and_a_gate_added_later_is_passed(self):
        self.make(plan=LOOK)
        fence = f"LINESTRING({WEST + 550} {NORTH - 1200},{WEST + 550} {NORTH - 200})"
        write_vectors(self.folder / "fences.gpkg", [({"what": "fence"}, fence)], kind=ogr.wkbLineString)
        fenced = LOOK.replace("\n[layers.cover]", '\n[sites.access]\nbarriers = "fences.gpkg"\n\n[layers.cover]')
        (self.folder / "plan.toml").write_text(fenced)
        self.tool("draw", "plan.toml")
        _, out, err = self.packet()
        self.assertRegex(out + err, r"ASK[^\n]*QPR: plots? QPR.* cannot be reached without crossing fence: needs a crossing")
        text, root = self.page("QPR.html")
        self.assertIn("NO WAY", text)
        self.assertIn("E entry", text)  # the plan gives no parking
        # A line from one side to the other is on no map.
        for path in (e.get("d") for e in root.iter("{http://www.w3.org/2000/svg}path") if e.get("class") == "walk"):
            self.assertGreater(path.count("M"), 1)
        self.assertNotIn("NO WAY", self.page("TNY.html")[0])
        gate = f"POINT({WEST + 551} {NORTH - 500})"
        write_vectors(self.folder / "gates.gpkg", [({"what": "gate"}, gate)], kind=ogr.wkbPoint)
        (self.folder / "plan.toml").write_text(fenced.replace("barriers =", 'crossings = "gates.gpkg"\nbarriers ='))
        _, out, err = self.packet()
        self.assertNotIn("needs a crossing", out + err)
        text, _ = self.page("QPR.html")
        self.assertNotIn("NO WAY", text)
        self.assertIn("<b>WAY</b><bdi> past fence: M ", text)
        self.assertIn(" m to \u00d7; ", text)

    def test_a_telephone_number_is_asked_about(self):
        self.packet(plan=LOOK.replace("[packet]", '[packet]\ncontact = "call 913 555 0134"'))
        _, _, err = self.packet()
        self.assertIn("telephone", err)

    def test_hostile_text_stays_text(self):
        for number, words in enumerate(HOSTILE):
            folder = self.folder / f"hostile-{number}"
            sites = [({**fields, "name": words}, wkt) for fields, wkt in SITES]
            written = json.dumps(words or "x", ensure_ascii=False)
            plan = LOOK.replace("illustrative", "x").replace("[packet]", f"[packet]\ncontact = {written}\nhabitat = \"name\"")
            plan = plan.replace('["the river gauge is above 3.1 m"]', f"[{written}]")
            plan = plan.replace("north =", f"{json.dumps(words or 'north', ensure_ascii=False)} =").replace('"water"', json.dumps(words or "water", ensure_ascii=False))
            plan += f"\n[visits.permission.QPR]\nstatus = \"yes\"\nnote = {json.dumps(words or 'n', ensure_ascii=False)}\n"
            plan += f"\n[[caution]]\ntext = {json.dumps(words or 'c', ensure_ascii=False)}\n"
            self.make(folder=folder, plan=plan, sites=sites,
                      sheets={"ptub": SHEET.replace('"white wand beardtongue"', written)})
            self.tool("draw", "plan.toml", folder=folder)
            code, _, err = self.tool("packet", "plan.toml", *TODAY, folder=folder)
            self.assertIn(code, (0, 1), f"{words!r}: {err}")
            for page in (folder / "out/packet").iterdir():
                text = page.read_text(encoding="utf-8")
                self.assertNotIn("<script", text)
                xml.etree.ElementTree.fromstring(text.split("\n", 1)[1])

    def test_well_formed_for_a_strict_reader(self):
        self.packet()
        done = subprocess.run(["xmllint", "--noout", *map(str, (self.folder / "out/packet").iterdir())],
                              capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)


class DemoVisits(SeasonCase):
    """The meadow's species share twelve days; those of the woods share one, so that teams go twice."""

    SEARCH = """
[returns.search]
ANL = ["PTEN", "PALU", "PDIG", "PTUB"]
NBK = ["PLAX", "PCAL", "PDIG", "PPAL"]
"""

    def visits(self, shift):
        plan = (self.folder / "plan.toml").read_text(encoding="utf-8")
        plan = re.sub(r"\n\[returns\.search\].*?(?=\n\[)", self.SEARCH, plan, flags=re.S)
        plan = plan.replace("[returns]\n", f"[returns]\nshift_days = {shift}\n")
        (self.folder / "early.toml").write_text(plan, encoding="utf-8")
        self.tool("packet", "early.toml", "--site", "ANL,NBK", "--today", "2027-03-18")
        with open(self.folder / "out/visits.csv", encoding="utf-8") as lines:
            return sorted({(row["site"], row["visit"], row["from"], row["until"])
                           for row in csv.DictReader(lines) if row["site"] in ("ANL", "NBK")})

    def test_one_visit_to_the_meadow_two_to_the_woods_and_all_move_with_the_season(self):
        shutil.copytree(SOURCE / "samples" / "ambry-valley", self.folder,
                        dirs_exist_ok=True)
        self.tool("draw", "plan.toml")
        visits = self.visits(0)
        self.assertEqual([v[0] for v in visits], ["ANL", "NBK", "NBK"])
        self.assertEqual(visits[0][2:], ("2027-05-20", "2027-05-31"))
        self.assertEqual(visits[1][3], "2027-05-15")
        self.assertEqual(visits[2][2:], ("2027-05-15", "2027-06-05"))
        sheet = (self.folder / "out/packet/ANL.html").read_text(encoding="utf-8")
        self.assertIn("visit 1 of 1: 20–31 May", sheet)
        traits = self.folder / "traits.toml"
        kept = traits.read_text(encoding="utf-8")
        traits.write_text(kept.replace('"PEL"', '"PEP"'), encoding="utf-8")
        code, _, err = self.tool("packet", "plan.toml", "--quiet")
        self.assertEqual(code, 3, err)
        self.assertIn("is said to stand at PEP, and no site has that code. Did you mean PEL?", err)
        traits.write_text(kept, encoding="utf-8")
        early = self.visits(-8)
        day = datetime.timedelta(days=8)
        moved = [(site, number, *(str(datetime.date.fromisoformat(end) - day) for end in ends)) for site, number, *ends in visits]
        self.assertEqual(early, moved)
        sheet = (self.folder / "out/packet/ANL.html").read_text(encoding="utf-8")
        self.assertIn("visit 1 of 1: 12–23 May", sheet)
        self.assertIn("season 8 days early", sheet)
