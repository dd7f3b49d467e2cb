#!/usr/bin/env bash
# Everything continuous integration runs, on a bare Debian 12 (root or sudo): installs what is missing,
# builds with warnings as errors, checks layout and lint, runs every test: the unit tests under the address and
# undefined-behaviour sanitizers, those of several threads under the thread sanitizer too, all others optimised.
# The last line is "N passed, N failed".
# Needs the network only while packages are missing (and for the two data packages of the layer tests).
set -euo pipefail
exec </dev/null
export LC_ALL=C.UTF-8
cd "$(dirname "${BASH_SOURCE[0]}")/.."
logs=build/logs
mkdir -p "$logs"
jobs=$(nproc)
passed=0
failed=0

finish() {
  echo "$passed passed, $failed failed"
  if [ "$failed" -gt 0 ]; then exit 1; fi
  exit 0
}

# step NAME COMMAND… : runs the command with its output in a log, which is shown when it fails.
step() {
  local name=$1 started=$SECONDS
  shift
  if "$@" >"$logs/$name.log" 2>&1; then
    echo "ok      $name ($((SECONDS - started)) s)"
    return 0
  fi
  tail -n 200 "$logs/$name.log"
  echo "FAILED  $name ($((SECONDS - started)) s)"
  return 1
}

# A check is counted; without a build there is nothing further to count.
check() { if step "$@"; then passed=$((passed + 1)); else failed=$((failed + 1)); fi; }
must() { step "$@" || { failed=$((failed + 1)); finish; }; }

sources() { find "$@" \( -name '*.cpp' -o -name '*.hpp' \) -not -path '*/build/*' -print0 | sort -z; }
layout() { sources lib tools tests | xargs -0 clang-format --dry-run -Werror; }
lint() { python3 tests/lint.py build/lint; }

# tests NAME CTEST-ARGUMENTS… : adds ctest's own numbers to the count.
tests() {
  local name=$1 summary
  shift
  ctest --output-on-failure -j "$jobs" "$@" 2>&1 | tee "$logs/$name.log" || true
  summary=$(grep -E '^[0-9]+% tests passed, [0-9]+ tests? failed out of [0-9]+' "$logs/$name.log" || true)
  if [ -z "$summary" ]; then
    failed=$((failed + 1))
    return
  fi
  local bad all
  read -r bad all < <(sed -E 's/.*passed, ([0-9]+) tests? failed out of ([0-9]+).*/\1 \2/' <<<"$summary")
  passed=$((passed + all - bad))
  failed=$((failed + bad))
}

must packages bash tests/packages.sh tests
# What is compiled most is compiled once: unit tests with sanitizers, the rest optimised.
must configure cmake --preset release -D SWARDLINE_BUILD_TESTS=ON -D SWARDLINE_BUILD_TOOLS=ON \
  -D SWARDLINE_BUILD_UNIT_TESTS=OFF -D SWARDLINE_WARNINGS_AS_ERRORS=ON
must configure-lint cmake --preset debug -B build/lint
must build cmake --build build/release -j "$jobs"
check layout layout
check lint lint
tests release --test-dir build/release

# Without the tools: the commands' tests start hundreds of processes.
must configure-sanitize cmake --preset sanitize -D SWARDLINE_BUILD_TESTS=ON -D SWARDLINE_BUILD_TOOLS=OFF \
  -D SWARDLINE_WARNINGS_AS_ERRORS=ON
must build-sanitize cmake --build build/sanitize -j "$jobs"
# Looking for leaks needs a right that some containers do not give.
if ! (echo 'int main() {}' | g++ -fsanitize=address -x c++ - -o "$logs/probe" && "$logs/probe") >/dev/null 2>&1; then
  echo "note    leaks are not looked for: this machine does not let a process watch itself"
  export ASAN_OPTIONS=detect_leaks=0
fi
export UBSAN_OPTIONS=print_stacktrace=1
tests sanitize --test-dir build/sanitize

# What scores and writes maps in several threads, on small ground.
must configure-threads cmake --preset threads -D SWARDLINE_BUILD_TESTS=ON -D SWARDLINE_BUILD_TOOLS=OFF \
  -D SWARDLINE_WARNINGS_AS_ERRORS=ON
must build-threads cmake --build --preset threads -j "$jobs"
check threads env "TSAN_OPTIONS=halt_on_error=1 suppressions=$PWD/tests/threads.supp" \
  build/threads/tests/habitat/test_habitat --test-case='*thread*'
finish
