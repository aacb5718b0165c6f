#!/usr/bin/env python3
"""Faults while files are written: killed at every stage, no room on the disk, folders that may not
be written, two writers at once, devices in the way. Old files or new ones, never a mixture; what
was asked for is said to be missing. faults_test.py SOURCE PROGRAM [--kills N]"""

import argparse
import os
import pathlib
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--kills", type=int, default=12, help="while a plan is written")
args = parser.parse_args()
ROOM = args.source / "scenarios" / "first-day"
ASK = ["--screens", "2", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2", "--quick",
       "--replications", "19"]
RECORD = ".coatroom-written"
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


def two_writers(folder):
    out = folder / "both"
    for _ in range(3):
        both = [subprocess.Popen([args.program, *map(str, plan(s, out))], stdout=subprocess.DEVNULL,
                                 stderr=subprocess.DEVNULL) for s in (1, 2)]
        check("two writers", [p.wait() for p in both] == [0, 0], "one of two failed")
        files = contents(out)
        sets = [contents(folder / "clean1"), contents(folder / "clean2")]
        check("two writers", files in sets, "their files are mixed")


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
    shutil.copytree(ROOM, room)
    before = contents(room)
    for size in (0, 200, len(before["orders.csv"]) + 20):
        ran = run("promise", room, *ASK, "--accept", preexec_fn=small(size))
        good = ran.returncode != 0 and "not accepted" in ran.stderr and contents(room) == before
        check("disk full, accept", good, f"{size}: {ran.returncode} {ran.stderr}")
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
    two_writers(where)
    no_room(where)
    in_the_way(where)
    surroundings(where)
print("checks:", ", ".join(f"{n} {k}" for n, k in tried.items()))
sys.exit(1 if failed else 0)
