#!/bin/bash
# Shards run by GNU parallel and joined give, byte for byte, what one run gives; a missing, doubled,
# foreign or broken shard is named. Arguments: source folder, program. 77: no GNU parallel here.
set -eu
root=$1 program=$2
parallel --version 2>/dev/null | grep -q '^GNU parallel' || exit 77
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export HOME=$folder  # where parallel keeps its own files
study=("$program" size "$root/scenarios/tomorrow" --change "$root/scenarios/changes/second-cabinet.yaml"
  --change "$root/scenarios/changes/fan-rack.yaml" --volumes 100,130 --days 7 --min-days 4 --effort 6
  --kinds 'usual 2, damp 1' --late-order 60 --quiet)

"${study[@]}" --no-elimination --threads 1 --out "$folder/one" --csv "$folder/one.csv" >"$folder/one.txt"
parallel --will-cite --jobs 2 --quote "${study[@]}" --threads 1 --shard {}/4 --out "$folder/part-{}.json" ::: 1 2 3 4
# In another order, and with nothing but the files.
"$program" size --merge "$folder"/part-{3,1,4,2}.json --out "$folder/joined" --csv "$folder/joined.csv" >"$folder/joined.txt"
for file in size.json size.html; do cmp "$folder/one/$file" "$folder/joined/$file"; done
cmp "$folder/one.csv" "$folder/joined.csv"
cmp "$folder/one.txt" "$folder/joined.txt"
[[ $(wc -l <"$folder/one.csv") == $((1 + 7 * 3 * 2)) ]]

refused() { # WORDS FILE...
  local words=$1 status=0
  shift
  "$program" size --merge "$@" >"$folder/out" 2>"$folder/err" || status=$?
  [[ $status == 2 ]] && grep -q -- "$words" "$folder/err" || {
    echo "expected status 2 and '$words', got $status:" && cat "$folder/err" && exit 1
  }
}
refused 'shard 2/4 is missing' "$folder"/part-{1,3,4}.json
refused 'shard 1/4 is also' "$folder"/part-{1,1,2,3,4}.json
"${study[@]}" --threads 1 --seed 2 --shard 2/4 --out "$folder/other.json"
refused 'another study' "$folder"/part-{1,3,4}.json "$folder/other.json"
head -c 3000 "$folder/part-2.json" >"$folder/short.json"
refused 'short.json' "$folder"/part-{1,3,4}.json "$folder/short.json"
refused 'cannot be read' "$folder"/part-{1,3,4}.json "$folder/none.json"
echo "4 shards of 7 days joined"
