#!/usr/bin/python3
"""The golden plan document conforms to docs/plan.schema.json, by the library python3-jsonschema, and
the schema is strict enough to refuse what is broken."""
import copy
import json
import sys

import jsonschema


def check_promise(root):
    schema = json.load(open(root + "/docs/promise.schema.json", encoding="utf-8"))
    promise = json.load(open(root + "/tests/golden/promise.json", encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    errors = [f"{list(e.path)}: {e.message}" for e in validator.iter_errors(promise)]
    assert not errors, "\n".join(errors[:20])
    several = {"format": 1, "promises": [{k: v for k, v in promise.items() if k != "format"}]}
    assert validator.is_valid(several)
    for key in promise:
        other = copy.deepcopy(promise)
        other.pop(key)
        assert not validator.is_valid(other), key + " is not required"
    for change in (lambda p: p["remedies"][0].update(kind="wish"), lambda p: p.update(asked="soon"),
                   lambda p: p["endangered"][0].pop("before"), lambda p: p["enquiry"].update(wish=1)):
        other = copy.deepcopy(promise)
        change(other)
        assert not validator.is_valid(other)


def main(root):
    check_promise(root)
    schema = json.load(open(root + "/docs/plan.schema.json", encoding="utf-8"))
    plan = json.load(open(root + "/tests/golden/plan.json", encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    errors = [f"{list(e.path)}: {e.message}" for e in validator.iter_errors(plan)]
    assert not errors, "\n".join(errors[:20])

    missed = []

    def broken(name, change):
        other = copy.deepcopy(plan)
        change(other)
        if validator.is_valid(other):
            missed.append(name)

    again = copy.deepcopy(plan)  # an optional member
    again["again"] = {"now": "2026-11-26T10:40", "over": [0], "under_way": [1], "compared": True, "held": 0,
                      "let_go": 0, "notes": [], "changes": [{"operation": 2, "old_start": "2026-11-26T10:50",
                                                             "start": "2026-11-26T11:05", "words": "moves"}]}
    again["problem"].update(now=38400, begun=[[0, 25200, 0, [0], [], None, 25900, 26000],
                                              [1, 26000, 0, [0], [], None, None, None]])
    errors = [f"{list(e.path)}: {e.message}" for e in validator.iter_errors(again)]
    assert not errors, "\n".join(errors[:20])
    for key in again["again"]:
        other = copy.deepcopy(again)
        other["again"].pop(key)
        assert not validator.is_valid(other), key + " of again is not required"
    for key in plan:  # every other member of the document is required
        broken("without " + key, lambda p: p.pop(key))
    for table in ("aims", "stations", "people", "screens", "orders", "operations", "loads", "fills", "mixes",
                  "reclaims", "warnings", "stock_after", "cautions", "inputs"):
        assert plan[table], table + " is empty: the golden document must fill every table"
        broken("unknown member in " + table, lambda p: p[table][0].update(wish=1))
    broken("time", lambda p: p["operations"][0].update(start="6 o'clock"))
    broken("number as text", lambda p: p["aims"][0].update(value="12"))
    broken("step", lambda p: p["operations"][0].update(step="polish"))
    broken("short schedule row", lambda p: p["schedule"][0].pop())
    broken("unknown constraint", lambda p: p["problem"]["constraints"].append(["wish", 1]))
    broken("fractional second", lambda p: p["problem"].update(end=1.5))
    assert not missed, missed
    print(f"conforms; {len(plan) + 20} broken documents refused")


main(sys.argv[1])
