#!/usr/bin/env bash
# Builds everything with warnings as errors and runs all tests.
#   ./test.sh           all tests
#   ./test.sh ARGS...   hands ARGS to ctest (./test.sh -R checker)
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$top/.ci/packages.sh"

packages=("${build_packages[@]}" "${test_packages[@]}")
if [[ $(. /etc/os-release && echo "${ID:-}") == ubuntu ]]; then
  say "no browser package here: the tests of the pages are skipped"
  export COATROOM_NO_BROWSER=1
else
  packages+=("${browser_packages[@]}")
fi
if apt-cache show "${layout_packages[@]}" >/dev/null 2>&1; then packages+=("${layout_packages[@]}"); fi
need_packages "${packages[@]}"
cd "$top"
cmake --preset test >build/configure.log 2>&1 || { cat build/configure.log >&2; exit 1; }
say "building"
cmake --build --preset test >build/build.log 2>&1 || { grep -E 'error|FAILED' -A 12 build/build.log | cut -c1-400 >&2; exit 1; }
ctest --test-dir build/test --output-on-failure --no-tests=error -j "$(nproc)" "$@"
