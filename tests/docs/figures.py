#!/usr/bin/python3
"""Figures of docs/ and what they rest on. Each stands under a stamp, a comment of the page:

    <!-- figures: NAME
    made by: COMMAND          (or "made by hand: COMMAND"; several lines are several commands)
    rests on: SETS FOLDERS FILES
    stamp: DATE FINGERPRINT -->

The fingerprint is that of all that it rests on, code without its comments and layout. What is "made by"
commands ends with <!-- end figures --> and is written anew by `ninja docs`; what is made by hand takes longer.

    figures.py check ROOT              every table of figures has a stamp, every stamp can be read
    figures.py fresh ROOT              none that a command makes is older than what it rests on; those made by
                                       hand are named only
    figures.py remake ROOT PROGRAM [NAME...]   write what is stale, or what is named
    figures.py stamp ROOT NAME...      made by hand just now: renew the stamp
"""
import datetime
import hashlib
import json
import math
import os
import re
import shlex
import subprocess
import sys

ROOM = ["model/base", "model/room", "model/read", "model/physics", "model/route", "sched/compile", "sched/core"]
PLAN = ROOM + ["sched/engine", "sched/search"]
DAYS = PLAN + ["sched/chance", "sched/simulate", "sched/statistics"]
SETS = {
    "search": ["sched/core", "sched/engine", "sched/search"],
    "plan": PLAN,
    "days": DAYS,
    "size": DAYS + ["sched/size"],
    "promise": DAYS + ["sched/promise", "sched/advise"],
    "drying": ["model/base", "model/physics"],
    "queues": ["sched/core", "sched/engine", "sched/statistics", "sched/simulate/run_window.hpp",
               "sched/simulate/run_window.cpp", "tests/support"],
    "checks": PLAN + ["sched/check", "tests/room_judge"],
}
STAMP = re.compile(r"<!-- figures: (?P<name>[a-z0-9-]+)\n(?P<made>(?:made by(?: hand)?: .*\n)+)rests on: (?P<rests>.*)\n"
                   r"stamp: (?P<date>[0-9-]+|unknown)(?: (?P<print>[0-9a-f]{12}))? -->\n")
END = "<!-- end figures -->\n"
TOKENS = re.compile(r'"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])\'|//[^\n]*|/\*.*?\*/|\s+', re.S)


def bare(path):
    """What of a file can change a figure: code without comments and layout, else its bytes."""
    data = open(path, "rb").read()
    if not path.endswith((".cpp", ".hpp")):
        return data
    return TOKENS.sub(lambda m: m.group() if m.group()[0] in "\"'" else "", data.decode("utf-8")).encode()


def fingerprint(root, rests, seen={}):
    paths = []
    for word in rests.split():
        paths += SETS.get(word, [word])
    files = set()
    for path in paths:
        full = os.path.join(root, path)
        if os.path.isfile(full):
            files.add(full)
        assert os.path.exists(full), f"{path}: neither a set nor there"
        for folder, _, names in os.walk(full):
            files |= {os.path.join(folder, n) for n in names if not n.startswith(".") and n != "README.md"}
    digest = hashlib.sha256()
    for file in sorted(files):
        if file not in seen:
            seen[file] = hashlib.sha256(bare(file)).digest()
        digest.update(os.path.relpath(file, root).encode() + b"\0" + seen[file])
    return digest.hexdigest()[:12]


class Stamp:
    def __init__(self, doc, match):
        self.doc, self.match, self.name = doc, match, match["name"]
        self.by_hand = match["made"].startswith("made by hand")
        self.commands = [line.split(": ", 1)[1] for line in match["made"].splitlines()]

    def stale(self, root):
        return self.match["print"] != fingerprint(root, self.match["rests"])


def docs_of(root):
    for name in sorted(os.listdir(root + "/docs")):
        if name.endswith(".md"):
            yield name, open(f"{root}/docs/{name}", encoding="utf-8").read()


def stamps_of(root):
    return [Stamp(name, m) for name, text in docs_of(root) for m in STAMP.finditer(text)]


# ---- what is written: a function for each name, from the JSON of its commands ------------------------------

def half(interval):
    return (interval["high"] - interval["low"]) / 2


def percent(share):
    return f"{100 * share:.0f} %"


def one_in(share):
    """0.62 as the nearest simple fraction, in words."""
    words = "zero one two three four five six seven eight nine ten".split()
    best = min(((n, d) for d in range(2, 11) for n in range(1, d)), key=lambda f: abs(f[0] / f[1] - share) + 0.002 * f[1])
    return f"{words[best[0]]} day{'' if best[0] == 1 else 's'} in {words[best[1]]}"


def pairing(study):
    today, change = study["figures"][:2]
    paired = half(change["cost"]["to_today_interval"])
    apart = math.hypot(half(today["cost"]["interval"]), half(change["cost"]["interval"]))
    saved = 1 - (paired / apart) ** 2
    return (f"Measured on `scenarios/tomorrow` ({today['days']} days, {change['room']}): the paired difference of a day's cost\n"
            f"has a half-width of {paired:.0f}, two independent samples would have {apart:.0f}, so pairing saves {one_in(saved)}.\n")


def on_time(study):
    today = study["figures"][0]
    interval = today["on_time_interval"]
    return f"{percent(today['on_time'])} ({100 * interval['low']:.0f} to {100 * interval['high']:.0f})"


def planned_day(*studies):
    out = f"On `scenarios/tomorrow`, {studies[0]['figures'][0]['days']} days each:\n\n| each day is worked off | orders on time (95 %) |\n|---|---|\n"
    for s in studies:
        head = s["study"]
        how = f"by a plan of {head['effort']} schedules and days" if head["effort"] else f"by the rule `{head['rule']}`"
        out += f"| {how} | {on_time(s)} |\n"
    return out + "\n"


