"""What the benchmark's cases share: a landscape, one process timed, and the table of results."""

import collections
import concurrent.futures
import importlib
import json
import multiprocessing
import os
import shutil
import statistics
import subprocess
import sys
import time

RUNS = 5
CELL = 10
WEST, NORTH = 700000, 4400000
PYTHON = "/usr/bin/python3"

Ran = collections.namedtuple("Ran", "seconds memory out bytes_read")


def bytes_read(pid):
    """What the process has asked the system to read; 0 where the system does not tell."""
    try:
        with open(f"/proc/{pid}/io") as file:
            return int(dict(line.split(": ") for line in file)["rchar"])
    except (OSError, KeyError, ValueError):
        return 0


def timed(command, folder):
    """One process: wall seconds, peak memory in MB, output, bytes read. Status 1 is done, but needs a person."""
    start = time.perf_counter()
    with open(folder / "said.log", "w+") as said:
        process = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=said, text=True)
        out = process.stdout.read()
        os.waitid(os.P_PID, process.pid, os.WEXITED | os.WNOWAIT)  # over, but the system still tells of it
        seconds = time.perf_counter() - start
        read = bytes_read(process.pid)
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        if process.returncode not in (0, 1):
            sys.exit(f"{' '.join(map(str, command))} failed:\n{said.read()[-2000:]}")
    return Ran(seconds, usage.ru_maxrss / 1024, out, read)


def spent(command, folder):
    """Seconds, peak memory in MB and output of one process."""
    return timed(command, folder)[:3]


def apart(module, function, *arguments):
    """Calls the function in a process of its own. What is done with numpy is done there: a process counts as its own
    the peak memory of the one that starts it."""
    with concurrent.futures.ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        return pool.submit(call, module, function, arguments).result()


def call(module, function, arguments):
    return getattr(importlib.import_module(module), function)(*arguments)


class Bench:
    def __init__(self, folder, build, quick, threads):
        self.folder = folder
        self.tool = build / "tools/swardline/swardline"
        self.landscape = build / "tools/landscape/landscape"
        self.parts = build / "tools/bench/bench"
        self.quick = quick
        self.runs = 3 if quick else RUNS
        self.threads = threads
        self.rows = []

    def row(self, case, what, value, target="", runs=None):
        """One line of the table; a value that is not of all runs says so."""
        self.rows.append({"case": case, "what": what, "value": value, "target": target,
                          "runs": runs or self.runs})

    def make_landscape(self, side, layers, seed=7, origin=(WEST, NORTH), mosaic_block=0):
        """Tiled layers of one landscape, or with mosaic_block one block of so many cells a side that a VRT repeats;
        made once."""
        name = f"land-{side}" if seed == 7 and layers == ["cover", "moisture"] else (
            f"land-{side}-{seed}-{'-'.join(layers)}")
        land = self.folder / (f"{name}-of-{mosaic_block}" if mosaic_block else name)
        if (land / "done").exists():
            return land
        shutil.rmtree(land, ignore_errors=True)
        mosaic = ["--sparse-mosaic", "--mosaic-block", str(mosaic_block)] if mosaic_block else []
        seconds, _, _ = spent(
            [self.landscape, "--out", land, "--seed", str(seed), "--origin", f"{origin[0]},{origin[1]}", "--cell-m",
             str(CELL), "--size", f"{side},{side}", "--layers", ",".join(layers), *mosaic], self.folder)
        (land / "done").write_text(f"{seconds:.0f} s\n")
        return land

    def floor(self, season, rasters):
        """One read of the rasters' blocks that meet the season's sites."""
        return timed([self.parts, "read", "--sites", "sites.gpkg", "--rasters", ",".join(map(str, rasters)),
                      "--threads", str(self.threads)], season)

    def score(self, season, *options):
        return timed([self.tool, "score", "plan.toml", "--json", "--quiet", "--threads", str(self.threads), *options],
                     season)

    def show(self):
        width = max(len(row["what"]) for row in self.rows)
        case = None
        for row in self.rows:
            if row["case"] != case:
                case = row["case"]
                print(f"\n{case}")
            few = f"  ({row['runs']} run{'s' if row['runs'] > 1 else ''})" if row["runs"] != self.runs else ""
            print(f"  {row['what']:<{width}} {row['value']:>10.4g}  {row['target'] or 'no target'}{few}")
        result = self.folder / "bench.json"
        result.write_text(json.dumps({"cores": os.cpu_count(), "threads": self.threads, "runs": self.runs,
                                      "rows": self.rows}, indent=2) + "\n")
        print(f"\nMedians of {self.runs} runs where a row says no other number. As JSON: {result}")


def median(ran):
    """Of the seconds of several runs."""
    return statistics.median(run.seconds for run in ran)


def peak(ran):
    """Most memory of several runs, MB."""
    return max(run.memory for run in ran)
