"""The tests of the pages in a real browser: installs the packages, makes the pages, looks at them.

run.py [--keep] [CASE…]   --keep: with the pages as made last time; CASE: only these files of cases/
Ends with 77 (skipped) where the npm registry cannot be reached or the browser is missing; never where CI is set.
"""
import os
import pathlib
import shutil
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
PAGES = pathlib.Path(os.environ["SWARDLINE_PAGES"])
SKIPPED = 77


def say(began, what):
    print(f"{time.monotonic() - began:6.1f} s  {what}", flush=True)


def skip(why):
    if os.environ.get("CI"):
        print(f"FAILED: {why}. In continuous integration the pages are always tested.", flush=True)
        return 1
    print(f"SKIPPED: THE PAGES WERE NOT TESTED: {why}.", flush=True)
    return SKIPPED


def packages():
    """Into the build folder, exactly as locked; None, or what went wrong."""
    names = ("package.json", "package-lock.json", ".npmrc")
    installed = PAGES / "node_modules/.swardline-lock"
    lock = (HERE / "package-lock.json").read_text()
    if installed.is_file() and installed.read_text() == lock:
        return None
    PAGES.mkdir(parents=True, exist_ok=True)
    for name in names:
        shutil.copyfile(HERE / name, PAGES / name)
    done = subprocess.run(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"], cwd=PAGES, text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=300)
    if done.returncode:
        print(done.stdout)
        return "npm ci could not install tests/pages/package-lock.json; is the npm registry reached?"
    installed.write_text(lock)
    return None


def main():
    keep = "--keep" in sys.argv
    cases = [word for word in sys.argv[1:] if not word.startswith("--")]
    for program in ("node", "npm", "/usr/bin/chromium", "pdfinfo", "pdftotext", "pdftoppm", "zbarimg"):
        if not shutil.which(program):
            return skip(f"{program} is missing; tests/packages.sh tests installs it")
    began = time.monotonic()
    shutil.rmtree(PAGES / "screens", ignore_errors=True)
    making = None
    if not (keep and (PAGES / "made/made.json").is_file()):
        # Beside npm, which waits for the network.
        making = subprocess.Popen([sys.executable, "-B", HERE / "make_pages.py", PAGES / "made"])
    try:
        wrong = packages()
    except subprocess.TimeoutExpired:
        wrong = "npm ci took longer than five minutes"
    say(began, "packages")
    if making and making.wait():
        print("FAILED: the pages could not be made")
        return 1
    say(began, "packages and pages")
    if wrong:
        return skip(wrong)
    looked = time.monotonic()
    env = {**os.environ}
    if cases:
        env["SWARDLINE_PAGES_CASES"] = ",".join(cases)
    done = subprocess.run(["node", "--test-reporter=spec", HERE / "pages.test.mjs"], env=env)
    say(looked, f"browser; what it saw is in {PAGES / 'screens'}")
    say(began, "in all")
    return 1 if done.returncode else 0


if __name__ == "__main__":
    sys.exit(main())
