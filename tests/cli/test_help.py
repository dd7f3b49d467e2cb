"""Every verb explains itself, and the command line's own slips end with status 2."""
import subprocess

from season import SeasonCase, TOOL

VERBS = ["new", "check", "score", "explain", "effort", "blocks", "draw", "points", "packet", "receive", "correct", "estimate", "compare", "next", "report", "run"]


class Help(SeasonCase):
    def test_every_verb_shows_two_examples_and_the_exit_statuses(self):
        _, top, _ = self.tool("--help", check=0)
        for verb in VERBS:
            self.assertIn(verb, top)
            _, out, _ = self.tool(verb, "--help", check=0)
            self.assertEqual(out.count(f"  swardline {verb} "), 2, out)
            self.assertIn("Exit status", out)
            self.assertIn("--json", out)

    def test_slips_of_the_command_line_end_with_status_2(self):
        for words in ([], ["drwa"], ["draw"], ["draw", "plan.toml", "--treads", "2"], ["explain", "plan.toml"],
                      ["points", "plan.toml", "--as", "gpz"], ["draw", "plan.toml", "--threads", "0"]):
            code, _, err = self.tool(*words)
            self.assertEqual(code, 2, words)
            self.assertTrue(err.strip(), words)

    def test_a_command_without_its_plan_shows_one_that_is_right(self):
        for verb in VERBS:
            wanted = "DIR" if verb == "new" else "PLAN"
            line = self.refused(verb, says=[f"{wanted} is required. For example: swardline {verb} ",
                                            f"More: swardline {verb} --help."], status=2)
            _, out, _ = self.tool(verb, "--help", check=0)
            self.assertIn("\n  " + line.partition("For example: ")[2].partition(". More:")[0] + "\n", out)

    def test_a_word_that_is_no_command_is_named_and_the_commands_are_listed(self):
        line = self.refused("foo", says=["'foo' is no command", *VERBS], status=2)
        self.assertNotIn("Did you mean", line)
        self.refused("drwa", "plan.toml", says="Did you mean draw?", status=2)

    def test_new_without_a_name_touches_nothing(self):
        self.make()
        before = {p: p.read_bytes() for p in self.folder.rglob("*") if p.is_file()}
        self.refused("new", "", says="swardline new my-season", status=2)
        self.refused("new", ".", says="not empty", status=4)
        self.assertEqual(before, {p: p.read_bytes() for p in self.folder.rglob("*") if p.is_file()})

    def test_version(self):
        out = subprocess.run([TOOL, "--version"], capture_output=True, text=True, check=True).stdout
        self.assertRegex(out, r"^swardline \d+\.\d+\.\d+$")

    def test_new_starts_a_folder_and_refuses_one_in_use(self):
        self.tool("new", "mine", check=0)
        made = self.folder / "mine"
        self.assertTrue((made / "plan.toml").exists())
        self.assertEqual(len(list((made / "species").glob("*.toml"))), 2)
        self.refused("new", "mine", says="mine", status=4)