def ten_changes(study):
    head, decision = study["study"], study["decision_volume"]
    best = study["ranking"]["best"]
    p90 = next(f for f in study["figures"] if f["room"] == best and f["volume"] == decision)["turnaround_p90_h"]
    days = {r["room"]: r["days"] for r in study["ranking"]["rooms"]}
    out = [days[r["room"]] for r in study["ranking"]["rooms"] if not r["in"]]
    end = {"clear": f"clear after {days[best]} days: {best}", "days-used": "not clear", "interrupted": "interrupted"}[study["end"]]
    return (f"{len(head['rooms']) - 1} changes, {len(head['volumes'])} volumes, at least {head['least_days']} days of every room at every volume, "
            f"`scenarios/tomorrow`: {end};\nthe others are left out after {min(out)} to {max(out)} days. Its p90 turnaround of "
            f"{p90['mean']:.1f} h is known to {100 * half(p90['interval']) / p90['mean']:.1f} %.\n"
            f"In all {sum(f['days'] for f in study['figures']):,} days were simulated.\n")


WRITERS = {"pairing": pairing, "planned-day": planned_day, "ten-changes": ten_changes}


# ---- commands --------------------------------------------------------------------------------------------------

def check(root):
    wrong = []
    names = set()
    for name, text in docs_of(root):
        found = list(STAMP.finditer(text))
        if text.count("<!-- figures:") != len(found):
            wrong.append(f"docs/{name}: a stamp that cannot be read; tests/docs/figures.py says how it is written")
        for m in found:
            s = Stamp(name, m)
            if s.name in names:
                wrong.append(f"docs/{name}: two stamps are named {s.name}")
            names.add(s.name)
            if not s.by_hand and (s.name not in WRITERS or END not in text[m.end():].split("<!-- figures:")[0]):
                wrong.append(f"docs/{name}: {s.name} is made by a command, so it needs a writer in figures.py and an end")
            try:
                fingerprint(root, m["rests"])
            except AssertionError as error:
                wrong.append(f"docs/{name}: {s.name} rests on {error}")
        # A table of figures: most cells below its head hold a number, and no reader's table makes it.
        for table in re.finditer(r"(?:^\|.*\n){3,}", re.sub(r"<!-- table: .*?<!-- end -->", lambda m: "\n" * m.group().count("\n"), text, flags=re.S), re.M):
            cells = [c for row in table.group().splitlines()[2:] for c in row.strip("|").split("|")[1:]]
            figures = sum(bool(re.match(r"\s*[-+±<>≤≥]?\d[\d,. ]*", c)) for c in cells)
            if cells and figures > len(cells) / 2 and figures > 3:
                plain = re.sub(r"<!-- table: .*?<!-- end -->", lambda m: "\n" * m.group().count("\n"), text, flags=re.S)
                section = plain.rfind("\n## ", 0, table.start())
                whole_page = STAMP.search(plain, 0, plain.find("\n## ") if "\n## " in plain else len(plain))
                if not whole_page and not STAMP.search(plain, max(section, 0), table.start()):
                    line = plain.count("\n", 0, table.start()) + 1
                    wrong.append(f"docs/{name}:{line}: a table of figures without a stamp in its section")
    print("\n".join(wrong) or f"{len(names)} stamps, all tables of figures have one")
    return 1 if wrong else 0


def fresh(root):
    late = [s for s in stamps_of(root) if s.stale(root)]
    for s in late:
        if s.by_hand:
            print(f"docs/{s.doc}: {s.name} (made by hand, {s.match['date']}) is older than what it rests on. When it matters:")
            print("".join(f"    {c}\n" for c in s.commands) + f"    tests/docs/figures.py stamp . {s.name}")
    quick = [s for s in late if not s.by_hand]
    for s in quick:
        print(f"docs/{s.doc}: {s.name} is older than what it rests on ({s.match['rests']}). Remake it: ninja docs")
    if not quick:
        print("all figures that a command makes are up to date")
        return 0
    # While somebody works on the engine this is a note; in CI it is an error.
    return 1 if os.environ.get("COATROOM_FRESH") else 77


def renew(root, stamp, body=None):
    path = f"{root}/docs/{stamp.doc}"
    text = open(path, encoding="utf-8").read()
    m = next(m for m in STAMP.finditer(text) if m["name"] == stamp.name)
    head = re.sub(r"stamp: .* -->", f"stamp: {datetime.date.today()} {fingerprint(root, m['rests'])} -->", m.group())
    end = m.end()
    if body is not None:
        end = text.index(END, m.end())
        head += body
    open(path, "w", encoding="utf-8").write(text[:m.start()] + head + text[end:])


def remake(root, program, names):
    for s in stamps_of(root):
        if s.by_hand or (s.name not in names if names else not s.stale(root)):
            continue
        print(f"docs/{s.doc}: {s.name}", flush=True)
        results = []
        for command in s.commands:
            words = shlex.split(command)
            assert words[0] == "coatroom", command
            done = subprocess.run([program, *words[1:]], cwd=root, stdout=subprocess.PIPE, check=True)
            results.append(json.loads(done.stdout))
        renew(root, s, WRITERS[s.name](*results))
    return 0


def main():
    what, root, rest = sys.argv[1], sys.argv[2], sys.argv[3:]
    if what == "check":
        return check(root)
    if what == "fresh":
        return fresh(root)
    if what == "remake":
        return remake(root, os.path.abspath(rest[0]), rest[1:])
    assert what == "stamp" and rest, __doc__
    known = {s.name: s for s in stamps_of(root)}
    for name in rest:
        renew(root, known[name])
    return 0


sys.exit(main())
