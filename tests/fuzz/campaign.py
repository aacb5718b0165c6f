#!/usr/bin/env python3
"""Every reader under libFuzzer for some time each, from a corpus of the scenarios and of requests as the pages send them.

  cmake -S . -B build/fuzz -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_UNITY_BUILD=ON -DCOATROOM_FUZZ=ON
  ninja -C build/fuzz coatroom-fuzz coatroom-fuzz-requests
  tests/fuzz/campaign.py build/fuzz/tests/coatroom-fuzz [TARGET...] [--seconds 300] [--corpus DIR] [--nice 19]
  tests/fuzz/campaign.py build/fuzz/tests/coatroom-fuzz-requests ...

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
    # What comes over the board, and marks.
    "promise.query": [
        "screens=2&mesh=77-55&frame=58+x+84+cm&emulsion=photopolymer+B&coats=2%2B2&wanted=2026-11-27T12%3A00&explain=1",
        "screens=1&mesh=120-34&frame=58x84&coats=1+1&film=2026-11-26T11:00&image=30+x+40+cm&finest-line=0.2+mm",
        "screens=6&mesh=120%2Fcm&frame=&coats=2%2B2&ruling=20+%2Fcm&kept-stencil=on&order=X1&job=shirts&priority=9",
        "screens=65&mash=77-55", "screens=1&screens=2", "screens=%ff%00&mesh=<script>alert(1)</script>"],
    "mark.json": [
        '{"marks":[{"mark":"start","what":"A1-1","step":"face-coat","round":2,"at":"2026-11-26T09:58","station":"stand",'
        '"person":"Ada","by":"AD","device":"tablet 1","client":"c-1"},'
        '{"mark":"done","what":"A1-1","step":"face-coat","round":2,"client":"c-2","device":"tablet 1"}]}',
        '{"marks":[{"mark":"remake","what":"A1-2","step":"degrease","reason":"pinhole, \\"edge\\"; so"}]}',
        '{"marks":[{"mark":"film","what":"A1","at":"2026-11-27T08:00"},{"mark":"down","what":"cabinet","reason":"fuse"},'
        '{"mark":"undo","undoes":1},{"mark":"longer","what":"Ada"},{"mark":"first","what":"A1"},{"mark":"another","what":"A1"},'
        '{"mark":"opened","what":"can 1"},{"mark":"ready","what":"A1"},{"mark":"returned","what":"58 x 84 cm 77-55"}]}',
        '{"marks":[]}', '{"marks":[{"mark":"dry","what":"A1-1"},{"mark":"posted"},{"mark":"up","what":7}]}'],
    "again.json": ['{"do":"plan"}', '{"do":"what-if","kind":"down","name":"cabinet"}', '{"do":"adopt","id":1,"by":"AD","device":"t"}',
                   '{"do":"discard","id":0}', '{"do":"undo"}', '{"do":"what-if","kind":"another","name":"A1"}', '[1]'],
    "marks.csv": [
        "time,mark,what,step,station,person,reason,by,device,entered,id,undoes\n"
        "2026-11-26T09:00:00,start,A1-1,coat,stand,Ada,,AD,tablet,2026-11-26T09:00:10,1,\n"
        "2026-11-26T09:05,done,A1-1,face-coat 2,,,,,,,2,\n2026-11-26T09:06,undo,,,,,,,,,3,2\n"
        "2026-11-26T09:07,undo,,,,,,,,,4,3\n2026-11-26T09:30,remake,A1-2,degrease,,,\"pinhole, edge\",,,,,\n",
        "time;mark;what;step\r\n2026-11-26 09:10;film;A1;\r\n2026-11-26 09:11;posted;;\r\n",
        "time,mark,what,undoes,id\n2026-11-26T10:00,undo,,2,a\n2026-11-26T10:00,undo,,a,b\n2026-11-26T10:01,opened,can 1,,\n"],
    "mark.txt": ["done A1-1 face coat 2 in stand with Ada at 09:58", "start A1-2 wash out at 2026-11-26 09:10", "undo 17", "undo",
                 "remake A1-1 pinhole from degrease at 10:00", "down cabinet fuse at 10:02", "film A1 at 2026-11-27T08:00",
                 "returned 58 x 84 cm 77-55", "opened pot 1", "ready A1", "longer Ada", "dry A1-3"],
    "knock.txt": ["GET\n/state\n127.0.0.1:8377\nhttp://127.0.0.1:8377\nsame-origin\ncors\na=1; coatroom=0123456789abcdef0123456789abcdef; b=2\n\n1",
                  "GET\n/\nlocalhost:8377\n\nnone\nnavigate\n\n0123456789abcdef0123456789abcdef\n1",
                  "POST\n/mark\nboard.example\nhttps://board.example\ncross-site\n\ncoatroom=\n\n2"],
}
REQUESTS = ["promise.query", "mark.json", "again.json", "marks.csv", "mark.txt", "knock.txt", "hangs.json"]


def seeds(target, corpus):
    texts = [p.read_bytes() for s in SCENARIOS if (p := TOP / "scenarios" / s / target).exists()]
    if target == "change.yaml":
        texts = [p.read_bytes() for p in sorted((TOP / "scenarios/changes").glob("*.yaml"))]
    if target == "answers.txt":
        texts = [p.read_bytes() for p in sorted((TOP / "scenarios/answers").glob("*.txt"))]
    if target == "history.csv":
        texts = [p.read_bytes() for s in SCENARIOS if (p := TOP / "scenarios" / s / "orders.csv").exists()]
    if target in ("plan.json", "hangs.json"):
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
    # Names of marks, of members of a mark and of parameters; escapes of addresses and of JSON.
    found |= {"start", "done", "dry", "remake", "down", "up", "absent", "present", "film", "returned", "opened", "empty", "ready",
              "longer", "first", "another", "undo", "posted", "marks", "what", "step", "round", "at", "station", "person", "reason",
              "by", "device", "client", "undoes", "what-if", "adopt", "discard", "kind", "name", "face-coat", "wash-out", "A1-1",
              "screens=", "&mesh=", "&wanted=", "finest-line", "kept-stencil", "coatroom=", "%2B", "%00", "%ff", "\\u0000",
              " in ", " with ", " from ", " at 10:00"}
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
    parser.add_argument("--nice", type=int, default=19)
    parser.add_argument("--corpus", type=pathlib.Path, default=TOP / "build" / "corpus")
    args = parser.parse_args()
    requests = args.program.name.endswith("requests")
    targets = args.targets or REQUESTS if requests else args.targets or ["room.yaml", "orders.csv", "frames.csv", "weather.csv", "chance.yaml", "arrivals.csv",
                               "state.yaml", "promises.csv", "enquiries.csv", "history.csv", "change.yaml",
                               "answers.txt", "plan.json"]
    bad = 0
    for target in targets:
        corpus = args.corpus / target
        inputs = corpus / "inputs"
        inputs.mkdir(parents=True, exist_ok=True)
        count = seeds(target, inputs)
        largest = 400_000 if target in ("plan.json", "hangs.json") else 40_000
        command = [str(args.program), str(inputs), f"-max_total_time={args.seconds}", f"-runs={args.runs}",
                   f"-dict={words(corpus)}", "-timeout=20", "-rss_limit_mb=1500", f"-max_len={largest}", "-seed=1",
                   f"-artifact_prefix={corpus}/", "-print_final_stats=1", "-verbosity=1"]
        done = subprocess.run(["nice", "-n", str(args.nice)] + command, capture_output=True, text=True, errors="replace",
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
