#!/usr/bin/env python3
"""Days on which marks are forgotten: of a posted day lived a little otherwise than planned any share of the marks is
dropped, and the rest of the day is planned again. There is always a plan, both checkers pass it, and what was assumed is
said. patchy_test.py SOURCE PROGRAM [--days N] [--first N] [--rooms NAME,...] [--keep FOLDER]"""

import argparse
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import timedelta

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from plan_steps import at, plan_of, steps_of  # noqa: E402

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--days", type=int, default=12)
parser.add_argument("--first", type=int, default=1)
parser.add_argument("--rooms", default="first-day,tomorrow,damp-day,second-cabinet")
parser.add_argument("--keep", type=pathlib.Path, help="where days that end without a plan are put")
args = parser.parse_args()
QUICK = ["--budget", "8sch", "--threads", "1", "--quiet"]
failed = 0


def run(*arguments):
    return subprocess.run([args.program, *map(str, arguments)], capture_output=True, text=True, timeout=280)


def marks_of(steps, now, dice):
    """What would be marked of a day on which all is late by some minutes, the later the more, less what is forgotten."""
    slow = dice.choice((0.0, 0.05, 0.15))
    wobble = dice.choice((0, 2, 6))
    kept = dice.choice((0.0, 0.1, 0.3, 0.6, 0.9, 1.0))
    first = min(start for start, _ in steps.values())
    lines, late = [], {}
    for (tag, step, number), (start, end) in steps.items():
        name = step if number == 1 else f"{step} {number}"
        # A screen is never sooner at its next step than at the one before.
        late[tag] = max(late.get(tag, 0.0), (start - first).total_seconds() / 60 * slow + dice.random() * wobble)
        for mark, t in (("start", start), ("done", end)):
            t = (t + timedelta(minutes=late[tag])).replace(microsecond=0)
            if t <= now and dice.random() < kept:
                lines.append(f"{t.isoformat()},{mark},{tag},{name}")
    return "time,mark,what,step\n" + "\n".join(sorted(lines)) + "\n", kept


def main():
    global failed
    scratch = pathlib.Path(tempfile.mkdtemp(prefix="coatroom-patchy-"))
    days = {}
    try:
        for scenario in args.rooms.split(","):
            room = scratch / scenario
            shutil.copytree(args.source / "scenarios" / scenario, room)
            done = run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "out")
            assert done.returncode == 0, done.stderr
            days[scenario] = plan_of(scratch / "out")
        told = 0
        for number in range(args.first, args.first + args.days):
            dice = random.Random(number)
            scenario = sorted(days)[number % len(days)]
            plan = days[scenario]
            begin, end = at(plan["run"]["first_start"]), at(plan["run"]["last_end"])
            end = min(end, begin.replace(hour=16, minute=0))
            now = (begin + dice.random() * (end - begin)).replace(second=0, microsecond=0)
            room = scratch / f"day-{number}"
            shutil.copytree(scratch / scenario, room)
            text, kept = marks_of(steps_of(plan), now, dice)
            (room / "marks.csv").write_text(text)
            entered = run("mark", room, "--import", room / "marks.csv")
            assert entered.returncode == 0, entered.stderr
            done = run("plan", room, "--now", now.isoformat()[:16], *QUICK, "--on-paper", "--out", room / "again")
            what = f"day {number}: {scenario} at {now:%H:%M}, {kept:.0%} of the marks"
            good = done.returncode == 0
            if good:
                told += "ASSUMED" in done.stderr + done.stdout
                checked = run("check", room / "again" / "plan.json", "--scenario", room)
                good = checked.returncode == 0
                done = done if good else checked
            if not good:
                failed += 1
                print(f"FAILED {what}: {done.returncode} {done.stderr[-1500:]}")
                if args.keep:
                    shutil.copytree(room, args.keep / room.name, dirs_exist_ok=True)
            shutil.rmtree(room)
        print(f"{args.days} days, {failed} failed; something was assumed on {told}")
        assert told > 0 or args.days < 12, "nothing was assumed on any of them: are marks forgotten at all?"
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    return 1 if failed else 0


sys.exit(main())
