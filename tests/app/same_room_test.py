#!/usr/bin/env python3
"""The same room written otherwise gives the same plan, through the real files and the program:
a week later, other names, other units, lines in another order, other separators and line ends.
No answer is needed for this test, only the program beside itself (metamorphic relations, Chen,
Cheung and Yiu 1998). same_room_test.py SOURCE PROGRAM"""

import datetime
import json
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile

source, program = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
DATE = re.compile(r"(?<!\d)(\d{4})-(\d{2})-(\d{2})(?!\d)")
failed = []
tried = {}


def check(name, good, words):
    tried[name] = tried.get(name, 0) + 1
    if not good:
        failed.append(name)
        print(f"FAILED {name}: {words}")


def shifted(text, days):
    def moved(m):
        return str(datetime.date(*map(int, m.groups())) + datetime.timedelta(days=days))
    return DATE.sub(moved, text)


def plan(folder, date, *more):
    ran = subprocess.run([program, "plan", folder, "--date", date, "--on-paper", "--replications",
                          "0", "--budget", "40sch", "--json", "--quiet", *more],
                         capture_output=True, text=True, timeout=240,
                         env={**os.environ, "TZ": "Europe/Berlin"})
    if ran.returncode != 0:
        return f"status {ran.returncode}: {ran.stderr[-300:]}"
    return ran.stdout


def core(text):
    """What the plan says, without the fingerprints of its files and their lines."""
    try:
        document = json.loads(text)
    except ValueError:
        return text
    for key in ("inputs", "fingerprint", "warnings"):
        document.pop(key, None)
    return json.dumps(document, sort_keys=True)


def sorted_core(text):
    """The same with every list in an order of its own: lines of the input may stand anywhere."""
    def by_content(x):
        if isinstance(x, dict):
            return {k: by_content(v) for k, v in x.items()}
        if isinstance(x, list):
            return sorted((by_content(v) for v in x), key=lambda v: json.dumps(v, sort_keys=True))
        return x
    try:
        return json.dumps(by_content(json.loads(core(text))), sort_keys=True)
    except ValueError:
        return text


def room(where, base, name):
    folder = where / f"{base}-{name}"
    shutil.copytree(source / "scenarios" / base, folder)
    return folder


def rewrite(folder, change, names=("room.yaml", "orders.csv", "frames.csv", "weather.csv")):
    for name in names:
        path = folder / name
        if path.exists():
            path.write_bytes(change(path.read_bytes().decode()).encode())


def difference(a, b):
    at = next((i for i, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    return f"...{a[max(0, at - 80):at + 80]!r}\n  instead of ...{b[max(0, at - 80):at + 80]!r}"


def a_week_later(where, base, date, want):
    # 65: over a leap day (2028-02-29); -5 and 17: over the nights when clocks in Europe change.
    for weeks in (1, 65, -5, 17):
        folder = room(where, base, f"week{weeks}")
        rewrite(folder, lambda t: shifted(t, 7 * weeks))
        got = shifted(plan(folder, shifted(date, 7 * weeks)), -7 * weeks)
        check("a week later", core(got) == core(want), difference(core(got), core(want)))


def other_names(where, base, date, want):
    folder = room(where, base, "names")
    # Of the same length and order by letter, so that columns and lists stay as they are.
    names = {"Ada": "Aja", "Ben": "Bxn", "Cleo": "Clxo"}
    change = lambda t, names=names: re.sub(r"\b(" + "|".join(names) + r")\b",
                                           lambda m: names[m.group(1)], t)
    back = {v: k for k, v in names.items()}
    rewrite(folder, change)
    got = change(plan(folder, date), back)
    check("other names", core(got) == core(want), difference(core(got), core(want)))


def other_units(where, base, date, want):
    folder = room(where, base, "units")
    def change(t):
        t = re.sub(r"(?<![\d.])(\d+) min\b(?! \d)", lambda m: f"{60 * int(m.group(1))} s", t)
        return re.sub(r"\b(\d+) x (\d+) cm\b",
                      lambda m: f"{10 * int(m.group(1))} x {10 * int(m.group(2))} mm", t)
    rewrite(folder, change)
    got = plan(folder, date)
    check("other units", core(got) == core(want), difference(core(got), core(want)))


def other_table(where, base, date, want):
    """Separators, line ends, byte-order mark, columns in another order, comments, quotes."""
    folder = room(where, base, "table")
    def change(t):
        lines = [l for l in t.split("\n") if l and not l.startswith("# ")]
        cells = [l.split(",") for l in lines]
        turn = list(range(len(cells[0])))
        random.Random(5).shuffle(turn)
        rows = [";".join('"' + row[k] + '"' if row[k] else "" for k in turn) for row in cells]
        return "\ufeff# other\r\n" + "\r\n".join(rows) + "\r\n"
    rewrite(folder, change, ("orders.csv", "frames.csv"))
    got = plan(folder, date)
    check("other table", core(got) == core(want), difference(core(got), core(want)))


def other_lines(where, base, date, want):
    """Lines of the store in another order: the same plan. Lines of the orders: no other optimum."""
    folder = room(where, base, "lines")
    def change(t):
        lines = [l for l in t.split("\n") if l]
        head = next(i for i, l in enumerate(lines) if not l.startswith("#")) + 1
        rest = lines[head:]
        random.Random(7).shuffle(rest)
        return "\n".join(lines[:head] + rest) + "\n"
    rewrite(folder, change, ("frames.csv",))
    got, want = sorted_core(plan(folder, date)), sorted_core(want)
    check("other lines of frames", got == want, difference(got, want))


with tempfile.TemporaryDirectory() as name:
    for base, date in (("first-day", "2026-11-26"), ("tomorrow", "2026-11-26"),
                       ("damp-day", "2026-11-26")):
        own = source / "scenarios" / base
        want = plan(own, date)
        check("plan", want.startswith("{"), want)
        for relation in (a_week_later, other_names, other_units, other_table, other_lines):
            relation(pathlib.Path(name), base, date, want)
print("checks:", ", ".join(f"{n} {k}" for n, k in tried.items()))
sys.exit(1 if failed else 0)
