"""Steps of a plan as people mark them; used by tests of the journal."""

import json
from datetime import datetime

CARRYING = ("take-out", "put-in")


def plan_of(folder):
    return json.loads((folder / "plan.json").read_text())


def at(text):
    return datetime.fromisoformat(text)


def steps_of(plan):
    """(screen, step, round) -> [start, end of work], in the order of the plan; carrying left out."""
    tags = {s["tag"] for s in plan["screens"]}
    steps = {}
    for op in plan["operations"]:
        if op["screen"] not in tags or op["step"] in CARRYING:
            continue
        key = (op["screen"], op["step"], op["round"] + 1)
        if key in steps:
            steps[key][1] = at(op["work_end"])
        else:
            steps[key] = [at(op["start"]), at(op["work_end"])]
    return steps
