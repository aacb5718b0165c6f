#!/usr/bin/env python3
"""The lead-time table and `weeks` are one run: the same orders, the same quantiles; a room that cannot keep up gives no
lead time and says so. lead_times_test.py SOURCE PROGRAM"""

import csv
import json
import pathlib
import subprocess
import sys
import tempfile

source, program = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
TOMORROW = source / "scenarios" / "tomorrow"
WEEKS, DAYS = 30, 150


def run(*arguments):
    return subprocess.run([program, *map(str, arguments)], capture_output=True, text=True, timeout=280)


def near(a, b, share):
    assert abs(a - b) <= share * abs(b), f"{a} and {b} differ by more than {share:.0%}"


with tempfile.TemporaryDirectory() as folder:
    # With a trace a run keeps to its days, as the table does with --weeks.
    trace = pathlib.Path(folder) / "trace"
    weeks = run("weeks", TOMORROW, "--days", DAYS, "--seed", 3, "--json", "--trace", trace)
    assert weeks.returncode == 0, weeks.stderr
    long = json.loads(weeks.stdout)
    done = run("promise", TOMORROW, "--table", "--weeks", WEEKS, "--seed", 3, "--json", "--out", folder)
    assert done.returncode == 0, done.stderr
    table = json.loads(done.stdout)
    assert table["days"] == long["days"] == DAYS, (table["days"], long["days"])
    came, out = {}, []
    for line in trace.read_text().splitlines():
        event = json.loads(line)
        if event["event"] == "order in":
            came[event["order"]] = event["t"]
        elif event["event"] == "order ready":
            out.append((event["t"], (event["t"] - came[event["order"]]) / 3600))
    # The trace is that of `weeks`: each order of the table is one of it.
    hours = sorted(h for _, h in sorted(out)[table["warm_up"]:])
    assert abs(len(hours) - table["orders"]) <= 1, (len(hours), table["orders"])
    near(table["median_h"], hours[len(hours) // 2], 0.02)
    near(table["level_h"], hours[int(0.9 * len(hours))], 0.02)
    # And what `weeks` says of half and of nine in ten of its orders is what the table says.
    near(long["turnaround_p50_s"]["mean"] / 3600, table["median_h"], 0.01)
    near(long["turnaround_p90_s"]["mean"] / 3600, table["level_h"], 0.01)
    assert sum(cell["orders"] for cell in table["cells"]) == table["orders"]
    rows = list(csv.DictReader(open(pathlib.Path(folder) / "price-list.csv")))
    assert [r["of 100"] for r in rows[:4]] == ["50", "80", "90", "95"], rows[:4]
    assert int(rows[0]["orders"]) == sum(c["orders"] for c in table["cells"] if c["screens"] == rows[0]["screens"])

    few = run("promise", TOMORROW, "--table", "--weeks", WEEKS, "--load", 50, "--json")
    assert json.loads(few.stdout)["median_h"] < table["median_h"]
    many = run("promise", TOMORROW, "--table", "--weeks", WEEKS, "--load", 170)
    assert many.returncode == 1 and "o lead time can be stated" in many.stderr, many.stderr
    assert not many.stdout, many.stdout
print("table and weeks agree")
