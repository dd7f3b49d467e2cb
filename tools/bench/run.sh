#!/usr/bin/env bash
# The benchmark in one command: builds, makes its landscapes (kept for the next time), runs every case beside
# what it is compared with, prints one table of ratios and writes it as JSON.
#   tools/bench/run.sh [FOLDER] [--quick]     FOLDER: where landscapes and results go (default build/bench)
# The full size needs about 3 GB of disk; --quick is a hundredth of the ground, to try the benchmark itself;
# --only draw, thinning or score runs some of the cases.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
bash "$top/tests/packages.sh" tests
cmake -S "$top" --preset release >/dev/null
cmake --build "$top/build/release" -j "$(nproc)" --target swardline_tool landscape bench >/dev/null
exec /usr/bin/python3 -B "$top/tools/bench/run.py" --build "$top/build/release" "$@"
