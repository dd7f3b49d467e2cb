"""Runs the benchmark's cases and prints their ratios; started by run.sh. Needs numpy and GDAL's bindings."""

import argparse
import os
import pathlib

from draw_cases import DrawCases, thinning
from measure import Bench
from score_cases import ScoreCases


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=pathlib.Path)
    parser.add_argument("--build", type=pathlib.Path, required=True)
    parser.add_argument("--quick", action="store_true", help="a hundredth of the ground")
    parser.add_argument("--threads", type=int, default=os.cpu_count())
    cases = {"draw": lambda bench: DrawCases(bench).run(), "thinning": thinning,
             "score": lambda bench: ScoreCases(bench).run()}
    parser.add_argument("--only", choices=sorted(cases))
    given = parser.parse_args()
    folder = (given.folder or given.build.parent / "bench").resolve()
    folder.mkdir(parents=True, exist_ok=True)
    bench = Bench(folder, given.build.resolve(), given.quick, given.threads)
    for name, run in cases.items():
        if given.only in (None, name):
            run(bench)
    bench.show()


main()
