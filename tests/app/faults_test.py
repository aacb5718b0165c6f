#!/usr/bin/env python3
"""Faults while files are written and orders are accepted: killed at every stage, no room on the disk,
folders that may not be written, two writers at once, devices in the way. Old files or new ones, never a
mixture; what was asked for is said to be missing. faults_test.py SOURCE PROGRAM [--kills N] [--accept-kills N]"""

import argparse
import contextlib
import hashlib
import json
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--kills", type=int, default=12, help="while a plan is written")
parser.add_argument("--accept-kills", type=int, default=24, help="while an order is accepted")
args = parser.parse_args()
ROOM = args.source / "scenarios" / "first-day"
ASK = ["--screens", "2", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2", "--quick",
       "--replications", "19"]
RECORD = ".coatroom-written"
PROMISES = "enquiry,asked,screens,promised\nA7,2026-11-24 10:15,4,2026-11-25 16:00\n"
failed = []
tried = {}


def check(name, good, words):
    tried[name] = tried.get(name, 0) + 1
    if not good:
        failed.append(name)
        print(f"FAILED {name}: {words}")


def run(*arguments, **how):
    how.setdefault("env", {**os.environ})
    return subprocess.run([args.program, *map(str, arguments)], capture_output=True, text=True,
                          errors="replace", timeout=240, **how)


def plan(seed, out):
    return ["plan", ROOM, "--on-paper", "--budget", "20sch", "--seed", seed, "--out", out,
            "--quiet", "--threads", "1"]


def contents(folder):
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())
            if not p.name.startswith(".") and ".part-" not in p.name}


def parts_of(folder):
    return [p.name for p in folder.iterdir() if ".part-" in p.name]


