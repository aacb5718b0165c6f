#!/usr/bin/python3
"""Planning again in the middle of the day, as a lead would: plans are written, judged again by the program's own
judge from the file, and compared here with the plan that hangs, row by row, from both plan.json files."""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta

ROOT, PROGRAM = sys.argv[1], sys.argv[2]
MINUTE = 60


def run(*arguments, status=0):
    done = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, timeout=280)
    assert done.returncode == status, (arguments, done.returncode, done.stdout[-2000:], done.stderr[-2000:])
    return done.stdout + done.stderr


def plan_of(folder):
    with open(os.path.join(folder, "plan.json"), encoding="utf-8") as file:
        return json.load(file)


def at(text):
    return datetime.fromisoformat(text)


def check_against(old, new, now):
    """The list of changes is what a comparison of both files gives; begun work stays."""
    again = new["again"]
    begun = set(again["over"]) | set(again["under_way"])
    differ = set()
    # Idle-time work stands behind the rest and goes where it finds room: no change of the plan.
    mine, theirs = ([op for op in plan["operations"] if op["screen"] not in {r["tag"] for r in plan["returns"]}]
                    for plan in (new, old))
    assert len(mine) == len(theirs)
    for i, (a, b) in enumerate(zip(theirs, mine)):
        assert a["words"] == b["words"]
        if i in begun:
            assert at(b["start"]) < now or at(b["start"]) == at(a["start"])
            continue
        assert at(b["start"]) >= now, (b["words"], b["start"])
        moved = abs((at(a["start"]) - at(b["start"])).total_seconds()) >= MINUTE
        row_a, row_b = old["schedule"][i], new["schedule"][i]
        # Who is named first, and the number of a way with the same places and people, are no changes.
        if moved or sorted(row_a[4]) != sorted(row_b[4]):
            differ.add(i)
    listed = [c["operation"] for c in again["changes"]]
    assert len(listed) == len(set(listed))
    assert set(listed) == differ, (sorted(listed), sorted(differ))
    return begun


def first(plan, now, step, key=None):
    """An operation under way at `now` in the plan that hangs."""
    for op in plan["operations"]:
        if op["step"] == step and at(op["start"]) < now < at(op["work_end"]) and (key is None or op[key]):
            return op
    return None


