"""Runs the benchmark's cases and prints their ratios; started by run.sh. Needs numpy and GDAL's bindings."""

import argparse
import os
import pathlib
import sys

sys.dont_write_bytecode = True

from draw_cases import DrawCases, thinning
from float_cases import FloatCases
from map_cases import MapCases
from measure import Bench
from mosaic_cases import MosaicCases
from packet_cases import PacketCases
from returns_cases import ReturnsCases
from score_cases import ScoreCases
from warp_cases import WarpCases

CASES = {"draw": lambda bench: DrawCases(bench).run(), "thinning": thinning,
         "score": lambda bench: ScoreCases(bench).run(), "maps": lambda bench: MapCases(bench).run(),
         "float": lambda bench: FloatCases(bench).run(), "warp": lambda bench: WarpCases(bench).run(),
         "mosaic": lambda bench: MosaicCases(bench).run(), "returns": lambda bench: ReturnsCases(bench).run(),
         "packet": lambda bench: PacketCases(bench).run()}


def main():
    parser = argparse.ArgumentParser(
        prog="run.sh", epilog="The folder takes about 2 GB of disk, with --quick about 50 MB; its landscapes are kept for "
        "the next time.")
    parser.add_argument("folder", nargs="?", type=pathlib.Path, help="for landscapes and results; default build/bench")
    parser.add_argument("--build", type=pathlib.Path, required=True, help="given by run.sh")
    parser.add_argument("--quick", action="store_true", help="a hundredth of the ground, to try the benchmark itself")
    parser.add_argument("--threads", type=int, default=os.cpu_count())
    parser.add_argument("--only", choices=sorted(CASES), action="append", help="this case; can be given again")
    given = parser.parse_args()
    folder = (given.folder or given.build.parent / "bench").resolve()
    folder.mkdir(parents=True, exist_ok=True)
    bench = Bench(folder, given.build.resolve(), given.quick, given.threads)
    for name, run in CASES.items():
        if not given.only or name in given.only:
            run(bench)
    bench.show()


if __name__ == "__main__":  # not in the processes that apart() starts
    main()
