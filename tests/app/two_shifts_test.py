#!/usr/bin/env python3
"""A first plan that runs over the weekend is worth nothing: rooms with an early and a late shift on
a Friday, 25 orders due in the afternoon and evening, about half of the frames to be reclaimed. After
60 schedules nothing is left for Monday and few orders are late. The rooms are invented; that each
has such a plan is known from the plans that longer searches found (no source outside).
two_shifts_test.py SOURCE PROGRAM"""

import json
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile

source, program = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
DAY = "2026-11-27"  # a Friday
FULLEST = 2         # done by 21:00 where nobody walks; with 10 s a change no plan for Friday is known
MOST_LATE = 4       # of 25; longer searches have 3 in the fullest of these rooms, else 0
PEOPLE = """people:
  - {name: Ann, can: everything, shifts: Mon-Fri 06:00-14:00,
     breaks: [15 min at 09:00, 30 min between 08:30 and 10:00]}
  - {name: Bea, can: [ink off, strip, rinse, haze, abrade, degrease, wash out, inspect],
     shifts: Mon-Fri 06:00-14:00, breaks: 30 min at 10:00}
  - {name: Cem, can: everything, shifts: Mon-Fri 14:00-22:00, breaks: 30 min between 17:00 and 19:00}
  - {name: Dan, can: [ink off, strip, rinse, haze, abrade, degrease, wash out, coat, face coat],
     shifts: Mon-Fri 14:00-22:00, breaks: 30 min at 18:00}
"""
MESHES = {"120-34": ("dual-cure A", "2+2"), "77-55": ("dual-cure A", "2+2"),
          "43-80": ("photopolymer B", "1+1")}


def two_shifts(folder, seed):
    shutil.copytree(source / "scenarios" / "big-day", folder)
    text = (folder / "room.yaml").read_text()
    start, end = text.index("people:"), text.index("meshes:")
    text = text[:start] + PEOPLE + "\n" + text[end:]
    if seed == FULLEST:
        text = "walk between stations: 0 s\n" + text
    (folder / "room.yaml").write_text(text.replace("day: 2026-11-26", f"day: {DAY}"))
    dice = random.Random(seed)
    rows = ["order,job,due,priority,count,mesh,frame,emulsion,coat plan"]
    for k in range(25):
        mesh = dice.choice(list(MESHES))
        hour = dice.randrange(14, 23)
        count = dice.choice([1, 2, 2, 2, 3])
        rows.append(f"T{k + 1},invented,{DAY} {hour}:00,1,{count},{mesh},58 x 84 cm,"
                    f"{MESHES[mesh][0]},{MESHES[mesh][1]}")
    (folder / "orders.csv").write_text("\n".join(rows) + "\n")
    stock = "".join(f"58 x 84 cm,{mesh},{state},{count},no\n" for mesh in MESHES
                    for state, count in (("ready", 6), ("old stencil", 16), ("inky", 16)))
    (folder / "frames.csv").write_text("size,mesh,state,count,haze\n" + stock)


failed = []
with tempfile.TemporaryDirectory() as scratch:
    for seed in range(8):
        folder, out = pathlib.Path(scratch) / f"room{seed}", pathlib.Path(scratch) / f"out{seed}"
        two_shifts(folder, seed)
        ran = subprocess.run([program, "plan", folder, "--on-paper", "--replications", "0",
                              "--budget", "60sch", "--threads", "1", "--quiet", "--out", out],
                             capture_output=True, text=True, timeout=120)
        if ran.returncode != 0:
            failed.append(f"room {seed}: status {ran.returncode}: {ran.stderr[-300:]}")
            continue
        orders = json.loads((out / "plan.json").read_text())["orders"]
        late = [o["name"] for o in orders if o.get("lateness_s", 0) > 0]
        monday = [o["name"] for o in orders if o["ready"] >= "2026-11-28"]
        print(f"room {seed}: {len(orders)} orders, {len(late)} late, {len(monday)} after the Friday")
        if len(orders) != 25:
            failed.append(f"room {seed}: {len(orders)} of 25 orders are planned")
        if monday:
            failed.append(f"room {seed}: left for Monday: {monday}")
        if len(late) > MOST_LATE:
            failed.append(f"room {seed}: late: {late}")
for line in failed:
    print(line)
sys.exit(1 if failed else 0)
