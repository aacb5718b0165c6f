#!/usr/bin/env bash
# Builds everything with warnings as errors and runs all tests.
#   ./test.sh           all tests
#   ./test.sh ARGS...   hands ARGS to ctest (./test.sh -R checker)
#   ./test.sh --sanitize 1|2|3 [ARGS...]
#                       one third of the test programs under the address and undefined-behaviour
#                       sanitizers: all of them in three calls
#   ./test.sh --coverage [ARGS...]
#                       all tests in a build that counts lines, then the share of lines of model and
#                       of sched without app that they reach; more in build/coverage/lines.txt
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$top/.ci/packages.sh"

sanitized=() coverage=
if [[ ${1:-} == --sanitize ]]; then
  case ${2:-} in
    1) sanitized=(base read begin physics route core check compile engine search oracle) ;;
    2) sanitized=(room_judge study) ;;
    3) sanitized=(report tune journal board app) ;;
    *) echo "test.sh: --sanitize 1, 2 or 3" >&2; exit 2 ;;
  esac
  shift 2
elif [[ ${1:-} == --coverage ]]; then
  coverage=1
  shift
fi

packages=("${build_packages[@]}" "${test_packages[@]}")
if [[ $(. /etc/os-release && echo "${ID:-}") == ubuntu ]]; then
  say "no browser package here: the tests of the pages are skipped"
  export COATROOM_NO_BROWSER=1
else
  packages+=("${browser_packages[@]}")
fi
if apt-cache show "${layout_packages[@]}" >/dev/null 2>&1; then packages+=("${layout_packages[@]}"); fi
if [[ $coverage ]]; then packages+=(gcovr); fi
need_packages "${packages[@]}"
cd "$top"
if ((${#sanitized[@]})); then
  cmake --preset asan-coverage >build/configure.log 2>&1 || { cat build/configure.log >&2; exit 1; }
  say "building ${sanitized[*]} with sanitizers"
  cmake --build --preset asan-coverage --target "${sanitized[@]/#/tests_}" coatroom >build/build.log 2>&1 ||
    { grep -E 'error|FAILED' -A 12 build/build.log | cut -c1-400 >&2; exit 1; }
  # Leaks are of no matter to a program that ends; times out of the sanitizers are longer.
  export ASAN_OPTIONS=detect_leaks=0 UBSAN_OPTIONS=print_stacktrace=1
  names=$(IFS='|'; echo "${sanitized[*]}")
  exec ctest --test-dir build/asan-coverage --output-on-failure --no-tests=error --timeout 3000 -j "$(nproc)" -R "^($names):" "$@"
fi
if [[ $coverage ]]; then
  cmake --preset coverage >build/configure.log 2>&1 || { cat build/configure.log >&2; exit 1; }
  say "building, lines counted"
  cmake --build --preset coverage >build/build.log 2>&1 ||
    { grep -E 'error|FAILED' -A 12 build/build.log | cut -c1-400 >&2; exit 1; }
  find build/coverage -name '*.gcda' -delete
  failed=0
  ctest --test-dir build/coverage --output-on-failure --no-tests=error --timeout 3000 -j "$(nproc)" "$@" || failed=$?
  say "counting"
  gcovr -r . --filter model/ --filter 'sched/(?!app/)' --txt build/coverage/lines.txt --print-summary build/coverage
  exit "$failed"
fi
cmake --preset test >build/configure.log 2>&1 || { cat build/configure.log >&2; exit 1; }
say "building"
cmake --build --preset test >build/build.log 2>&1 || { grep -E 'error|FAILED' -A 12 build/build.log | cut -c1-400 >&2; exit 1; }
export COATROOM_FRESH=1  # stale figures in docs/ are an error here: ninja -C build/test docs
ctest --test-dir build/test --output-on-failure --no-tests=error -j "$(nproc)" "$@"
