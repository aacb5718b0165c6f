#!/usr/bin/env python3
"""Files that somebody, or something, has spoilt: bytes changed, lines lost, doubled, swapped or cut,
numbers made huge, zero or negative, words of the tables put where others belong. Every one is read
or refused with a place; none ends the program, and none keeps it for long.
mutated_test.py SOURCE PROGRAM [--inputs N] [--seed S] [--plan]"""

import argparse
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--inputs", type=int, default=25)
parser.add_argument("--seed", type=int, default=1)
parser.add_argument("--keep", type=pathlib.Path, help="folder for inputs that fail")
args = parser.parse_args()
BASES = ["first-day", "tomorrow", "damp-day", "second-cabinet"]
NUMBERS = ["0", "-1", "1e9", "1e308", "nan", "99999999999999999999", "0.0000001", "007", "1/0", ""]
rng = random.Random(args.seed)
failed = 0
ends = {}
without_place = 0


def spoil(text):
    lines = text.split("\n")
    what = rng.randrange(10)
    k = rng.randrange(len(lines))
    if what == 0 and text:  # a byte
        at = rng.randrange(len(text))
        return text[:at] + chr(rng.choice([0, 9, 10, 34, 44, 58, 91, 123, 127, 255, 0x2028])) + \
            text[at + 1:]
    if what == 1:
        del lines[k]
    elif what == 2:
        lines.insert(k, lines[k])
    elif what == 3:
        j = rng.randrange(len(lines))
        lines[k], lines[j] = lines[j], lines[k]
    elif what == 4:  # cut off
        return text[:rng.randrange(len(text) + 1)]
    elif what in (5, 6, 7):  # a number
        found = list(re.finditer(r"\d+(\.\d+)?", text))
        if found:
            m = rng.choice(found)
            return text[:m.start()] + rng.choice(NUMBERS) + text[m.end():]
    elif what == 8:  # a word from elsewhere
        found = list(re.finditer(r"[a-z][a-z ]+", text))
        if found:
            m, other = rng.choice(found), rng.choice(found)
            return text[:m.start()] + other.group(0) + text[m.end():]
    else:  # deeper
        lines[k] = "  " * rng.randrange(4) + lines[k].strip() + rng.choice(["", ":", ",", "[", "{"])
    return "\n".join(lines)


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name) / "room"
    for number in range(args.inputs):
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(args.source / "scenarios" / rng.choice(BASES), folder)
        files = [p for p in sorted(folder.iterdir()) if p.suffix in (".yaml", ".csv")]
        for _ in range(rng.choice([1, 1, 1, 2, 5])):
            path = rng.choice(files)
            path.write_bytes(spoil(path.read_text(errors="surrogateescape"))
                             .encode(errors="surrogateescape"))
        for command in (["check", folder], ["plan", folder, "--budget", "2sch", "--quiet",
                                            "--replications", "3", "--threads", "1"]):
            try:
                ran = subprocess.run([args.program, *map(str, command)], capture_output=True,
                                     timeout=60, env={**os.environ, "ASAN_OPTIONS": "detect_leaks=0"})
                status, said = ran.returncode, ran.stderr.decode(errors="replace")
            except subprocess.TimeoutExpired:
                status, said = "no end within a minute", ""
            ends[status] = ends.get(status, 0) + 1
            if status == 2 and not re.search(r"^\S.*:\d+:\d+: error", said, re.M):
                without_place += 1
            if status not in (0, 1, 2) or (status == 2 and not said):
                failed += 1
                print(f"FAILED input {number} of seed {args.seed}, {command[0]}: {status}\n{said[-600:]}")
                if args.keep:
                    shutil.copytree(folder, args.keep / f"{args.seed}-{number}", dirs_exist_ok=True)
                break
print("inputs", args.inputs, "ends", ends, "refusals without a place", without_place)
sys.exit(1 if failed else 0)