def killed_while_writing(folder):
    """At each number of files that lie there: whole sets only, after the next start at the latest."""
    sets = {}
    for seed in (1, 2):
        clean = folder / f"clean{seed}"
        check("kill", run(*plan(seed, clean)).returncode == 0, "no plan")
        sets[seed] = contents(clean)
    check("kill", sets[1] != sets[2], "the two plans do not differ")
    out = folder / "out"
    run(*plan(1, out))
    stages = {"parts": 0, "record": 0, "whole": 0}
    for k in range(args.kills):
        seed = 2 - k % 2
        old = contents(out)
        process = subprocess.Popen([args.program, *map(str, plan(seed, out))],
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        # Killed as soon as so many parts are there; the last ones as soon as the record is.
        wanted = k % (len(sets[1]) + 2)
        while process.poll() is None:
            if (out / RECORD).exists() or len(parts_of(out)) >= wanted > 0:
                break
        process.send_signal(signal.SIGKILL)
        process.wait()
        now = contents(out)
        if (out / RECORD).exists():
            stages["record"] += 1
        elif now == old:
            stages["parts"] += 1
        else:
            stages["whole"] += 1
            check("kill", now == sets[seed], "files of two plans without a record")
        # Whoever reads the plan next completes it.
        check("kill", run("check", out / "plan.json").returncode == 0, "the plan cannot be read")
        now = contents(out)
        check("kill", now in (sets[1], sets[2]), "files of two plans are mixed")
        check("kill", not (out / RECORD).exists(), "the record stays")
    check("kill", run(*plan(1, out)).returncode == 0, "no plan after the kills")
    check("kill", contents(out) == sets[1] and not parts_of(out), f"left: {parts_of(out)}")
    print("killed while writing:", stages)


def accepting_room(room):
    """With frames enough for many orders, and promises of earlier days."""
    shutil.copytree(ROOM, room)
    with (room / "frames.csv").open("a") as frames:
        frames.write("58 x 84 cm,120-34,ready,80\n")
    (room / "promises.csv").write_text(PROMISES)


def inputs(room):
    return {name: text for name, text in contents(room).items() if not name.startswith("journal.sqlite")}


def rows(room, sql):
    """By another reader of SQLite; what is not there yet has no rows."""
    if not (room / "journal.sqlite").exists():
        return []
    # Closed at once: a reader that stays, of a file whose log is looked at otherwise, too, loses its locks on it.
    with contextlib.closing(sqlite3.connect(room / "journal.sqlite")) as db:
        if not db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'placed'").fetchone()[0]:
            return []
        return db.execute(sql).fetchall()


def promises_of(room):
    return [name for name, in rows(room, "SELECT enquiry FROM promise ORDER BY id")]


def acceptances(room):
    """Names of accepted orders, and of those of which orders.csv may not have the line yet."""
    names = rows(room, "SELECT enquiry FROM promise JOIN acceptance ON promise.id = promise ORDER BY promise.id")
    waiting = rows(room, "SELECT promise FROM acceptance WHERE promise NOT IN (SELECT promise FROM placed)")
    return [name for name, in names], waiting


def orders_of(room):
    return re.findall(r"^(E\d+)", (room / "orders.csv").read_text(), re.M)


def killed_while_accepting(folder):
    """kill -9 at random instants from the moment on at which the first part of it lies there. Whoever comes next finds
    the order in both places or in neither; what was said to be accepted is there."""
    room = folder / "killed"
    accepting_room(room)
    dice = random.Random(5)
    said, half, kills = set(), 0, 0
    for k in range(args.accept_kills):
        process = subprocess.Popen([args.program, "promise", room, *ASK, "--accept", "--effort", "10", "--threads", "1",
                                    "--date", "2026-11-26"], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        # From the first part on; from the mark on that it is under way; when orders.csv has taken its place.
        new, pending = os.fspath(room / ".orders.csv.coming"), os.fspath(room / ".promise.pending")
        while process.poll() is None and not os.path.exists(new if k % 3 != 1 else pending):
            pass
        while process.poll() is None and k % 3 == 2 and os.path.exists(new):
            pass
        until = time.perf_counter() + dice.random() * (0.006, 0.003, 0.001)[k % 3]
        while time.perf_counter() < until:
            pass
        process.send_signal(signal.SIGKILL)
        _, err = process.communicate()
        kills += process.returncode == -signal.SIGKILL
        said |= set(re.findall(r"accepted: order (E\d+)", err))
        names, waiting = acceptances(room)
        half += names != orders_of(room) or bool(waiting)
        # Any command that reads the folder completes it.
        done = run("check", room, "--date", "2026-11-26")
        check("killed, accept", done.returncode == 0, done.stderr)
        names, waiting = acceptances(room)
        if (room / ".promise.pending").exists() or waiting:
            check("killed, accept", False, f"{k}: {names} {waiting}")
        check("killed, accept", names == orders_of(room), f"{k}: journal {names}, orders.csv {orders_of(room)}")
        check("killed, accept", len(set(names)) == len(names) and said <= set(names), f"{k}: {names}, said {said}")
        check("killed, accept", promises_of(room).count("A7") <= 1, f"{k}: promises.csv taken in twice")
        if len(names) > 6:  # so that planning stays short
            shutil.rmtree(room)
            accepting_room(room)
            said = set()
    print(f"{kills} kills while accepting, {half} between the promise and the order in its place")


def two_writers(folder):
    out = folder / "both"
    for _ in range(3):
        both = [subprocess.Popen([args.program, *map(str, plan(s, out))], stdout=subprocess.DEVNULL,
                                 stderr=subprocess.DEVNULL) for s in (1, 2)]
        check("two writers", [p.wait() for p in both] == [0, 0], "one of two failed")
        files = contents(out)
        sets = [contents(folder / "clean1"), contents(folder / "clean2")]
        check("two writers", files in sets, "their files are mixed")


def two_who_save(folder):
    """Times of two emulsions saved at once, both while somebody else has the lock: both stand in room.yaml."""
    room = folder / "saved"
    shutil.copytree(args.source / "scenarios" / "tomorrow", room)
    before = (room / "room.yaml").read_text().splitlines()
    holder = subprocess.Popen(["flock", room / ".promise.lock", "cat"], stdin=subprocess.PIPE)
    while not (room / ".promise.lock").exists():
        time.sleep(0.01)
    both = [subprocess.Popen([args.program, "dose", room, "--wedge", "--best", best, "--save", "--emulsion", emulsion],
                             stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
            for emulsion, best in (("dual-cure A", "4"), ("photopolymer B", "2"))]
    waits = [p.stderr.readline() for p in both]
    check("two who save", all("waiting until another program" in line for line in waits), str(waits))
    check("two who save", (room / "room.yaml").read_text().splitlines() == before, "one did not wait")
    holder.communicate()
    check("two who save", [p.wait() for p in both] == [0, 0], "one of two failed")
    changed = [new for old, new in zip(before, (room / "room.yaml").read_text().splitlines()) if old != new]
    check("two who save", len(changed) == 2, f"saved of two: {changed}")


def own_file_beside(folder):
    """A file of the shop's own that is called as another program would call its own, and a link so called."""
    room = folder / "own"
    accepting_room(room)
    (room / "orders.csv.new").write_text("mine")
    (room / "mine.txt").write_text("mine")
    (room / ".orders.csv.coming").symlink_to("mine.txt")
    ran = run("promise", room, *ASK, "--accept")
    check("own file", ran.returncode == 0, ran.stderr)
    check("own file", (room / "orders.csv.new").read_text() == "mine", "it was overwritten")
    check("own file", (room / "mine.txt").read_text() == "mine", "written into through a link")
    check("own file", not (room / "orders.csv").is_symlink(), "orders.csv became a link")


def orders_that_come(folder):
    """Another order while a plan is searched: the plan names the orders.csv that it was made from."""
    for after in (0.0, 0.01, 0.02, 0.05, 0.2, 0.5):  # s: before, while and after the files are read
        room = folder / f"comes{after}"
        accepting_room(room)
        before = (room / "orders.csv").read_bytes()
        later = before + b"N1,late,2026-11-27 12:00,1,120-34,58 x 84 cm,photopolymer B,1+1\n"
        (room / "next.csv").write_bytes(later)
        planning = subprocess.Popen([args.program, "plan", room, "--on-paper", "--budget", "1s",
                                     "--quiet", "--json"], stdout=subprocess.PIPE)
        time.sleep(after)
        (room / "next.csv").replace(room / "orders.csv")
        document = json.loads(planning.communicate()[0])
        has = any(order["name"] == "N1" for order in document["orders"])
        made_of = next(f["sha256"] for f in document["inputs"] if f["name"] == "orders.csv")
        want = hashlib.sha256(later if has else before).hexdigest()
        check("orders that come", made_of == want,
              f"after {after} s: the plan {'has' if has else 'lacks'} the order, its digest says otherwise")


def no_room(folder):
    """A limit on the size of files is a full disk at every write."""
    def small(size):
        return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    out = folder / "full"
    run(*plan(1, out))
    old = contents(out)
    biggest = max(len(c) for c in old.values())
    for size in (0, 1000, biggest // 2, biggest - 1):
        ran = run(*plan(2, out), preexec_fn=small(size))
        check("disk full", ran.returncode == 74, f"status {ran.returncode} {ran.stderr}")
        check("disk full", "not written" in ran.stderr, ran.stderr)
        check("disk full", "Orders" in ran.stdout, "the plan is lost")
        check("disk full", contents(out) == old and not (out / RECORD).exists(), "files changed")
    room = folder / "room"
    accepting_room(room)
    before = inputs(room)
    # A journal of some kB more than orders.csv: its first pages, its log and the shared index of the log.
    for size in (0, 200, len(before["orders.csv"]) + 20, 4096, 8192, 12288, 20000, 32768):
        ran = run("promise", room, *ASK, "--accept", preexec_fn=small(size))
        said = "not accepted" in ran.stderr or (size > 8192 and "the disk is full or fails" in ran.stderr)
        good = ran.returncode != 0 and said and inputs(room) == before
        check("disk full, accept", good and not acceptances(room)[0], f"{size}: {ran.returncode} {ran.stderr}")
        check("disk full, accept", not (room / ".orders.csv.coming").exists(), f"{size}: a part stays")
    # From a journal that is there on there is room enough at some size: accepted, or not, never half.
    for size in range(30000, 110000, 4000):
        ran = run("promise", room, *ASK, "--accept", preexec_fn=small(size))
        names, open_ = acceptances(room)
        accepted = ran.returncode == 0
        check("disk full, accept", accepted == ("accepted: order" in ran.stderr), f"{size}: {ran.returncode} {ran.stderr}")
        check("disk full, accept", names == orders_of(room) and not open_, f"{size}: {names} {orders_of(room)} {open_}")
    check("disk full, accept", acceptances(room)[0], "none was accepted")
    check("disk full, accept", promises_of(room).count("A7") == 1, "promises.csv was taken in more than once")
    for what in (["promise", room, *ASK, "--out"], ["size", ROOM, "--change", args.source /
                 "scenarios/changes/second-lamp.yaml", "--days", "3", "--min-days", "2", "--effort", "6",
                 "--quiet", "--out"]):
        there = folder / f"full-{what[0]}"
        ran = run(*what, there, preexec_fn=small(0))
        check("disk full", ran.returncode == 74 and ran.stdout, f"{ran.returncode} {ran.stderr}")
        check("disk full", not contents(there), str(contents(there).keys()))
    for shell in ("plan {r} --on-paper --budget 5sch --quiet > /dev/full",
                  "promise {r} --screens 1 --mesh 120/cm --frame 58x84 --coats 2+2 --quick > /dev/full",
                  "check {r} --json > /dev/full 2>&1; test $? -ne 70",
                  "dry {r} > /dev/full"):
        ran = subprocess.run(["bash", "-c", f"{args.program} " + shell.format(r=ROOM)],
                             capture_output=True, text=True, timeout=240)
        check("stdout full", ran.returncode in (74, 0) and ("test" in shell or ran.returncode),
              f"{shell}: {ran.returncode} {ran.stderr}")


def in_the_way(folder):
    """Devices and folders where a file should go: nothing of theirs is replaced."""
    for what in (["size", ROOM, "--change", args.source / "scenarios/changes/second-lamp.yaml",
                  "--days", "3", "--min-days", "2", "--effort", "6", "--quiet", "--csv"],):
        ran = run(*what, "/dev/full")
        check("device", ran.returncode == 74, f"{ran.returncode} {ran.stderr}")
        check("device", pathlib.Path("/dev/full").is_char_device(), "the device is gone")
        check("device", run(*what, "/dev/null").returncode == 0, "/dev/null is no place")
    out = folder / "way"
    (out / "plan.html").mkdir(parents=True)
    ran = run(*plan(1, out))
    check("folder in the way", ran.returncode == 74, f"{ran.returncode} {ran.stderr}")
    check("folder in the way", list(contents_names(out)) == ["plan.html"], str(contents_names(out)))
    blocked = folder / "file"
    blocked.write_text("mine")
    ran = run(*plan(1, blocked / "sub"))
    check("folder in the way", ran.returncode == 74 and blocked.read_text() == "mine", ran.stderr)
    link = folder / "linked"
    link.mkdir()
    (link / "plan.txt").symlink_to("elsewhere.txt")
    check("link", run(*plan(1, link)).returncode == 0 and (link / "plan.txt").is_symlink() and
          (link / "elsewhere.txt").exists(), "a link was replaced")


def contents_names(folder):
    return sorted(p.name for p in folder.iterdir())


def surroundings(folder):
    """No HOME, odd locales, no terminal, a folder that may not be written or searched."""
    want = run("plan", ROOM, "--on-paper", "--budget", "20sch", "--quiet", "--json").stdout
    for env in ({}, {"LC_ALL": "tr_TR.UTF-8"}, {"LC_ALL": "de_DE.UTF-8", "TZ": "Asia/Kolkata"},
                {"LANG": "xx", "HOME": "/nowhere", "TZ": ":/none"}, {"TERM": "dumb", "COLUMNS": "0"}):
        ran = run("plan", ROOM, "--on-paper", "--budget", "20sch", "--quiet", "--json", env=env)
        check("surroundings", ran.returncode == 0 and ran.stdout == want, f"{env}: {ran.stderr}")
    loop = folder / "loop"
    loop.mkdir()
    (loop / "room.yaml").symlink_to("room.yaml")
    for bad in (loop, folder / ("x" * 300), folder / "none", ROOM / "room.yaml", "", "/dev/null"):
        ran = run("check", bad)
        good = ran.returncode == 2 and ran.stderr and "fault of the program" not in ran.stderr
        check("unreadable", good, f"{bad}: {ran.returncode} {ran.stderr[:200]}")
    if os.geteuid() != 0:  # root may read and write everything
        locked = folder / "locked"
        shutil.copytree(ROOM, locked)
        locked.chmod(0o555)
        ran = run("promise", locked, *ASK, "--accept")
        check("read-only", ran.returncode != 0 and "ermission" in ran.stderr, ran.stderr)
        check("read-only", run(*plan(1, locked / "out")).returncode == 74, "written?")
        locked.chmod(0o755)


with tempfile.TemporaryDirectory() as name:
    where = pathlib.Path(name)
    killed_while_writing(where)
    killed_while_accepting(where)
    two_writers(where)
    two_who_save(where)
    own_file_beside(where)
    orders_that_come(where)
    no_room(where)
    in_the_way(where)
    surroundings(where)
print("checks:", ", ".join(f"{n} {k}" for n, k in tried.items()))
sys.exit(1 if failed else 0)
