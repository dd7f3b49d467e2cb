"""Holds what the build knows (its sources, public headers and stages) against what is in the folders."""
import pathlib
import re
import sys
import unittest

SOURCE = pathlib.Path(sys.argv[1])
LIB = SOURCE / "lib" / "swardline"
KNOWN = [line.split() for line in pathlib.Path(sys.argv[2]).read_text().splitlines()]
BUILT = {pathlib.Path(words[1]) for words in KNOWN if words[0] == "source"}
PUBLIC = {pathlib.Path(words[1]) for words in KNOWN if words[0] == "header"}
ARROWS = {words[1]: set(words[2:]) | {words[1]} for words in KNOWN if words[0] == "stage"}
HAS_TOOLS = ["tools", "yes"] in KNOWN


def included(path):
    """The names a file includes from the library, as 'stage/header.hpp'."""
    return re.findall(r'^\s*#\s*include\s*["<]swardline/([^">]+)[">]', path.read_text(), re.MULTILINE)


class Sources(unittest.TestCase):
    def test_every_source_is_built(self):
        folders = ["lib", "tests"] + (["tools"] if HAS_TOOLS else [])
        there = {path for folder in folders for path in (SOURCE / folder).rglob("*.cpp")}
        there -= set((SOURCE / "tests" / "consumer").rglob("*.cpp"))
        if not HAS_TOOLS:  # its tests are built with the tools only
            there -= set((SOURCE / "tests" / "landscape").rglob("*.cpp"))
        self.assertGreater(len(there), 10)
        self.assertEqual(sorted(there - BUILT), [], "not named in any CMakeLists.txt")

    def test_every_header_is_public_or_used_inside(self):
        # That no public header includes a private one is shown by compiling the public ones alone.
        used = {name for path in LIB.rglob("*.[ch]pp") for name in included(path)}
        for header in set(LIB.rglob("*.hpp")) - PUBLIC:
            self.assertIn(header.relative_to(LIB).as_posix(), used, "neither public nor used")

    def test_every_public_header_is_there_once(self):
        listed = [words[1] for words in KNOWN if words[0] == "header"]
        self.assertEqual(len(listed), len(set(listed)))
        for header in PUBLIC:
            self.assertTrue(header.is_file(), header)
            self.assertIn("#pragma once", header.read_text(), header)

    def test_stages_include_only_the_stages_they_may_use(self):
        stages = {path.parent.name for path in LIB.glob("*/CMakeLists.txt")}
        self.assertEqual(stages, set(ARROWS))
        for path in LIB.rglob("*.[ch]pp"):
            for name in included(path):
                self.assertIn(name.split("/")[0], ARROWS[path.parent.name], f"{path} includes {name}")

    def test_a_name_means_one_thing_in_a_namespace(self):
        # The linker keeps one of two constants, functions or types of one name without a word.
        names = {}
        for path in sorted(LIB.rglob("*.hpp")):
            namespace = ""
            for line in path.read_text().splitlines():
                if opened := re.match(r"namespace ([\w:]+) \{", line):
                    namespace = opened[1]
                named = (re.match(r"inline constexpr [\w:<>, ]+[ *](\w+)(?: =|\[|\{)", line)
                         or re.match(r"(?:struct|class|enum class) (\w+)(?: final)?(?: :.*)? \{", line))
                if named:
                    names.setdefault((namespace, named[1]), set()).add(path.name)
        self.assertGreater(len(names), 200)
        self.assertEqual({key: files for key, files in names.items() if len(files) > 1}, {})

    def test_nothing_here_names_a_machine(self):
        # A path of one person's machine in a committed file works nowhere else.
        suffixes = {".cpp", ".hpp", ".py", ".sh", ".txt", ".cmake", ".toml", ".md", ".json"}
        for folder in ("lib", "tools", "tests", "samples"):
            for path in (SOURCE / folder).rglob("*"):
                if path.suffix in suffixes and path.is_file():
                    found = re.search(r"(?<![\w.])/(home|root|work|Users)/\w", path.read_text(errors="replace"))
                    self.assertIsNone(found, f"{path}: {found and found.group()}")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