def main():
    scratch = tempfile.mkdtemp(prefix="coatroom-again-")
    try:
        room = os.path.join(ROOT, "scenarios", "tomorrow")
        hangs = os.path.join(scratch, "hangs")
        run("plan", room, "--budget", "60sch", "--threads", "1", "--quiet", "--out", hangs)
        old = plan_of(hangs)
        # Changes first: nothing has happened, nothing moves.
        still = os.path.join(scratch, "still")
        shutil.copytree(room, still)
        with open(os.path.join(still, "room.yaml"), encoding="utf-8") as file:
            text = file.read()
        assert "aims: [tardiness," in text
        with open(os.path.join(still, "room.yaml"), "w", encoding="utf-8") as file:
            file.write(text.replace("aims: [tardiness,", "aims: [changes, tardiness,"))
        for clock in ("07:10", "10:40", "13:00"):
            now = at("2026-11-26T" + clock)
            out = os.path.join(scratch, "again")
            said = run("plan", still, "--now", clock, "--earlier", hangs, "--budget", "20sch", "--threads", "1",
                       "--quiet", "--out", out)
            assert "Nothing differs" in said, said
            run("check", os.path.join(out, "plan.json"))
            new = plan_of(out)
            assert not new["again"]["changes"]
            begun = check_against(old, new, now)
            # Frames that are reclaimed in idle time belong to no screen: they are finished by hand.
            returned = {r["tag"] for r in old["returns"]}
            assert begun == {i for i, op in enumerate(old["operations"])
                             if at(op["start"]) < now and op["screen"] not in returned}
            sheets = open(os.path.join(out, "sheets.html"), encoding="utf-8").read()
            assert "Nothing differs" in sheets and "Changed:" not in sheets
            # Breaks that are over are on nobody's sheet, those to come are.
            ends = re.findall(r'class="pause">(?:<td></td>)?<td>[\d:]+</td><td>(\d\d:\d\d)', sheets)
            assert all(end > clock for end in ends) and (ends or clock == "13:00"), (clock, ends)
            # In the usual order of aims: no later than the plan that hangs.
            run("plan", room, "--now", clock, "--earlier", hangs, "--budget", "20sch", "--threads", "1", "--quiet",
                "--out", out)
            run("check", os.path.join(out, "plan.json"))
            new = plan_of(out)
            check_against(old, new, now)
            assert new["aims"][0]["value"] <= old["aims"][0]["value"]

        # The big day, with what would help.
        big, out = os.path.join(ROOT, "scenarios", "big-day"), os.path.join(scratch, "big")
        run("plan", big, "--budget", "12sch", "--threads", "1", "--quiet", "--out", out)
        old_big = plan_of(out)
        day = old_big["run"]["first_start"][:11]
        run("plan", big, "--now", day + "10:40", "--earlier", out, "--budget", "12sch", "--threads", "1", "--quiet",
            "--what-if", "--out", os.path.join(scratch, "big-again"))
        run("check", os.path.join(scratch, "big-again", "plan.json"))
        check_against(old_big, plan_of(os.path.join(scratch, "big-again")), at(day + "10:40"))

        # Something has happened.
        now = at("2026-11-26T10:40")
        state = os.path.join(scratch, "state.yaml")
        run_screens = {s["tag"] for s in old["screens"]}
        def busy_at(when):
            return [op for op in old["operations"]
                    if at(op["start"]) < when < at(op["work_end"]) and op["people"] and op["screen"] in run_screens
                    and op["step"] not in ("take-out", "put-in")]
        while not busy_at(now):  # all of them may be walking, or carry
            now += timedelta(minutes=1)
        busy = busy_at(now)
        waiting = [op for op in old["operations"] if at(op["start"]) < now and op["step"] == "coat"]
        told = {}
        assert busy
        for op in busy:
            told["longer " + op["step"]] = ("screens:\n  - screen: %s\n    in: %s\n    until: 11:20\n"
                                            % (op["screen"], op["step"].replace("-", " ")))
        told["failed"] = "screens:\n  - screen: %s\n    back to: degrease\n" % waiting[-1]["screen"]
        told["gone"] = "people:\n  - name: Ben\n"
        told["down"] = "stations:\n  - name: light table\n    until: 11:30\n"
        for name, text in told.items():
            with open(state, "w", encoding="utf-8") as file:
                file.write(text)
            out = os.path.join(scratch, name.replace(" ", "-"))
            said = run("plan", room, "--now", now.strftime("%H:%M"), "--earlier", hangs, "--frozen", "30min", "--state", state,
                       "--budget", "40sch", "--threads", "1", "--quiet", "--out", out)
            run("check", os.path.join(out, "plan.json"))
            assert ("is done again, at" in said) == (name == "failed"), (name, said)
            new = plan_of(out)
            check_against(old, new, now)
            assert new["again"]["notes"], name
            if name == "longer strip":  # beyond what remover may stay
                assert "LIMIT MISSED" in said
                assert "LIMIT MISSED" in open(os.path.join(out, "sheets.html"), encoding="utf-8").read()
            if name == "gone":
                for i, op in enumerate(new["operations"]):
                    assert at(op["start"]) < now or "Ben" not in op["people"] or at(op["start"]).day != 26, op
            if name == "failed":
                assert new["again"]["changes"], name
                redone = [op for op in new["operations"] if op["screen"] == waiting[-1]["screen"]
                          and op["step"] == "degrease"]
                assert redone and at(redone[0]["start"]) >= now
            flat = " ".join(said.split())
            for change in new["again"]["changes"]:
                assert " ".join(change["words"].split()) in flat, (change, said)
            # And on from there, twenty minutes later.
            later = os.path.join(scratch, "later")
            run("plan", room, "--now", "11:00", "--earlier", out, "--budget", "20sch", "--threads", "1", "--quiet",
                "--out", later)
            run("check", os.path.join(later, "plan.json"))
        # Two share an exposure, and everybody is called away before its lamp goes out: both wait in the unit.
        batches = {}
        for op in old["operations"]:
            if op["words"].startswith("expose ") and "batch" in op:
                batches.setdefault(op["batch"], []).append(op)
        shared = [batch for batch in batches.values() if len(batch) > 1]
        assert shared
        for batch in shared[:3]:
            now = at(batch[0]["start"]) + (at(batch[0]["work_end"]) - at(batch[0]["start"])) / 2
            back = (now + timedelta(minutes=17)).replace(second=0, microsecond=0)
            with open(state, "w", encoding="utf-8") as file:
                file.write("people:\n" + "".join("  - name: %s\n    until: %s\n" % (name, back.strftime("%H:%M"))
                                                 for name in ("Ada", "Ben", "Cleo")))
            run("plan", room, "--now", now.strftime("%H:%M:%S"), "--earlier", hangs, "--state", state, "--budget",
                "20sch", "--threads", "1", "--quiet", "--out", os.path.join(scratch, "called"))
            run("check", os.path.join(scratch, "called", "plan.json"))
            new = plan_of(os.path.join(scratch, "called"))
            taken = [op for op in new["operations"] if op["words"].startswith("take from the unit")
                     and op["screen"] in {b["screen"] for b in batch}]
            assert len(taken) == len(batch) and len({op["start"] for op in taken}) == 1, taken
            assert at(taken[0]["start"]) >= back, (taken, back)
        # The state alone, nothing hangs.
        with open(state, "w", encoding="utf-8") as file:
            file.write("screens:\n  - screen: A1-1\n    in: dry coat\n    since: 06:40\n    at: cabinet\n"
                       "  - screen: A1-2\n    done: degrease\n    since: 07:00\n")
        alone = os.path.join(scratch, "alone")
        said = run("plan", room, "--now", "07:10", "--state", state, "--budget", "30sch", "--threads", "1", "--quiet",
                   "--out", alone)
        assert "under way since 06:40" in said, said
        run("check", os.path.join(alone, "plan.json"))
        new = plan_of(alone)
        assert not new["again"]["compared"]
        dries = [op for op in new["operations"] if op["screen"] == "A1-1" and op["step"] == "dry-coat"][0]
        assert at(dries["start"]) == at("2026-11-26T06:40") and dries["place"] == "cabinet"
        # What is wrong is said with its place, all of it.
        with open(state, "w", encoding="utf-8") as file:
            file.write("screens:\n  - screen: A1-9\n    in: coat\n  - screen: A1-1\n    in: haze\n"
                       "  - screen: A1-2\n    in: coat\n    since: 11:00\npeople:\n  - name: Bem\n")
        said = run("plan", room, "--now", "07:10", "--state", state, status=2)
        for words in (":2:5: error: ", "(unknown-screen)", ":4:5: error: ", "(step-not-on-way)", ":6:5: error: ",
                      "(state-future)", ":10:5: error: ", "(unknown-name)", 'Did you mean "Ben"?'):
            assert words in said, (words, said)
        # The rest of the day, simulated: what is done is certain, what is left is not.
        run("plan", room, "--now", "10:40", "--earlier", hangs, "--budget", "30sch", "--threads", "1", "--quiet",
            "--replications", "40", "--out", alone)
        orders = plan_of(alone)["orders"]
        done = [o for o in orders if at(o["ready"]) <= at("2026-11-26T10:40")]
        left = [o for o in orders if at(o["ready"]) > at("2026-11-26T10:40")]
        assert done and left
        assert all(o["ready_p10"] == o["ready_p90"] == o["ready"] for o in done), done
        assert all(at(o["ready_p10"]) > at("2026-11-26T10:40") for o in left)
        assert any(o["ready_p10"] != o["ready_p90"] for o in left)
        # Whoever works, and whichever plan stands it best.
        for policy in ("review", "timetable", "in-order", "edd"):
            run("plan", room, "--now", "10:40", "--earlier", hangs, "--budget", "10sch", "--threads", "1", "--quiet",
                "--replications", "10", "--policy", policy, "--out", alone)
            assert all("ready_p90" in o for o in plan_of(alone)["orders"]), policy
        said = run("plan", room, "--now", "10:40", "--earlier", hangs, "--budget", "30sch", "--threads", "1",
                   "--quiet", "--robust", "3", "--replications", "20", "--out", alone)
        assert "robust: " in said and "the same 20 days" in said, said
        run("check", os.path.join(alone, "plan.json"))
        check_against(old, plan_of(alone), at("2026-11-26T10:40"))
        # A limit that no plan keeps any more: the days are lived without it.
        strip = [op for op in old["operations"] if op["step"] == "strip" and op["screen"] in run_screens][-1]
        moment = at(strip["start"]) + (at(strip["work_end"]) - at(strip["start"])) / 2
        until = (moment + timedelta(minutes=40)).strftime("%H:%M")
        with open(state, "w", encoding="utf-8") as file:
            file.write("screens:\n  - screen: %s\n    in: strip\n    until: %s\n" % (strip["screen"], until))
        said = run("plan", room, "--now", moment.strftime("%H:%M:%S"), "--earlier", hangs, "--state", state,
                   "--budget", "30sch", "--threads", "1", "--quiet", "--replications", "20")
        assert "LIMIT MISSED" in said and "did not come to an end" not in said, said
        # A promise out of the middle of the day.
        enquiry = ["--screens", "2", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2", "--quick",
                   "--replications", "19", "--effort", "20", "--threads", "1"]
        answer = json.JSONDecoder().raw_decode(run("promise", room, *enquiry, "--now", "10:40", "--earlier", hangs, "--json"))[0]
        assert answer["asked"] == "2026-11-26T10:40", answer["asked"]
        assert all(at(t) > at("2026-11-26T10:40") for t in answer["ready"]) and answer["recommended"]
        with open(state, "w", encoding="utf-8") as file:
            file.write("people:\n  - name: Ben\n")
        said = run("promise", room, *enquiry, "--now", "10:40", "--earlier", hangs, "--state", state)
        assert "Ben" in said, said
        for arguments in (["--earlier", hangs], ["--state", state], ["--now", "soon"],
                          ["--now", "10:40", "--from", "2026-11-26T10:40"], ["--now", "10:40", "--table"],
                          ["--now", "2027-11-26T10:40"],
                          ["--now", "10:40", "--earlier", os.path.join(scratch, "nowhere.json")]):
            assert "coatroom promise: " in run("promise", room, *enquiry, *arguments, status=2), arguments
        with open(state, "w", encoding="utf-8") as file:
            file.write("screens:\n  - screen: A1-9\n    in: coat\n")
        said = run("promise", room, *enquiry, "--now", "10:40", "--state", state, status=2)
        assert ":2:5: error: " in said and "(unknown-screen)" in said, said
        # Refused clearly.
        for arguments in (["--earlier", hangs], ["--frozen", "30min"], ["--state", state],
                          ["--now", "soon"],
                          ["--now", "10:40", "--frozen", "30min"],
                          ["--now", "10:40", "--earlier", hangs, "--frozen", "long"]):
            assert "coatroom plan: --" in run("plan", room, *arguments, status=2)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


main()
