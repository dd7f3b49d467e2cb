"""What the benchmark's cases share: a landscape, one process timed, and the table of results."""

import json
import os
import shutil
import subprocess
import sys
import time

RUNS = 5
CELL = 10
WEST, NORTH = 700000, 4400000


def spent(command, folder):
    """Wall seconds, peak memory in MB and output of one process; 1 means done, but something needs a person."""
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    out = process.stdout.read()
    error = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        sys.exit(f"{' '.join(map(str, command))} failed:\n{error[-2000:]}")
    return seconds, usage.ru_maxrss / 1024, out


class Bench:
    def __init__(self, folder, build, quick, threads):
        self.folder = folder
        self.tool = build / "tools/swardline/swardline"
        self.landscape = build / "tools/landscape/landscape"
        self.parts = build / "tools/bench/bench"
        self.quick = quick
        self.threads = threads
        self.rows = []

    def row(self, case, what, value, target=""):
        self.rows.append({"case": case, "what": what, "value": value, "target": target})

    def make_landscape(self, side, layers, seed=7):
        """Tiled layers of one landscape; made once."""
        land = self.folder / f"land-{side}" if seed == 7 and layers == ["cover", "moisture"] else (
            self.folder / f"land-{side}-{seed}-{'-'.join(layers)}")
        if (land / "done").exists():
            return land
        shutil.rmtree(land, ignore_errors=True)
        seconds, _, _ = spent(
            [self.landscape, "--out", land, "--seed", str(seed), "--origin", f"{WEST},{NORTH}", "--cell-m", str(CELL),
             "--size", f"{side},{side}", "--layers", ",".join(layers)], self.folder)
        (land / "done").write_text(f"{seconds:.0f} s\n")
        return land

    def show(self):
        width = max(len(row["what"]) for row in self.rows)
        case = None
        for row in self.rows:
            if row["case"] != case:
                case = row["case"]
                print(f"\n{case}")
            print(f"  {row['what']:<{width}} {row['value']:>10.4g}  {row['target']}")
        result = self.folder / "bench.json"
        result.write_text(json.dumps({"cores": os.cpu_count(), "threads": self.threads, "runs": RUNS,
                                      "rows": self.rows}, indent=2) + "\n")
        print(f"\nMedians of {RUNS} runs. As JSON: {result}")
