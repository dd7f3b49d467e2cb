#!/usr/bin/env bash
# The benchmark in one command: builds, makes its landscapes (kept for the next time), runs every case beside
# what it is compared with, prints one table of ratios and writes it as JSON.
#   tools/bench/run.sh [FOLDER] [--quick] [--only CASE]... [--threads N]
# FOLDER: where landscapes and results go (default build/bench). --quick: a hundredth of the ground, to try the
# benchmark itself. CASE: draw, thinning, score, maps, float, warp, mosaic, returns, packet; all of them when none is named.
# Disk at the full size: about 2 GB; --quick: about 50 MB.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
bash "$top/tests/packages.sh" tests
cmake -S "$top" --preset release >/dev/null
cmake --build "$top/build/release" -j "$(nproc)" --target swardline_tool landscape bench >/dev/null
exec /usr/bin/python3 -B "$top/tools/bench/run.py" --build "$top/build/release" "$@"
