#!/usr/bin/env bash
# Builds Coatroom if needed and runs it.
#   ./run.sh            installs what is missing, builds, plans the demo room, says where the page lies
#   ./run.sh ARGS...    builds if needed and hands ARGS to coatroom
# Exit status: coatroom's own; 3 when packages are missing and cannot be installed from here.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$top/.ci/packages.sh"

need_packages "${build_packages[@]}"

build=$top/build/run
# Tests and benchmarks are left out; a unity build halves the compiler's work on a bare machine.
if [[ ! -f $build/build.ninja ]]; then
  say "configuring"
  cmake -S "$top" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_UNITY_BUILD=ON \
    -DCOATROOM_TESTS=OFF -DCOATROOM_BENCH=OFF >"$top/build/configure.log" 2>&1 ||
    { cat "$top/build/configure.log" >&2; exit 1; }
fi
if [[ ! -x $build/coatroom ]]; then say "building (a minute or two, once)"; fi
if ! ninja -C "$build" coatroom >"$top/build/build.log" 2>&1; then
  cat "$top/build/build.log" >&2
  exit 1
fi

if (($#)); then exec "$build/coatroom" "$@"; fi
out=$top/out/tomorrow
"$build/coatroom" plan "$top/scenarios/tomorrow" --out "$out"
say "the same plan as a page: $out/plan.html"
