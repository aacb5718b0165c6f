#!/usr/bin/python3
"""What the program writes conforms to the schemas of docs/, by the library python3-jsonschema: plans of the demo rooms,
planned again at midday, and promises. The golden documents are one room; these have ways, pots, batches, cabinets.
written_schema_test.py SOURCE PROGRAM"""

import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

source, program = pathlib.Path(sys.argv[1]), sys.argv[2]


def run(*arguments):
    done = subprocess.run([program, *map(str, arguments)], capture_output=True, text=True, timeout=250)
    assert done.returncode == 0, (arguments, done.stderr[-1000:])
    return done.stdout


def conforms(name, document):
    schema = json.loads((source / "docs" / name).read_text())
    errors = list(jsonschema.Draft202012Validator(schema).iter_errors(document))
    assert not errors, "\n".join(f"{list(e.path)}: {e.message}" for e in errors[:20])


QUICK = ["--budget", "8sch", "--threads", "1", "--quiet"]
with tempfile.TemporaryDirectory() as folder:
    seen = set()
    for room in ("first-day", "tomorrow", "damp-day", "second-cabinet", "big-day"):
        out = pathlib.Path(folder) / room
        run("plan", source / "scenarios" / room, *QUICK, "--on-paper", "--out", out)
        plan = json.loads((out / "plan.json").read_text())
        conforms("plan.schema.json", plan)
        for resource in plan["problem"]["resources"]:
            seen.update(resource)
        if room in ("first-day", "tomorrow"):
            now = plan["run"]["first_start"][:11] + "10:40"
            run("plan", source / "scenarios" / room, *QUICK, "--now", now, "--earlier", out, "--out", out / "again")
            conforms("plan.schema.json", json.loads((out / "again" / "plan.json").read_text()))
    # All that a resource can be was there.
    assert seen == {"name", "capacity", "calendar", "rate", "batch", "walk", "beside"}, seen
    conforms("promise.schema.json", json.loads(run(
        "promise", source / "scenarios" / "tomorrow", "--screens", 4, "--mesh", "120/cm", "--frame", "58x84", "--coats",
        "2+2", "--replications", 19, "--effort", 20, "--json")))
print("what is written conforms")
