#!/usr/bin/env python3
"""Every reader under libFuzzer for some time each, from a corpus of the scenarios and of tests/bad_input.

  cmake -S . -B build/fuzz -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_UNITY_BUILD=ON -DCOATROOM_FUZZ=ON
  ninja -C build/fuzz coatroom-fuzz
  tests/fuzz/campaign.py build/fuzz/tests/coatroom-fuzz [--seconds 300] [--corpus DIR] [TARGET...]

What ends the program stays in the corpus folder as crash-..., timeout-... or oom-...; the line of its target
counts them. Inputs that reach something new are kept there for the next time.
"""

import argparse
import json
import os
import pathlib
import re
import subprocess
import sys

TOP = pathlib.Path(__file__).resolve().parent.parent.parent
SCENARIOS = ["first-day", "tomorrow", "damp-day", "second-cabinet", "big-day"]
# What stands in no scenario: a line of each kind, from docs/input.md.
OWN = {
    "state.yaml": ["screens:\n  - screen: A1-1\n    in: coat\n    since: 10:00\npeople:\n  - name: Ada\n    from: 12:00\n",
                   "stations:\n  - name: exposure unit\n    until: 11:30\n"],
    "arrivals.csv": ["at,screens\n2026-11-02 09:10,2\n2026-11-02 11:00,1\n2026-11-03 08:30,4\n"],
    "promises.csv": ["order,asked,promised\nA1,2026-11-20 09:00,2026-11-21 12:00\n"],
    "enquiries.csv": ["order,screens,mesh,frame,emulsion,coats\nX1,2,77-55,58 x 84 cm,dual-cure,2+2\n"],
    "history.csv": [],
}


def seeds(target, corpus):
    texts = [p.read_bytes() for s in SCENARIOS if (p := TOP / "scenarios" / s / target).exists()]
    if target == "change.yaml":
        texts = [p.read_bytes() for p in sorted((TOP / "scenarios/changes").glob("*.yaml"))]
    if target == "answers.txt":
        texts = [p.read_bytes() for p in sorted((TOP / "scenarios/answers").glob("*.txt"))]
    if target == "history.csv":
        texts = [p.read_bytes() for s in SCENARIOS if (p := TOP / "scenarios" / s / "orders.csv").exists()]
    if target == "plan.json":
        plans = sorted((TOP / "tests").glob("**/plan.json")) + sorted((TOP / "docs").glob("**/plan*.json"))
        texts = [p.read_bytes() for p in plans if "schema" not in p.name]
    texts += [t.encode() for t in OWN.get(target, [])]
    for n, text in enumerate(texts):
        (corpus / f"seed-{n}").write_bytes(text)
    return len(texts)


def words(corpus):
    """The keys and words of the schemas, for libFuzzer to put in."""
    found = set()
    for schema in (TOP / "docs").glob("*.schema.json"):
        text = schema.read_text(encoding="utf-8")
        found |= set(re.findall(r'"([a-z][a-z_ -]{1,24})"', text))
    found |= {"min", "cm", "threads/inch", "°C", "08:00-16:00", "Mon-Fri", "2026-11-26", "1e9", "-1", "- ", ": ", "[", "{"}
    path = corpus / "words"
    path.write_text("".join(json.dumps(w, ensure_ascii=True).replace("\\u00b0", "\\xc2\\xb0") + "\n"
                            for w in sorted(found)), encoding="utf-8")
    return path


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("targets", nargs="*")
    parser.add_argument("--seconds", type=int, default=300)
    parser.add_argument("--runs", type=int, default=-1)
    parser.add_argument("--corpus", type=pathlib.Path, default=TOP / "build" / "corpus")
    args = parser.parse_args()
    targets = args.targets or ["room.yaml", "orders.csv", "frames.csv", "weather.csv", "chance.yaml", "arrivals.csv",
                               "state.yaml", "promises.csv", "enquiries.csv", "history.csv", "change.yaml",
                               "answers.txt", "plan.json"]
    bad = 0
    for target in targets:
        corpus = args.corpus / target
        inputs = corpus / "inputs"
        inputs.mkdir(parents=True, exist_ok=True)
        count = seeds(target, inputs)
        largest = 400_000 if target == "plan.json" else 40_000
        command = [str(args.program), str(inputs), f"-max_total_time={args.seconds}", f"-runs={args.runs}",
                   f"-dict={words(corpus)}", "-timeout=20", "-rss_limit_mb=1500", f"-max_len={largest}", "-seed=1",
                   f"-artifact_prefix={corpus}/", "-print_final_stats=1", "-verbosity=1"]
        done = subprocess.run(["nice", "-n", "19"] + command, capture_output=True, text=True, errors="replace",
                              env={**os.environ, "COATROOM_FUZZ_TARGET": target, "ASAN_OPTIONS": "detect_leaks=0"})
        said = done.stderr
        runs = re.search(r"number_of_executed_units: (\d+)", said)
        coverage = re.findall(r"cov: (\d+)", said)
        ends = [p.name for p in corpus.iterdir() if p.name.startswith(("crash-", "timeout-", "oom-"))]
        bad += len(ends)
        print(f"{target}: {count} seeds, {runs.group(1) if runs else '?'} runs, {coverage[-1] if coverage else '?'} "
              f"edges, {len(list(inputs.iterdir()))} inputs kept, {len(ends)} ended it {' '.join(ends)}", flush=True)
        if done.returncode != 0:
            (corpus / "last.txt").write_text(said, encoding="utf-8")
            print("    " + next((l for l in said.splitlines() if "ERROR" in l or "wrong:" in l or "Assert" in l or
                                 "runtime error" in l), said[-300:]), flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
