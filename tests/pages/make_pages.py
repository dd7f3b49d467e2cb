"""Makes the pages that the browser then looks at: make_pages.py FOLDER.

Two seasons below FOLDER: `demo`, the sample season with the counts of its first year, and `hostile`, a small one
whose every free text tries to break a page. FOLDER/made.json tells the browser's tests what there is.
"""
import csv
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import threading
import time

SOURCE = pathlib.Path(os.environ["SWARDLINE_SOURCE"])
TOOL = os.environ["SWARDLINE_TOOL"]
sys.path.insert(0, str(SOURCE / "tests/cli"))
from season import NORTH, PLAN, SHEET, WEST, SeasonCase, box, square  # noqa: E402

SCRIPT = "<script>window.__ran=1</script>"
IMAGE = "\"><img src=x onerror=window.__ran=1>"
# Each is a text that a page must show as it stands.
TEXTS = {
    "plan": f"Plan {SCRIPT} 'single' \"double\" &amp; \u200fright to left\u200f \u202eturned \U0001f33c",
    "site": f"{IMAGE}' onmouseover='window.__ran=1' \u05d0\u05d1\u05d2\u200f\u202e\u2067",
    "long site": ("Wide meadow behind the third gate " * 9)[:300].strip(),
    "unbroken site": "W" * 300,
    "species": f"Penstemon {SCRIPT}",
    "long species": ("Penstemon of the long name " * 12)[:300].strip(),
    "common": f"{IMAGE}\u202d \U0001f33a </title></style></svg>]]>--><b>bold</b>",
    "long common": "b" * 300,
    "reason": f"pond {SCRIPT} \"quoted\" {IMAGE}",
    "trait": f"{IMAGE} {{{{7*7}}}} ${{7*7}} javascript:window.__ran=1",
    "tell": f"</td></tr></table>{SCRIPT} 'look' \u200f\u202e",
    "why": f"wet feet {SCRIPT} {IMAGE}",
    "team": f"north \u202b{SCRIPT} \U0001f9ed",
    "note": f"mown? {SCRIPT} {IMAGE} \u200f\u202e \U0001f41d " + "n" * 300,
    "source": f"sheet 14 {IMAGE}",
}


def toml(text):
    """A TOML basic string; JSON's escapes are among TOML's, but for pairs of surrogates."""
    return json.dumps(text, ensure_ascii=False)


class Maker(SeasonCase):
    """The ways the command-line tests make and run a season, in a folder that stays."""

    def __init__(self, folder):
        super().__init__("tool")
        self.folder = folder

    def step(self, *words):
        """1 means that something needs a person, and is no failure."""
        code, out, err = self.tool(*words)
        if code not in (0, 1):
            raise SystemExit(f"{self.folder.name}: swardline {' '.join(map(str, words))} ended with {code}\n{out}\n{err}")
        return out


def commands():
    said = subprocess.run([TOOL, "--help"], capture_output=True, text=True, check=True).stdout
    return re.findall(r"^  ([a-z]+) {2,}\S", said.partition("Subcommands:")[2], re.M)


def last_pages(maker, known):
    for command in ("packet", "report"):
        if command in known:
            maker.step(command, "plan.toml")
    if "packet" in known:
        maker.step("packet", "plan.toml", "--card")


def make_demo(folder, known):
    shutil.copytree(SOURCE / "samples/ambry-valley", folder)
    for name in ("returns", "out", "season.gpkg"):  # what a run of the demo may have left beside the sources
        left = folder / name
        shutil.rmtree(left) if left.is_dir() else left.unlink(missing_ok=True)
    maker = Maker(folder)
    maker.step("run", "plan.toml")
    counted = folder / "counted/2027"
    files = sorted(p for p in counted.rglob("*") if p.suffix == ".gpx" or
                   (p.suffix == ".csv" and p.name not in ("known-densities.csv", "answers.csv")))
    maker.step("receive", "plan.toml", *files, "--today", "2027-07-20")
    maker.step("correct", "plan.toml", counted / "answers.csv", "--today", "2027-08-02")
    maker.step("estimate", "plan.toml")
    maker.step("compare", "plan.toml")
    last_pages(maker, known)


