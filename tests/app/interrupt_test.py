#!/usr/bin/env python3
"""Ctrl-C at moments of every command: "interrupted" is said, status 130, nothing false is printed,
no half-written file stays. How long the answer took is printed, and held to no clock: another
program may have the machine. interrupt_test.py SOURCE PROGRAM [--moments N]"""

import argparse
import contextlib
import fcntl
import http.client
import os
import pathlib
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import termios
import threading
import time

parser = argparse.ArgumentParser()
parser.add_argument("source", type=pathlib.Path)
parser.add_argument("program", type=pathlib.Path)
parser.add_argument("--moments", type=int, default=3, help="of each command")
args = parser.parse_args()
SCENARIOS = args.source / "scenarios"
POSTERS = ["--screens", "4", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2"]
# What only a finished answer may say.
FALSE = ["No time can be promised", "cannot keep up", "no plan exists", "no plan was found",
         "do not end", "Traceback", "fault of the program"]
failed = []
longest = {}


def check(name, good, words):
    if not good:
        failed.append(name)
        print(f"FAILED {name}: {words}")


def lies(text):
    return [words for words in FALSE if words in text]


def parts_of(folder):
    return [str(p) for p in folder.rglob("*") if ".part" in p.name or p.name.endswith(".coming")]


def interrupt(name, arguments, after, folder, sign=signal.SIGINT, finished_is_good=False):
    """Runs, interrupts after so long, and looks at what is said."""
    run = subprocess.Popen([args.program, *map(str, arguments)], stdout=subprocess.PIPE,
                           stderr=subprocess.PIPE, text=True, errors="replace")
    try:
        out, err = run.communicate(timeout=after)
        check(name, finished_is_good, f"ended before {after} s: {run.returncode} {err[-300:]}")
        return None
    except subprocess.TimeoutExpired:
        pass
    begun = time.monotonic()
    run.send_signal(sign)
    out, err = run.communicate(timeout=120)
    took = time.monotonic() - begun
    if run.returncode == -sign and not out + err and not parts_of(folder):
        return None  # the program had not begun
    if finished_is_good and run.returncode in (0, 1):
        return None  # it had answered already
    longest[name] = max(longest.get(name, 0.0), took)
    check(name, run.returncode == 130, f"status {run.returncode} after {after} s: {err[-300:]}")
    check(name, err.count("interrupted.") == 1, f"after {after} s it said: {err[-300:]}")
    check(name, not lies(out + err), f"after {after} s: {lies(out + err)}")
    check(name, not parts_of(folder), f"left behind: {parts_of(folder)}")
    return out, err


def main_commands(folder):
    tomorrow, lamp = SCENARIOS / "tomorrow", SCENARIOS / "changes" / "second-lamp.yaml"
    commands = {
        "plan": ["plan", tomorrow, "--budget", "60s", "--out", folder / "plan"],
        "plan on paper": ["plan", tomorrow, "--on-paper", "--budget", "60s"],
        "robust": ["plan", tomorrow, "--robust", "6", "--budget", "60s"],
        "what if": ["plan", tomorrow, "--what-if", "--on-paper", "--budget", "60s"],
        "what if on days": ["plan", tomorrow, "--what-if", "--budget", "20000sch"],
        "promise": ["promise", SCENARIOS / "big-day", *POSTERS, "--replications", "5000"],
        "table": ["promise", tomorrow, "--table", "--weeks", "2000"],
        "size": ["size", tomorrow, "--change", lamp, "--days", "1000000", "--indifference",
                 "0.0001", "--effort", "60", "--late-order", "60", "--out", folder / "size"],
        "shard": ["size", tomorrow, "--change", lamp, "--days", "1000000", "--shard", "1/2",
                  "--late-order", "60", "--out", folder / "shard.json"],
        "weeks": ["weeks", tomorrow, "--days", "100000"],
    }
    for name, command in commands.items():
        for k in range(args.moments):
            sign = signal.SIGTERM if k % 2 else signal.SIGINT
            said = interrupt(name, command, 0.15 + 0.9 * k, folder, sign)
            if said is None:
                continue
            out, err = said
            if name == "weeks" and out:
                check(name, "interrupted before they were enough" in out, out[:400])
            if name == "shard":
                check(name, not (folder / "shard.json").exists(), "the shard was written")
            if name == "size" and out:
                check(name, "nterrupted" in out, out[:400])


def waiting_for_the_lock(folder):
    """Whoever waits says so, and can be stopped; nothing is accepted."""
    room = folder / "room"
    shutil.copytree(SCENARIOS / "first-day", room)
    before = (room / "orders.csv").read_bytes()
    holder = subprocess.Popen(["flock", room / ".promise.lock", "sleep", "60"])
    try:
        time.sleep(0.3)
        said = interrupt("lock", ["promise", room, *POSTERS[:2], "--mesh", "43-80", "--frame",
                                  "58x84", "--coats", "2+2", "--quick", "--accept"], 1.0, folder)
        check("lock", said and "waiting until another program" in said[1], str(said))
        check("lock", (room / "orders.csv").read_bytes() == before, "orders.csv has changed")
    finally:
        holder.kill()
        holder.wait()


def promised(room):
    """Names of what the journal has promised, by another reader."""
    if not (room / "journal.sqlite").exists():
        return set()
    with contextlib.closing(sqlite3.connect(room / "journal.sqlite")) as db:
        if not db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'promise'").fetchone()[0]:
            return set()
        return {name for name, in db.execute("SELECT enquiry FROM promise")}


def accepting(folder):
    """Interrupted anywhere while it accepts: what stands in the files is what was said."""
    room = folder / "accepted"
    shutil.copytree(SCENARIOS / "first-day", room)
    for k in range(4 * args.moments):
        interrupt("accept", ["promise", room, *POSTERS[:2], "--mesh", "120/cm", "--frame", "58x84",
                             "--coats", "2+2", "--quick", "--accept", "--replications", "19"],
                  0.05 + 0.08 * k, folder, finished_is_good=True)
        orders = set(re.findall(r"^E\d+", (room / "orders.csv").read_text(), re.M))
        told = promised(room)
        check("accept", orders == told, f"orders {orders}, promises {told}")
    check("accept", not (room / ".promise.pending").exists(), "a record stays")


def board(folder):
    """A board that is ended during a question does not answer it as if it were whole."""
    for k in range(args.moments):
        run = subprocess.Popen([args.program, "board", SCENARIOS / "first-day", "--port", "0",
                                "--replications", "5000"], stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
        port = int(re.search(r":(\d+)/", run.stdout.readline()).group(1))
        answer = {}

        def ask():
            try:
                link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
                link.request("GET", "/promise?screens=4&mesh=120/cm&frame=58x84&coats=2%2B2")
                got = link.getresponse()
                answer["status"], answer["body"] = got.status, got.read().decode()
            except (OSError, http.client.HTTPException) as error:
                answer["broken"] = str(error)

        asking = threading.Thread(target=ask)
        asking.start()
        time.sleep(0.2 + 0.2 * k)
        begun = time.monotonic()
        run.send_signal(signal.SIGINT)
        _, err = run.communicate(timeout=60)
        longest["board"] = max(longest.get("board", 0.0), time.monotonic() - begun)
        asking.join(60)
        check("board", run.returncode == 0, f"status {run.returncode}: {err}")
        early = answer.get("status") == 200 and not lies(answer["body"])
        check("board", "broken" in answer or answer.get("status") == 503 or early, str(answer)[:300])
        check("board", not lies(str(answer)), str(answer)[:300])


def plans_in(folder):
    """Processes with this folder in their command."""
    found = []
    for command in pathlib.Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):  # it has ended meanwhile
            if os.fsencode(folder) in command.read_bytes():
                found.append(command.parent.name)
    return found


def board_that_plans(folder):
    """A board that is ended while a program beside it plans leaves neither that nor its files."""
    room, temporary = folder / "planned", folder / "temporary"
    shutil.copytree(SCENARIOS / "big-day", room)
    temporary.mkdir()
    subprocess.run([args.program, "plan", room, "--on-paper", "--budget", "20sch", "--quiet", "--post", "--out", room],
                   check=True, capture_output=True)
    day = re.search(r'"start": "(\d+-\d+-\d+)', (room / "plan.json").read_text()).group(1)
    for k in range(args.moments):
        run = subprocess.Popen([args.program, "board", room, "--port", "0", "--clock", day + "T08:30", "--budget", "60s",
                                "--replications", "5000"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                               env={**os.environ, "TMPDIR": str(temporary)})
        port = int(re.search(r":(\d+)/", run.stdout.readline()).group(1))
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        link.request("POST", "/again", '{"do": "plan"}', {"Content-Type": "application/json",
                                                          "Origin": f"http://127.0.0.1:{port}"})
        got = link.getresponse()
        said = got.read().decode()
        check("planning board", got.status == 200, f"{got.status} {said[:200]}")
        check("planning board", any(temporary.iterdir()), "no program plans")
        time.sleep(0.3 * k)
        # A question about a large room: the board does not end by itself at once.
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        asking.request("GET", "/promise?screens=4&mesh=120/cm&frame=58x84&coats=2%2B2")
        time.sleep(0.2)
        run.send_signal(signal.SIGINT)
        _, err = run.communicate(timeout=60)
        check("planning board", run.returncode == 0, f"status {run.returncode}: {err}")
        left = [p.name for p in temporary.iterdir()]
        check("planning board", not left, f"left behind: {left}")
        check("planning board", not plans_in(temporary), "it plans on")


def nobody_reads(folder):
    """A print that nobody takes is left at Ctrl-C, and by a second one if the first came before it."""
    out = folder / "unread"
    command = [args.program, "plan", SCENARIOS / "big-day", "--on-paper", "--json", "--quiet", "--budget"]
    for name, budget, presses, more in (("unread", "20sch", 1, []), ("unread, written", "20sch", 1, ["--out", out]),
                                        ("unread, second", "60s", 2, [])):
        run = subprocess.Popen([*command, budget, *more], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        if presses == 2:
            time.sleep(1.5)
            run.send_signal(signal.SIGINT)
        full, until = bytearray(4), time.monotonic() + 100
        before = -1
        while time.monotonic() < until:  # until the pipe takes no more
            fcntl.ioctl(run.stdout, termios.FIONREAD, full)
            now = int.from_bytes(full, sys.byteorder)
            if now == before and now >= 1 << 15:
                break
            before = now
            time.sleep(0.3)
        run.send_signal(signal.SIGINT)
        try:
            status = run.wait(timeout=30)
        except subprocess.TimeoutExpired:
            run.kill()
            status = "none: it went on"
        err = run.stderr.read()
        check(name, before >= 1 << 15 and status == 130, f"status {status} after {before} bytes: {err}")
        check(name, err.count("interrupted.") == 1, err)
        check(name, not more or ((out / "plan.json").exists() and "is written" in err), err)
        run.stdout.close()


def two_signals(folder):
    """Two at once are one press (a shell signals a program and its group); later the second ends
    the program where it is."""
    plan = [args.program, "plan", SCENARIOS / "big-day", "--budget", "60s", "--out"]
    for name, apart in ("at once", [0, 0.02]), ("later", [0, 0.02, 0.6]):
        run = subprocess.Popen([*plan, folder / name], stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
        until_plan = time.monotonic() + 3
        for wait in apart:
            time.sleep(max(0.0, until_plan + wait - time.monotonic()))
            run.send_signal(signal.SIGINT)
        _, err = run.communicate(timeout=120)
        check(name, run.returncode == 130, f"status {run.returncode}: {err[-300:]}")
        if name == "at once":
            check(name, "interrupted." in err and (folder / name / "plan.json").exists(), err[-300:])
        check(name, not parts_of(folder), f"left behind: {parts_of(folder)}")


def aborted(folder):
    """A failed assertion ends with SIGABRT: the program says what to report, and status 70."""
    run = subprocess.Popen([args.program, "plan", SCENARIOS / "tomorrow", "--budget", "60s", "--out",
                            folder / "aborted"], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                           text=True)
    time.sleep(0.5)
    run.send_signal(signal.SIGABRT)
    out, err = run.communicate(timeout=60)
    good = run.returncode == 70 and "fault of the program" in err and not out
    check("abort", good, f"{run.returncode} {err}")
    check("abort", not (folder / "aborted").exists(), "something was written")


with tempfile.TemporaryDirectory() as name:
    where = pathlib.Path(name)
    main_commands(where)
    waiting_for_the_lock(where)
    accepting(where)
    board(where)
    board_that_plans(where)
    nobody_reads(where)
    two_signals(where)
    aborted(where)
print("longest answer:", ", ".join(f"{n} {1000 * t:.0f} ms" for n, t in longest.items()))
sys.exit(1 if failed else 0)
