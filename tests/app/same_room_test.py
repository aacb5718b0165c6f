#!/usr/bin/env python3
"""The same room written otherwise gives the same plan, through the real files and the program:
a week later, other names, other units, lines in another order, other separators and line ends, a
line of n screens as n lines. Orders in another order or in two parts have what must stay the same.
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


def answer(*arguments, good=(0,)):
    ran = subprocess.run([program, *map(str, arguments)], capture_output=True, text=True,
                         timeout=240, env={**os.environ, "TZ": "Europe/Berlin"})
    if ran.returncode not in good:
        return f"\nstatus {ran.returncode}: {ran.stderr[-300:]}\n"
    return ran.stdout


def plan(folder, date, *more):
    return answer("plan", folder, "--date", date, "--on-paper", "--replications", "0", "--budget",
                  "40sch", "--json", "--quiet", *more)


def other_answers(folder, date):
    """Of the other commands, short ones. Sentences say dates in words."""
    texts = [answer("check", folder, "--date", date, "--json"),
             answer("plan", folder, "--date", date, "--now", "09:10", "--on-paper", "--budget",
                    "10sch", "--json", "--quiet"),
             answer("promise", folder, "--date", date, "--screens", 2, "--mesh", "120/cm", "--frame",
                    "58x84", "--coats", "2+2", "--effort", 10, "--replications", 19, "--json",
                    good=(0, 1)),
             answer("weeks", folder, "--days", 5, "--precision", 50, "--json"),
             answer("dry", folder, "--json")]
    text = "".join(texts).replace(str(folder), "FOLDER")
    return re.sub(r'"(sentence|fingerprint|sha256)": ?"[^"]*"', "", text)


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


def order_lines(text):
    """Headings, and the lines of each order."""
    lines = [line.split(",") for line in text.split("\n") if line and not line.startswith("#")]
    orders = {}
    for cells in lines[1:]:
        orders.setdefault(cells[0], []).append(cells)
    return lines[0], orders


def of_lines(head, lines):
    return "\n".join(",".join(cells) for cells in [head, *lines]) + "\n"


def single_screens(head, lines):
    """Each line once for every screen of it; what stands once per order stays in the first."""
    for cells in lines:
        for k in range(int(cells[head.index("count")] or 1)):
            once = [c if k == 0 or h not in ("due", "priority", "job") else ""
                    for h, c in zip(head, cells)]
            once[head.index("count")] = "1"
            yield once


def facts(text):
    """What no order of work changes: screens and what they are made on, their steps, emulsion, bounds."""
    d = json.loads(text)
    returned = {line["tag"] for line in d["returns"]}
    return {"screens": sorted((s["mesh"], s["frame"], s["emulsion"], s["coat_plan"], s["made_on"])
                              for s in d["screens"]),
            "steps": sorted(o["step"] for o in d["operations"] if o["screen"] not in returned),
            "mixed": sorted(m["volume_ml"] for m in d["mixes"]),
            "finish at the earliest": [a["bound"] for a in d["aims"] if a["criterion"] == "makespan"]}


def lateness(text):
    """Value and bound of the weighted lateness."""
    return next(((a["value"], a["bound"]) for a in json.loads(text)["aims"]
                 if a["criterion"] == "weighted-tardiness"), (0, 0))


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


def other_commands(where, base, date, want):
    want = other_answers(source / "scenarios" / base, date)
    check("other commands", not re.search(r"^status \d", want, re.M), want[:400])
    for weeks in (65, -5):
        folder = room(where, base, f"commands{weeks}")
        rewrite(folder, lambda t: shifted(t, 7 * weeks))
        got = shifted(other_answers(folder, shifted(date, 7 * weeks)), -7 * weeks)
        check("other commands", got == want, difference(got, want))


def line_a_screen(where, base, date, want):
    folder = room(where, base, "screens")
    def change(t):
        head, orders = order_lines(t)
        return of_lines(head, [x for lines in orders.values() for x in single_screens(head, lines)])
    rewrite(folder, change, ("orders.csv",))
    got, want = (re.sub(r'"line": ?\d+', "", core(x)) for x in (plan(folder, date), want))
    check("a line for each screen", got == want, difference(got, want))


def other_turn(where, base, date, want):
    """Orders in another order of lines: ties fall otherwise, so the plan may be another."""
    for seed in (1, 2):
        folder = room(where, base, f"turn{seed}")
        def change(t):
            head, orders = order_lines(t)
            turn = list(orders.values())
            random.Random(seed).shuffle(turn)
            return of_lines(head, [x for lines in turn for x in lines])
        rewrite(folder, change, ("orders.csv",))
        got = plan(folder, date)
        check("other lines of orders", got[:1] == "{" and facts(got) == facts(want), got[:300])
        check("other lines of orders", got[:1] == "{" and lateness(got)[1] <= lateness(want)[0] and
              lateness(want)[1] <= lateness(got)[0], "a bound above what the other plan reached")


def in_two_parts(where, base, date, want):
    """Every other screen of each order as an order of the same due time and priority. A plan of the
    parts is one of the whole, whose lateness is no more; that of the parts is at most twice as much."""
    folder = room(where, base, "parts")
    frames = (folder / "frames.csv").read_text()
    def change(t):
        head, orders = order_lines(t)
        out = []
        for name, lines in orders.items():
            once = {h: lines[0][head.index(h)] for h in ("due", "priority", "job") if h in head}
            for k, cells in enumerate(single_screens(head, lines)):
                if k % 2 == 1 and name not in frames:  # a kept stencil is of an order by name
                    cells = [once.get(h, c) for h, c in zip(head, cells)]
                    cells[0] = name + "b"
                out.append(cells)
        return of_lines(head, sorted(out, key=lambda cells: cells[0]))
    rewrite(folder, change, ("orders.csv",))
    got = plan(folder, date)
    check("in two parts", got[:1] == "{" and facts(got) == facts(want), got[:300])
    check("in two parts", got[:1] == "{" and lateness(want)[1] <= lateness(got)[0] and
          lateness(got)[1] <= 2 * lateness(want)[0], "a bound above what the other plan reached")


with tempfile.TemporaryDirectory() as name:
    for base, date in (("first-day", "2026-11-26"), ("tomorrow", "2026-11-26"),
                       ("damp-day", "2026-11-26")):
        own = source / "scenarios" / base
        want = plan(own, date)
        check("plan", want.startswith("{"), want)
        for relation in (a_week_later, other_names, other_units, other_table, other_lines,
                         other_commands, line_a_screen, other_turn, in_two_parts):
            relation(pathlib.Path(name), base, date, want)
print("checks:", ", ".join(f"{n} {k}" for n, k in tried.items()))
sys.exit(1 if failed else 0)
