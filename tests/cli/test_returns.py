"""Counts come back: taken in, questioned, put right, and made again from the folder."""
import csv
import fcntl
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import time

from season import NORTH, PLAN, SHEET, SeasonCase, TOOL, WEST, box, square

SITES = [({"code": "QPR", "name": "Quill Prairie"}, square(WEST + 300, NORTH - 900, 500)),
         ({"code": "SKP", "name": "Skep Sand Prairie"}, square(WEST + 900, NORTH - 1500, 400)),
         # A strip: every plot meets its edge.
         ({"code": "STR", "name": "Strip"}, box(WEST + 300, NORTH - 1700, WEST + 307, NORTH - 1100))]
RETURNS_PLAN = PLAN.replace("each = 6", "each = 10") + """
[strata]
by = ["site"]

[returns.search]
QPR = ["PTUB", "PTEN"]
SKP = ["PTUB", "PTEN"]
STR = ["PTUB", "PTEN"]
"""


def sheet(code, name, window, moisture):
    return (SHEET.replace("PTUB", code).replace("Penstemon tubaeflorus", name).replace('["05-20", "06-25"]', json.dumps(window))
            .replace("[5, 15, 30, 60]", json.dumps(moisture)))


SHEETS = {"ptub": SHEET, "pten": sheet("PTEN", "Penstemon tenuis", ["04-10", "05-31"], [1, 3, 60, 70]),
          "pcob": sheet("PCOB", "Penstemon cobaea", ["04-25", "06-05"], [90, 92, 95, 99])}
TABLES = {"returns": "file", "visits": "visit", "counts": "visit, row", "flags": "number, file, row", "corrections": "rowid",
          "searched": "site, species"}