def hostile_sheet(code, name, common, window, moisture):
    sheet = (SHEET.replace('"PTUB"', toml(code)).replace('"Penstemon tubaeflorus"', toml(name))
             .replace('"white wand beardtongue"', toml(common)).replace('["05-20", "06-25"]', json.dumps(window))
             .replace("trapezoid = [5, 15, 30, 60]", f"trapezoid = {moisture}\nwhy = {toml(TEXTS['why'])}"))
    return sheet + f"""
[traits]
flower = {toml(TEXTS["trait"])}

[[look_alike]]
of = {toml(TEXTS["species"])}
tell = {toml(TEXTS["tell"])}
"""


def make_hostile(folder, known):
    folder.mkdir(parents=True)
    plan = PLAN.replace('"Test season"', toml(TEXTS["plan"])).replace('"water"', toml(TEXTS["reason"])) + f"""
[strata]
by = ["site"]

[declination]
degrees = -1.5
source = {toml(TEXTS["source"])}

[teams]
{toml(TEXTS["team"])} = ["QPR", "SKP"]

[returns]
search_from = 0.1
"""
    # An empty name and a name in the other direction are what people leave in attributes too.
    sites = [({"code": "QPR", "name": TEXTS["site"]}, square(WEST + 300, NORTH - 900, 500)),
             ({"code": "SKP", "name": TEXTS["long site"]}, square(WEST + 900, NORTH - 1500, 400)),
             ({"code": "TNY", "name": ""}, square(WEST + 1500, NORTH - 1900, 300)),
             ({"code": "WID", "name": TEXTS["unbroken site"]}, box(WEST + 300, NORTH - 1700, WEST + 700, NORTH - 1300))]
    sheets = {"ptub": hostile_sheet("PTUB", TEXTS["species"], TEXTS["common"], ["05-20", "06-25"], [5, 15, 30, 60]),
              "pten": hostile_sheet("PTEN", TEXTS["long species"], TEXTS["long common"], ["04-10", "05-31"], [1, 3, 60, 70])}
    maker = Maker(folder)
    maker.make(plan=plan, sheets=sheets, sites=sites)
    maker.step("draw", "plan.toml")
    maker.step("receive", "plan.toml", "--form", "form.csv")
    with open(folder / "form.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    for number, row in enumerate(rows):
        row.update(visit_date="2027-05-28", observer="041", certainty="sure", flowering_stems=str(number * 7 % 5),
                   count_method="counted", phase="flower", status="counted", sheet_id="0401", photos="p1.jpg",
                   notes=TEXTS["note"], entered_by=TEXTS["team"])
        if row["twice_stems"] == "":
            row["twice_stems"] = "0"
    # Notes stand only in what the tool asks about: one row is a question.
    rows[0]["flowering_stems"] = "~100"
    with open(folder / "returned.csv", "w", newline="") as file:
        out = csv.DictWriter(file, rows[0])
        out.writeheader()
        out.writerows(rows)
    maker.step("receive", "plan.toml", "returned.csv", "--today", "2027-06-20")
    maker.step("estimate", "plan.toml")
    maker.step("compare", "plan.toml")
    last_pages(maker, known)


def main():
    folder = pathlib.Path(sys.argv[1])
    shutil.rmtree(folder, ignore_errors=True)
    known = commands()
    failed = []

    def timed(name, make):
        began = time.monotonic()
        try:
            make(folder / name, known)
        except BaseException as error:  # a thread's error would otherwise only be printed
            failed.append(f"{name}: {error}")
        print(f"{time.monotonic() - began:6.1f} s  season {name}", flush=True)

    threads = [threading.Thread(target=timed, args=pair) for pair in (("demo", make_demo), ("hostile", make_hostile))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise SystemExit("\n".join(failed))
    seasons = {name: {"folder": str(folder / name), "hostile": name == "hostile"} for name in ("demo", "hostile")}
    (folder / "made.json").write_text(json.dumps({"commands": known, "seasons": seasons, "texts": TEXTS}), encoding="utf-8")


if __name__ == "__main__":
    main()
