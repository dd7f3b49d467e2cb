#!/usr/bin/env bash
# The Debian 12 packages this project needs, in one place. Installs those that are missing, and calls
# apt-get only then.
#   packages.sh          what building and using the tool needs
#   packages.sh tests    also what the tests need
set -euo pipefail

build=(
  g++ cmake ninja-build
  libgdal-dev libsqlite3-dev libproj-dev proj-data libgeos-dev libgeographiclib-dev
  libcli11-dev libtomlplusplus-dev libfmt-dev libboost-dev libxxhash-dev libqrencode-dev
)
tests=(
  clang-format clang-tidy
  doctest-dev libeigen3-dev
  gdal-bin python3 python3-gdal python3-numpy libxml2-utils sqlite3
  chromium fonts-liberation fonts-dejavu-core poppler-utils zbar-tools
)
# A machine may have its own Node.js, which Debian's packages would not go beside.
if ! command -v npm >/dev/null; then tests+=(npm); fi
if ! command -v node >/dev/null; then tests+=(nodejs); fi

wanted=("${build[@]}")
if [ "${1:-}" = tests ]; then wanted+=("${tests[@]}"); fi

missing=()
for package in "${wanted[@]}"; do
  state=$(dpkg-query -W -f '${Status}\n' "$package" 2>/dev/null || true)
  case $state in *'install ok installed'*) ;; *) missing+=("$package") ;; esac
done
[ "${#missing[@]}" -gt 0 ] || exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    echo "These packages are missing: ${missing[*]}. Install them as root, or install sudo, and run again." >&2
    exit 4
  fi
  # Nobody is there to type a password when the input is not a terminal.
  if [ -t 0 ]; then as_root=(sudo); else as_root=(sudo -n); fi
fi

apt() {
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q \
    -o DPkg::Lock::Timeout=300 -o Acquire::Retries=3 "$@" </dev/null
}
echo "Installing ${missing[*]}"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! { apt update && apt install -y --no-install-recommends "${missing[@]}"; } >"$log" 2>&1; then
  tail -n 30 "$log" >&2
  echo "apt-get could not install ${missing[*]}. Check the network and /etc/apt, and run again." >&2
  exit 4
fi