class ReturnsCase(SeasonCase):
    def setUp(self):
        super().setUp()
        self.make(plan=RETURNS_PLAN, sheets=SHEETS, sites=SITES)
        self.tool("draw", "plan.toml", check=0)
        self.plot = {r[0]: r for r in self.rows("select name, site, inside_m2, twice_m2, lat, lon, spare, \"order\" from plots")}

    def form_rows(self, plots):
        """Rows of the blank form for these plots, filled in as a careful team would."""
        self.tool("receive", "plan.toml", "--form", "form.csv", check=0)
        with open(self.folder / "form.csv", newline="") as file:
            blank = list(csv.DictReader(file))
        dice, rows = random.Random(3), []
        for number, name in enumerate(plots):
            minute = 480 + 23 * number + dice.randrange(9)
            end = minute + dice.randrange(11, 22)
            for row in (dict(r) for r in blank if r["plot"] == name):
                stems = dice.choice([0, 0, 1, 3, 7, 13, 22])
                row.update(visit_date="2027-05-28", start=f"{minute // 60 % 24:02}:{minute % 60:02}",
                           finish=f"{end // 60 % 24:02}:{end % 60:02}", observer="041", certainty="sure", flowering_stems=str(stems),
                           count_method="counted", phase="flower", fix_accuracy_m="4", status="counted", sheet_id="0401",
                           photos=f"p{number}.jpg", lat=f"{self.plot[name][4] + 1e-5:.6f}", lon=f"{self.plot[name][5]:.6f}")
                if row["twice_stems"] == "":
                    row["twice_stems"] = str(stems // 3)
                rows.append(row)
        return rows

    def planned(self, site):
        return [n for n, r in sorted(self.plot.items(), key=lambda kv: kv[1][7]) if r[1] == site and not r[6]]

    def spares(self, site):
        return [n for n, r in sorted(self.plot.items(), key=lambda kv: kv[1][7]) if r[1] == site and r[6]]

    def write(self, rows, name="north_team.csv"):
        with open(self.folder / name, "w", newline="") as file:
            out = csv.DictWriter(file, rows[0])
            out.writeheader()
            out.writerows(rows)
        return self.folder / name

    def sound(self, name="north_team.csv", site="QPR"):
        return self.write(self.form_rows(self.planned(site)), name)

    def flags(self):
        return self.rows("select number, severity, row, rows, plot, \"column\", value, reason, next_step, state from flags "
                         "order by number, row")

    def table(self, name):
        columns = [r[1] for r in self.rows(f"pragma table_info({name})") if r[1] != "fid"]
        return self.rows(f"select {', '.join(chr(34) + c + chr(34) for c in columns)} from {name} order by {TABLES[name]}")

    def tables(self):
        return {name: self.table(name) for name in TABLES}


class StorySeven(ReturnsCase):
    """Domain story 7: 60 rows, 12 planted faults."""

    def plant(self):
        """60 rows; what must be said of which rows: [(check, rows)]; and the answers."""
        plots = self.planned("QPR") + self.planned("SKP") + self.planned("STR")[:8]
        rows = self.form_rows(plots)
        rows += self.form_rows([self.spares("QPR")[1]])
        self.assertEqual(len(rows), 58)
        where = {(r["plot"], r["species"]): i for i, r in enumerate(rows)}
        q, k, s = self.planned("QPR"), self.planned("SKP"), self.planned("STR")
        said, answers = [], []

        def fault(check, at, species, answer, **cells):
            i = where[at, species]
            column, new = answer
            good = dict(rows[i])
            rows[i].update(cells)
            said.append((check, [i + 2]))
            answers.append((i + 2, column, rows[i].get(column, ""), good[column] if new is None else new))
        fault(1, q[6], "PTUB", ("plot", None), plot=q[6][:3] + q[6][4])
        fault(26, q[5], "PTUB", ("plot", None), plot="5-Mar")
        axes = rows[where[q[2], "PTUB"]]
        fault(6, q[2], "PTUB", ("lat", None), lat=axes["lon"], lon=axes["lat"])
        swapped = where[q[2], "PTUB"]
        answers.append((swapped + 2, "lon", rows[swapped]["lon"], f"{self.plot[q[2]][5]:.6f}"))
        fault(10, q[3], "PTEN", ("flowering_stems", "103"), flowering_stems="~100")
        fault(8, q[4], "PTUB", ("flowering_stems", "0"), flowering_stems="")
        fault(11, q[7], "PTUB", ("area_searched_m2", None), area_searched_m2="2")
        fault(23, k[3], "PTUB", ("status", "counted"), status="not countable (mown)", flowering_stems="0", twice_stems="0")
        fault(14, k[5], "PTEN", ("visit_date", "2027-05-24"), visit_date="2027-06-24")
        edge = min(s[:7], key=lambda name: self.plot[name][2])
        self.assertLess(self.plot[edge][2], 18)
        fault(12, edge, "PTUB", ("area_searched_m2", None), area_searched_m2="20")
        # The second spare is in use, the first is not: nothing to put right, only to be said.
        said.append((24, [where[self.spares("QPR")[1], c] + 2 for c in ("PTUB", "PTEN")]))
        # A species that scores 0 here.
        rows.append(dict(rows[where[k[7], "PTUB"]], species="PCOB", flowering_stems="2"))
        said.append((17, [len(rows) + 1]))
        answers.append((len(rows) + 1, "species", "PCOB", "PCOB"))
        # One sheet of one box, keyed twice.
        last = where[s[7], "PTUB"]
        rows[last].update(sheet_id="0412", flowering_stems="7")
        rows.append(dict(rows[last], sheet_id="0455"))
        said.append((21, [len(rows) + 1]))
        answers.append((len(rows) + 1, "row", "kept", "left out"))
        self.assertEqual(len(rows), 60)
        return rows, said, answers

    def receive(self):
        rows, said, answers = self.plant()
        given = self.write(rows)
        status, out, err = self.tool("receive", "plan.toml", given, "--today", "2027-07-01")
        self.assertEqual(status, 1, out + err)
        return rows, said, answers, given, out

    def test_twelve_flags_and_no_more(self):
        rows, said, _, given, out = self.receive()
        flags = self.flags()
        listing = "\n".join(map(str, flags))
        self.assertEqual([f[0] for f in flags], sorted(check for check, _ in said), listing)
        self.assertEqual(len(flags), 12)
        for check, expected in said:
            flag = next(f for f in flags if f[0] == check)
            named = set()
            for part in flag[3].split("; "):
                first, _, end = part.partition("–")
                named |= set(range(int(first), int(end or first) + 1))
            self.assertTrue(set(expected) <= named and len(named) <= 2, (check, expected, flag))
            self.assertTrue(flag[7] and flag[8], flag)  # a reason and a next step
        # No value is changed: the file lies there as it came, and every cell stands beside its reading.
        kept = list((self.folder / "returns").glob("*north_team.csv"))
        self.assertEqual(len(kept), 1)
        self.assertEqual(kept[0].read_bytes(), given.read_bytes())
        cells = {row: (stems, cell) for row, stems, cell in self.rows("select row, stems, stems_cell from counts")}
        self.assertEqual(len(cells), 60)
        for number, row in enumerate(rows, start=2):
            self.assertEqual(cells[number][1] or "", row["flowering_stems"])
            if row["flowering_stems"].isdigit():
                self.assertEqual(cells[number][0], int(row["flowering_stems"]))
        with open(self.folder / "out" / "flags.csv", newline="") as file:
            self.assertEqual(len(list(csv.DictReader(file))), 12)
        for name in ("unknown plot", "same sheet twice"):
            self.assertIn(name, out)

    def test_answers_replay_to_the_same_table(self):
        _, _, answers, given, _ = self.receive()
        before = given.read_bytes()
        with open(self.folder / "answers.csv", "w", newline="") as file:
            out = csv.writer(file)
            out.writerow(["row", "column", "old", "new", "who", "when", "why", "evidence"])
            for row, column, old, new in answers:
                out.writerow([row, column, old, new, "B. Coordinator", "2027-06-20", "asked the team", "sheet seen"])
        status, out, err = self.tool("correct", "plan.toml", "answers.csv", "--today", "2027-07-01")
        self.assertEqual(status, 0, out + err + "\n".join(map(str, self.flags())))
        self.assertEqual(next((self.folder / "returns").glob("*north_team.csv")).read_bytes(), before)
        self.assertEqual(len(self.table("corrections")), len(answers))
        self.assertEqual([f[0] for f in self.flags() if f[9] == "open"], [])
        self.assertEqual(self.rows("select use, count(*) from counts group by use order by use"), [("left out", 1), ("used", 59)])
        tables = self.tables()
        # The store is a product of the folder.
        (self.folder / "season.gpkg").unlink()
        status, out, err = self.tool("run", "plan.toml")
        self.assertEqual(status, 0, out + err)
        again = self.tables()
        for name, table in tables.items():
            self.assertEqual(again[name], table, name)

    def test_corrections_without_a_reason_or_of_another_value_are_refused(self):
        self.receive()
        tables = self.tables()
        head = "row,column,old,new,who,when,why,evidence\n"
        for line, says in (("3,flowering_stems,99999,5,B,2027-06-20,asked,sheet\n", ["99999"]),
                           ("3,flowering_stems,%s,5,B,2027-06-20,,sheet\n" % self.stems(3), ["why"])):
            (self.folder / "bad.csv").write_text(head + line)
            self.refused("correct", "plan.toml", "bad.csv", "--today", "2027-07-01", says=says)
        (self.folder / "bad.csv").write_text(head + f"3,flowering_stems,{self.stems(3)},5,B,2027-07-02,asked,sheet\n")
        self.refused("correct", "plan.toml", "bad.csv", "--today", "2027-07-01", says="after 2027-07-01")
        self.assertEqual(self.tables(), tables)
        self.assertFalse((self.folder / "returns" / "corrections.csv").exists())

    def stems(self, row):
        return self.rows(f"select stems_cell from counts where row = {row}")[0][0]


class Folder(ReturnsCase):
    def test_progress_the_same_file_twice_and_late_returns(self):
        given = self.sound()
        _, out, _ = self.tool("receive", "plan.toml", given, "--today", "2027-06-01", "--json", check=0)
        self.assertEqual(json.loads(out)["used"], 20)
        _, out, _ = self.tool("receive", "plan.toml", "--today", "2027-06-01", "--json", check=0)
        progress = json.loads(out)
        self.assertEqual((progress["due"], progress["counted"], progress["outstanding"]), (30, 10, 20))
        tables = self.tables()
        _, _, err = self.tool("receive", "plan.toml", given, "--today", "2027-06-02", check=0)
        self.assertIn("NOTE", err)
        self.assertEqual(self.tables(), tables)
        with sqlite3.connect(self.folder / "season.gpkg") as store:
            store.execute("insert into runs(command, schema_version) values('estimate', 3)")
        _, out, _ = self.tool("receive", "plan.toml", self.sound("late.csv", "SKP"), "--today", "2027-09-01", check=0)
        self.assertIn("version 2", out)
        self.assertEqual(self.rows("select original, version from returns order by version"), [("north_team.csv", 1), ("late.csv", 2)])

    def test_rubbish_is_one_clear_line_and_nothing_is_stored(self):
        self.tool("receive", "plan.toml", self.sound(), "--today", "2027-06-01", check=0)
        tables = self.tables()
        (self.folder / "binary.csv").write_bytes(bytes(range(256)) * 64)
        (self.folder / "ragged.csv").write_text("plot,visit_date,species,flowering_stems\nQPR01,2027-05-28\n")
        (self.folder / "other.csv").write_text("a,b\n1,2\n")
        for name in ("binary.csv", "ragged.csv", "other.csv"):
            self.refused("receive", "plan.toml", name, says=name)
        self.refused("receive", "plan.toml", "none.csv", says="none.csv", status=4)
        self.refused("receive", "plan.toml", "--today", "soon", says="--today", status=2)
        self.assertEqual(self.tables(), tables)
        self.assertEqual(len(list((self.folder / "returns").glob("2*"))), 1)
        self.assertEqual(self.leftovers(), [])

    def test_nothing_can_come_back_before_a_draw(self):
        (self.folder / "season.gpkg").unlink()
        self.refused("receive", "plan.toml", says=["no plots", "swardline draw"])

    def test_a_store_locked_by_another_program(self):
        given = self.sound()
        other = sqlite3.connect(self.folder / "season.gpkg", isolation_level=None)
        other.execute("begin immediate")
        self.refused("receive", "plan.toml", given, says=["season.gpkg", "another program", "Close"], status=4)
        other.execute("rollback")
        other.close()
        self.assertFalse(list((self.folder / "returns").glob("2*")) if (self.folder / "returns").exists() else [])
        self.tool("receive", "plan.toml", given, "--today", "2027-06-01", check=0)


class Kept(ReturnsCase):
    """What the store holds is what the folder says now; nothing is lost without a word."""

    def test_a_number_as_longitude_holds_up_nothing(self):
        rows = self.form_rows(self.planned("QPR"))
        rows[0]["lon"] = "-9602184000000000000"
        _, out, _ = self.tool("receive", "plan.toml", self.write(rows), "--today", "2027-06-01", check=1)
        self.assertIn("no such place on Earth", out)

    def test_rows_of_the_blank_form_make_no_visit(self):
        rows = self.form_rows(self.planned("QPR"))
        with open(self.folder / "form.csv", newline="") as file:
            rows += [r for r in csv.DictReader(file) if r["plot"] not in self.planned("QPR")]
        self.tool("receive", "plan.toml", self.write(rows), "--today", "2027-06-01", check=1)
        self.assertEqual(self.rows("select count(*), count(distinct plot) from visits"), [(10, 10)])
        _, out, _ = self.tool("receive", "plan.toml", "--today", "2027-06-01", "--json", check=1)
        self.assertEqual((json.loads(out)["counted"], json.loads(out)["spares_in_use"]), (10, []))

    def test_a_list_of_observers_that_changed_reaches_the_store(self):
        (self.folder / "plan.toml").write_text(RETURNS_PLAN.replace("[returns.search]",
                                                                    '[returns]\nobservers = "observers.csv"\n\n[returns.search]'))
        head = "observer,team,passed,since\n"
        (self.folder / "observers.csv").write_text(head + "041,north,PTUB,2027-04-01\n")
        self.tool("receive", "plan.toml", self.sound(), "--today", "2027-06-01", check=1)
        self.assertEqual({(f[0], f[9]) for f in self.flags()}, {(19, "open")})
        (self.folder / "observers.csv").write_text(head + "041,north,PTUB PTEN,2027-04-01\n")
        _, out, _ = self.tool("receive", "plan.toml", "--today", "2027-06-01", check=0)
        self.assertIn("Nothing is open.", out)
        self.assertEqual(self.flags(), [])
        self.assertEqual(self.rows("select distinct use from counts"), [("used",)])
        runs = self.rows("select count(*) from runs")
        self.tool("receive", "plan.toml", "--today", "2027-06-02", check=0)
        self.assertEqual(self.rows("select count(*) from runs"), runs)  # nothing changed, nothing written

    def corrected(self):
        self.tool("receive", "plan.toml", self.sound(), "--today", "2027-06-01", check=0)
        stems = self.rows("select stems_cell from counts where row = 2")[0][0]
        (self.folder / "answers.csv").write_text("row,column,old,new,who,when,why,evidence\n"
                                                 f"2,flowering_stems,{stems},77,B,2027-06-01,asked,sheet\n")
        return ["correct", "plan.toml", "answers.csv", "--today", "2027-06-01"]

    def test_a_folder_that_lost_its_returns_is_refused(self):
        self.tool(*self.corrected(), check=0)
        tables, returns = self.tables(), self.folder / "returns"
        shutil.copytree(returns, self.folder / "copy")
        late = self.sound("late.csv", "SKP")
        for lost in ([returns], [returns / "received.csv", returns / "corrections.csv"], [returns / "corrections.csv"]):
            for path in lost:
                shutil.rmtree(path) if path.is_dir() else path.unlink()
            for words in (["receive", "plan.toml"], ["receive", "plan.toml", late], ["run", "plan.toml"]):
                self.refused(*words, says=["returns/", "Put returns back from a copy", "delete season.gpkg"])
            self.assertEqual(self.tables(), tables)
            shutil.copytree(self.folder / "copy", returns, dirs_exist_ok=True)
        # The original alone is put back by giving it again.
        kept = next(returns.glob("2*"))
        kept.unlink()
        self.refused("receive", "plan.toml", says=["was received but is not there", "give north_team.csv to receive"])
        _, out, _ = self.tool("receive", "plan.toml", "north_team.csv", "--today", "2027-06-02", check=0)
        self.assertIn("Put " + kept.name + " back", out)
        self.assertEqual(self.tables(), tables)

    def test_nothing_is_added_to_corrections_beside_an_altered_copy(self):
        words = self.corrected()
        kept = next((self.folder / "returns").glob("2*"))
        kept.write_bytes(kept.read_bytes() + b"\n")
        self.refused(*words, says=["is not what was received"])
        self.assertFalse((self.folder / "returns" / "corrections.csv").exists())

    def test_a_store_behind_its_corrections_is_made_again_by_correct(self):
        words = self.corrected()
        store = (self.folder / "season.gpkg").read_bytes()
        self.tool(*words, check=0)
        tables = self.tables()
        (self.folder / "season.gpkg").write_bytes(store)  # as a run killed before the store was written leaves it
        self.assertNotEqual(self.tables(), tables)
        self.refused(*words, says="in the season's corrections already")
        self.assertEqual(self.tables(), tables)

    def test_a_busy_folder_is_refused_before_the_store_is_read(self):
        self.corrected()
        with open(self.folder / ".swardline.lock", "a+") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            (self.folder / "season.gpkg").rename(self.folder / "away.gpkg")
            for words in (["receive", "plan.toml"], ["correct", "plan.toml", "answers.csv"]):
                self.refused(*words, says="another run is working in this folder", status=4)


class Killed(ReturnsCase):
    def many(self, name, day):
        """Enough rows to be caught amid."""
        rows = self.form_rows(self.planned("QPR") + self.planned("SKP"))
        return self.write([dict(r, visit_date=f"2027-0{5 + d // 28}-{1 + d % 28:02}", sheet_id=f"{day}-{d}")
                           for d in range(day, day + 56) for r in rows for _ in range(4)], name)

    def strike(self, words, sound, moments=20):
        started = time.monotonic()
        self.assertIn(self.tool(*words)[0], (0, 1))
        whole = time.monotonic() - started
        dice = random.Random(5)
        for moment in range(moments):
            self.restore()
            process = subprocess.Popen([TOOL, *map(str, words), "--quiet"], cwd=self.folder, stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
            time.sleep(whole * (dice.random() if moment % 2 else 0.6 + 0.5 * dice.random()))
            os.kill(process.pid, signal.SIGKILL)
            process.wait()
            with sqlite3.connect(self.folder / "season.gpkg") as db:
                self.assertEqual(db.execute("pragma integrity_check").fetchone()[0], "ok")
            sound()
            # Whatever the folder holds, the next look at it brings the store up to it.
            self.assertIn(self.tool("receive", "plan.toml", "--quiet", "--today", "2027-09-01")[0], (0, 1))
            self.same_as_folder()

    def keep(self):
        self.kept = self.folder.parent / (self.folder.name + "-kept")
        shutil.copytree(self.folder, self.kept)
        self.addCleanup(shutil.rmtree, self.kept, ignore_errors=True)

    def restore(self):
        for path in self.folder.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        shutil.copytree(self.kept, self.folder, dirs_exist_ok=True)

    def same_as_folder(self):
        with open(self.folder / "returns" / "received.csv", newline="") as file:
            listed = sorted(r["file"] for r in csv.DictReader(file))
        self.assertEqual([r[0] for r in self.rows("select file from returns order by file")], listed)
        rows = sum(r[0] for r in self.rows("select rows from returns"))
        self.assertEqual(self.rows("select count(*) from counts")[0][0], rows)

    def earlier_is_there(self):
        kept = self.kept / "returns"
        for path in kept.iterdir():
            if path.name != "received.csv":
                self.assertEqual((self.folder / "returns" / path.name).read_bytes(), path.read_bytes())
        self.assertIn(self.rows("select count(*) from returns")[0][0], (1, 2))

    def test_receive(self):
        self.tool("receive", "plan.toml", self.many("first.csv", 0), "--today", "2027-09-01")
        self.many("second.csv", 56)
        self.keep()
        self.strike(["receive", "plan.toml", "second.csv", "--today", "2027-09-01"], self.earlier_is_there)

    def test_correct(self):
        self.tool("receive", "plan.toml", self.many("first.csv", 0), "--today", "2027-09-01")
        stems = self.rows("select stems_cell from counts where row = 2")[0][0]
        (self.folder / "answers.csv").write_text("row,column,old,new,who,when,why,evidence\n"
                                                 f"2,flowering_stems,{stems},77,B,2027-06-20,asked,sheet\n")
        self.keep()
        self.strike(["correct", "plan.toml", "answers.csv", "--today", "2027-09-01"], self.earlier_is_there, moments=10)
