#!/usr/bin/env python3
"""Work between reading and writing grows with the input as n log n, not as its square: processor
time (not the clock's) of twice the input against once, for every kind of input that may be long.
n log n gives 2.2 at these sizes, a square 4; the start of the program is taken off. Of planned
orders four times as many: 4.9 or 16.
doubling_test.py SOURCE PROGRAM"""

import pathlib
import resource
import shutil
import subprocess
import sys
import tempfile

source, program = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
FIRST = source / "scenarios" / "first-day"
TOMORROW = source / "scenarios" / "tomorrow"
SIZE = "58 x 84 cm"
failed = []


def seconds(command):
    """Least of two runs: whatever else runs on the machine only adds."""
    least = None
    for _ in range(2):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        ran = subprocess.run([program, *map(str, command)], capture_output=True, text=True,
                             timeout=280)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        if ran.returncode not in (0, 1):
            return None, ran.stderr[-300:]
        used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        least = used if least is None else min(least, used)
    return least, ""


def room(where, name, base=TOMORROW):
    folder = where / name
    shutil.copytree(base, folder)
    return folder


def returning_frames(where, n):
    """Lines of frames that come back from the press one by one."""
    folder = room(where, f"frames{n}")
    with (folder / "frames.csv").open("a") as out:
        for i in range(n):
            out.write(f"{SIZE},120-34,inky,1,yes,,2026-11-26 {6 + i % 9:02d}:{i % 60:02d}\n")
    return ["plan", folder, "--on-paper", "--budget", "5sch", "--quiet", "--threads", "1"]


def checked_orders(where, n):
    folder = room(where, f"orders{n}", FIRST)
    text = (folder / "orders.csv").read_text().rstrip("\n").split("\n")
    head = next(i for i, l in enumerate(text) if l.startswith("order")) + 1
    rows = [l for l in text[head:] if l and l[0] not in "#,"]
    columns = text[head - 1].split(",")
    at, due, count = (columns.index(c) for c in ("order", "due", "count"))
    rows = [l for l in rows if l.split(",")[due]]
    lines = text[:head]
    for i in range(n):
        cells = rows[i % len(rows)].split(",")
        cells[at], cells[count] = f"Q{i}", "1"
        lines.append(",".join(cells))
    (folder / "orders.csv").write_text("\n".join(lines) + "\n")
    with (folder / "frames.csv").open("a") as out:
        for mesh in ("77-55", "120-34"):
            for _ in range(n // 12 + 1):
                out.write(f"{SIZE},{mesh},ready,60\n")
    return folder


def orders_read(where, n):
    return ["check", checked_orders(where, n)]


def orders_planned(where, n):
    return ["plan", checked_orders(where, n), "--on-paper", "--budget", "2sch", "--quiet",
            "--threads", "1"]


def past_orders(where, n):
    folder = room(where, f"past{n}")
    with (folder / "promises.csv").open("w") as out:
        out.write("enquiry,asked,screens,promised,ready,p50,p80,p90,p95\n")
        for i in range(n):
            out.write(f"E{i},2026-10-{1 + i % 25:02d} 10:15,4,2026-11-02 16:00,2026-11-02 14:00,"
                      "2026-11-02 12:00,2026-11-02 13:00,2026-11-02 14:00,2026-11-02 15:00\n")
    return ["promise", folder, "--backtest"]


def far_due(where, n):
    """Orders due ever later: days of calendars."""
    folder = room(where, f"far{n}", FIRST)
    path = folder / "orders.csv"
    path.write_text(path.read_text().replace("2026-11-2", f"{2026 + n}-11-2", 1))
    return ["plan", folder, "--on-paper", "--budget", "5sch", "--quiet", "--threads", "1"]


def weather(where, days):
    """Hourly air of so many days, of which each simulated day draws one."""
    folder = room(where, f"weather{days}")
    with (folder / "weather.csv").open("w") as out:
        out.write("time,temperature,humidity\n")
        for i in range(24 * days):
            out.write(f"2026-08-{1 + i // 24:02d} {i % 24:02d}:00,{18 + i % 7} °C,{50 + i % 20} %\n")
    (folder / "chance.yaml").write_text(f"weather days: {'yes' if days > 1 else 'no'}\n")
    return ["plan", folder, "--budget", "2sch", "--quiet", "--threads", "1", "--replications", "5"]


def many_days_of_air():
    """The same air comes again, and is reckoned once: a room was compiled for each day of the file,
    with the air of all of them (20 days: 33 times as long as one, now 4)."""
    name, bound = "air of 20 days", 10
    with tempfile.TemporaryDirectory() as where:
        one, wrong = seconds(weather(pathlib.Path(where), 1))
        twenty, wrong_too = seconds(weather(pathlib.Path(where), 20))
    if one is None or twenty is None:
        failed.append(name)
        print(f"FAILED {name}: {wrong} {wrong_too}")
        return
    print(f"{name}: {twenty:.2f} s, of one {one:.2f} s, ratio {twenty / one:.1f}")
    if twenty > bound * one:
        failed.append(name)
        print(f"FAILED {name}: {twenty / one:.1f} is above {bound}")


def most(name, make, n, bound, times_as_many=2):
    with tempfile.TemporaryDirectory() as where:
        where = pathlib.Path(where)
        start, _ = seconds(["--version"])
        times = []
        for size in (n, times_as_many * n):
            used, wrong = seconds(make(where, size))
            if used is None:
                failed.append(name)
                print(f"FAILED {name} {size}: {wrong}")
                return
            times.append(max(used - start, 0.005))
        ratio = times[1] / times[0]
        print(f"{name}: {n} {times[0]:.2f} s, {times_as_many * n} {times[1]:.2f} s, "
              f"ratio {ratio:.2f}")
        if ratio > bound:
            failed.append(name)
            print(f"FAILED {name}: {ratio:.2f} is above {bound}")


many_days_of_air()
most("returning frames", returning_frames, 4000, 3.2)
most("orders checked", orders_read, 1000, 3.2)
most("past promises", past_orders, 4000, 3.2)
most("years until due", far_due, 50, 3.2)
# Below that the search for a lower bound grows up to its limit of nodes, and more days are asked
# for once or twice: hence a wide step.
most("orders planned", orders_planned, 240, 10.5, 4)
sys.exit(1 if failed else 0)
