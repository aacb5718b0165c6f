#!/bin/sh
# Runs one class of public instances through coatroom-bench and writes CSV.
#
#   tests/bench/run_benchmarks.sh CLASS BUDGET FOLDER [OUT.csv] [GLOB]
#
# CLASS   jsp fjsp rcpsp rcpsp-max hfs jsp-twt room
# BUDGET  30s or 50000sch
# FOLDER  holds the instance files of the class and best-known.csv (tests/data/benchmarks/CLASS is one)
# OUT     default: CLASS.csv in the present folder
# GLOB    default: all instances; e.g. 'j60_*'
#
# BUILD (default build), THREADS (default 1) and SEED (default 1) come from the environment.
set -eu
if [ $# -lt 3 ]; then
    sed -n '2,12p' "$0" >&2
    exit 2
fi
class=$1
budget=$2
folder=$3
out=${4:-$class.csv}
glob=${5:-*}
program=$(dirname "$0")/../../${BUILD:-build}/tests/bench/coatroom-bench
case $class in
rcpsp) ext=rcp ;;
rcpsp-max) ext=sch ;;
room) ext=json ;;
*) ext=txt ;;
esac
# The shell expands the pattern: file names of these sets hold no blanks.
# shellcheck disable=SC2086
exec "$program" --class "$class" --budget "$budget" --threads "${THREADS:-1}" --seed "${SEED:-1}" \
    --known "$folder/best-known.csv" "$folder"/$glob.$ext >"$out"
