#!/usr/bin/python3
"""Days of marks on which a screen is made again and then one of two cabinets fails, planned again at odd minutes with a frozen window:
every plan keeps every rule, and all screens are ready the same day, since the other cabinet has room for all of them.
In two of these days held take-outs once kept the other cabinet empty until tomorrow. All of it is invented.
Arguments: source folder, program; --days N (how many; a test has four)."""
import csv
import datetime
import os
import random
import shutil
import subprocess
import sys
import tempfile

SOURCE, PROGRAM = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
sys.path.insert(0, SOURCE + "/tests/support")
import two_cabinets  # noqa: E402

FIRST = [9, 12]  # the days that went wrong
DAYS = FIRST + list(range(100, 98 + (int(sys.argv[4]) if "--days" in sys.argv else 4)))
UNATTENDED = {"dry-mesh", "dry-coat", "dry-stencil", "dry-touch-up", "put-in"}
MINUTE = datetime.timedelta(minutes=1)
time_of = datetime.datetime.fromisoformat


def run(*arguments, text=None):
    done = subprocess.run([PROGRAM, *arguments], input=text, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    return done.returncode, done.stdout


def plan(room, out, *more):
    code, said = run("plan", room, "--quiet", "--threads", "1", "--budget", "100sch", "--replications", "9", "--out", out, "--post", *more)
    assert code == 0, said
    with open(out + "/plan.csv", encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if r["order"]]
    return [r for r in rows if r["step"] not in UNATTENDED and not r["words"].startswith("let stand")], rows


def play(seed, folder):
    """@returns how many plans were made after the cabinet had failed."""
    chance = random.Random(seed)
    room, now, plans, number = folder + "/room", time_of("2026-11-26T07:00"), 0, 0
    two_cabinets.make(SOURCE, room)
    steps, _ = plan(room, folder + "/0")
    down = chance.randint(60, 120)
    remake = chance.randint(30, down)
    begun, done, waits = {}, set(), {}
    for minute in range(1, 180):
        now += MINUTE
        marks = []
        for r in steps:
            key = (r["screen"], r["step"], r["words"])
            length = max(1, round((time_of(r["work_end"]) - time_of(r["start"])) / MINUTE))
            if key not in begun and time_of(r["start"]) <= now - MINUTE * waits.setdefault(key, chance.choice([0, 0, 1, 2])):
                if r["step"] == "expose" and not r["words"].startswith("load"):
                    continue
                begun[key] = now
                marks.append(f"start {r['screen']} {r['step']} at {now:%H:%M}")
            elif key in begun and key not in done and now >= begun[key] + MINUTE * (length + (3 if r["step"] == "expose" else 0)):
                done.add(key)
                marks.append(f"done {r['screen']} {r['step']} at {now:%H:%M}")
        if minute == remake:
            marks.append(f"remake T1-1 pinhole at {now:%H:%M}")
            begun = {k: t for k, t in begun.items() if k[0] != "T1-1"}
            done = {k for k in done if k[0] != "T1-1"}
        if minute == down:
            marks.append(f"down cabinet 1 at {now:%H:%M}")
        if marks:
            run("mark", room, "-", "--by", "AD", text="\n".join(marks))
        if minute in (remake, down) or chance.random() < 0.12:
            number += 1
            steps, rows = plan(room, f"{folder}/{number}", "--now", f"{now:%Y-%m-%dT%H:%M}", "--earlier", f"{folder}/{number - 1}/plan.json", "--frozen", "10min")
            tomorrow = [(r["screen"], r["step"], r["start"], r["end"]) for r in rows if r["end"] >= "2026-11-27"]
            assert not tomorrow, (seed, f"{now:%H:%M}", tomorrow[:4])
            code, said = run("check", f"{folder}/{number}/plan.json", "--scenario", room)
            assert code == 0 and "keeps every rule" in said, said
            plans += minute >= down
        if len(done) >= 24:
            break
    assert plans > 0, "no plan was made after the cabinet had failed"
    return plans


def main():
    count = 0
    for seed in DAYS:
        folder = tempfile.mkdtemp(prefix="coatroom-cabinet-")
        try:
            count += play(seed, folder)
        finally:
            shutil.rmtree(folder)
    print(f"passed: {len(DAYS)} days, {count} plans after the cabinet had failed")


main()
