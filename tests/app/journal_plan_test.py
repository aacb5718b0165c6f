#!/usr/bin/env python3
"""Planning again from the journal: marks taken from the posted plan give the plan that the posted plan alone gives; late
ones give what a state.yaml of the same facts gives; a day with a late film, a remake and a cabinet that fails is planned
again twice, and both checkers pass it. journal_plan_test.py SOURCE PROGRAM"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import timedelta

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from plan_steps import at, plan_of, steps_of  # noqa: E402

SOURCE, PROGRAM = pathlib.Path(sys.argv[1]), sys.argv[2]
QUICK = ["--budget", "15sch", "--threads", "1", "--quiet"]


def run(*arguments, status=0):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, timeout=280)
    assert done.returncode == status, (arguments, done.returncode, done.stdout[-2000:], done.stderr[-3000:])
    return done.stdout + done.stderr


def as_marks(steps, now, later=timedelta(0)):
    """CSV of what has begun and ended by then, had it all been so much later."""
    lines = []
    for (tag, step, number), (start, end) in steps.items():
        name = step if number == 1 else f"{step} {number}"
        for mark, t in (("start", start), ("done", end)):
            # What the plan begins at that very moment has not begun by it.
            if t + later < now or (mark == "done" and t + later == now):
                lines.append(((t + later), f"{(t + later).isoformat()},{mark},{tag},{name}"))
    return "time,mark,what,step\n" + "\n".join(line for _, line in sorted(lines)) + "\n"


def without(plan, *names):
    return {k: v for k, v in plan.items() if k not in names}


def fresh(scratch, scenario, name):
    room = scratch / name
    shutil.copytree(SOURCE / "scenarios" / scenario, room)
    return room


def again(room, now, out, *more):
    said = run("plan", room, "--on-paper", "--now", now, *QUICK, "--out", out, *more)
    run("check", out / "plan.json", "--scenario", room)
    return said, plan_of(out)


def posted(scratch, scenario, name):
    """A room with its plan on the wall: the room's folder, the plan's, the plan, midnight as text."""
    room = fresh(scratch, scenario, name)
    hangs = scratch / (name + "-hangs")
    run("plan", room, *QUICK, "--on-paper", "--post", "--out", hangs)
    plan = plan_of(hangs)
    return room, hangs, plan, plan["run"]["first_start"][:11]


def as_planned(scratch, scenario, moments):
    """Marks to the second as the posted plan has it: nothing is told that it does not say."""
    plain = fresh(scratch, scenario, scenario + "-plain")
    hangs = scratch / (scenario + "-hangs")
    run("plan", plain, *QUICK, "--on-paper", "--out", hangs)
    plan = plan_of(hangs)
    steps = steps_of(plan)
    for clock in moments:
        room = fresh(scratch, scenario, f"{scenario}-{clock}".replace(":", ""))
        said = run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "posted")
        assert "posted: entry 1 of the journal" in said, said
        assert plan_of(scratch / "posted") == plan
        now = at(plan["run"]["first_start"][:11] + clock)
        marks = room / "marks.csv"
        marks.write_text(as_marks(steps, now))
        assert marks.read_text().count("\n") > 3
        run("mark", room, "--import", marks)
        assert "CONTRADICTION" not in run("mark", room, "--list")
        said, new = again(room, clock, scratch / "new")
        assert "the state is that of the journal" in said and "posted one, entry 1" in said, said
        _, old = again(plain, clock, scratch / "old", "--earlier", hangs)
        assert new == old, [k for k in new if new[k] != old[k]]
        assert new["again"]["compared"] and not new["again"]["notes"], new["again"]


def later_than_planned(scratch, scenario, clock, minutes):
    """All of it some minutes later: as the state.yaml of the same facts, written here by hand."""
    room, hangs, plan, day = posted(scratch, scenario, scenario + "-late")
    steps = steps_of(plan)
    now = at(day + clock)
    marks = room / "marks.csv"
    marks.write_text(as_marks(steps, now, timedelta(minutes=minutes)))
    run("mark", room, "--import", marks)
    said, new = again(room, clock, scratch / "late-new")
    assert new["again"]["notes"], said
    # By hand: the last mark of each screen that has one; what is wet hangs.
    lines = ["screens:"]
    not_begun = {found[1] for found in (re.match(r"ASSUMED, a mark is missing: (\S+) has not begun ", note)
                                        for note in new["again"]["notes"]) if found}
    order = list(steps)
    for tag in sorted({key[0] for key in steps}):
        mine = [key for key in order if key[0] == tag]
        mine.sort(key=lambda key: steps[key][0])
        begun = [key for key in mine if steps[key][0] + timedelta(minutes=minutes) <= now]
        if not begun:
            if tag in not_begun:  # where no more have room: to be said in a file
                lines += [f"  - screen: {tag}", f"    back to: {mine[0][1].replace('-', ' ')}"]
            continue
        key = begun[-1]
        start, end = (t + timedelta(minutes=minutes) for t in steps[key])
        inside = end > now
        since = start if inside else end
        following = mine.index(key) + 1
        if not inside and following < len(mine) and mine[following][1].startswith("dry-"):
            key, inside = mine[following], True
        # To the minute where the plan has it: not told (wet, and hung up only later by the plan).
        if inside and abs(steps[key][0] - since) < timedelta(minutes=1) and steps[key][0] < now < steps[key][1]:
            continue
        # Nobody marks carrying: what is dry is out when the plan says, or when it was dry.
        carried = [at(op["start"]) for op in plan["operations"]
                   if op["screen"] == tag and op["step"] == "take-out" and steps[key][1] <= at(op["start"]) < now]
        if carried and not inside and key[1].startswith("dry-"):
            out = max(carried[0], since)
            there = out + timedelta(minutes=1) <= now
            if out < now:
                lines += [f"  - screen: {tag}", "    done: take out" if there else "    in: take out",
                          f"    since: {(out + timedelta(minutes=1) if there else out).time()}"]
                continue
        words = {"dry-touch-up": "touch-up dry", "ink-degrease": "degrease after ink"}
        word = words.get(key[1], key[1].replace("-", " "))
        lines += [f"  - screen: {tag}", f"    {'in' if inside else 'done'}: {word}", f"    since: {since.time()}"]
        if key[2] > 1:
            lines.append(f"    round: {key[2]}")
    (room / "by-hand.yaml").write_text("\n".join(lines) + "\n")
    said, hand = again(room, clock, scratch / "late-hand", "--state", room / "by-hand.yaml", "--earlier", hangs)
    def said_of_others(plan):
        def others(list_of, words):
            return [x for x in list_of if not any(tag in words(x) for tag in not_begun)]
        notes = others(plan["again"]["notes"], lambda note: note)
        changes = others(plan["again"]["changes"], lambda change: change["words"])
        return {**without(plan, "run"), "again": {**plan["again"], "notes": notes, "changes": changes}}
    assert said_of_others(new) == said_of_others(hand), [k for k in new if new[k] != hand[k]]
    missed = [note for note in said_of_others(new)["again"]["notes"] if note.startswith(("ASSUMED", "LIMIT MISSED"))]
    assert not missed, missed
    # What the journal amounts to, written out, is the same again.
    run("mark", room, "--state-out", room / "out.yaml", "--at", clock)
    assert run("mark", room, "--state-out", "-", "--at", clock) == (room / "out.yaml").read_text()
    _, out = again(room, clock, scratch / "late-out", "--state", room / "out.yaml")
    assert said_of_others(new) == said_of_others(out), [k for k in new if new[k] != out[k]]


def a_day_of_it(scratch):
    """A film that comes late, a screen to make again, a cabinet out of work; planned again, posted, and once more."""
    room, _, plan, day = posted(scratch, "tomorrow", "day")
    now = at(day + "10:40")
    steps = steps_of(plan)
    marks = room / "marks.csv"
    marks.write_text(as_marks(steps, now, timedelta(minutes=2)))
    run("mark", room, "--import", marks)
    # Without a step: the one that is begun, and after that the next one.
    under_way = next(key for key, (start, end) in steps.items()
                     if start + timedelta(minutes=2) <= now < end + timedelta(minutes=2)
                     and not key[1].startswith("dry-"))
    said = run("mark", room, f"done {under_way[0]} at 10:40", "--by", "AD")
    assert f"{under_way[0]} {under_way[1]} done 10:40" in said, said
    # The first order whose film is still needed, and a screen that was looked at.
    waiting = next(s["order"] for s in plan["screens"]
                   if all(t > now + timedelta(minutes=20) for key, (t, _) in steps.items()
                          if key[0] == s["tag"] and key[1] == "expose")
                   and any(key[0] == s["tag"] and key[1] == "expose" for key in steps))
    failed = next(key[0] for key, (_, end) in steps.items() if key[1] == "wash-out" and end < now)
    run("mark", room, f"remake {failed} pinhole", f"film {waiting} at 13:30", "down cabinet fan at 10:38",
        "up cabinet at 11:20", "absent Ben at 10:30", "--at", "10:40", "--by", "AD")
    (room / "state.yaml").write_text("people:\n  - name: Ada\n")
    said, new = again(room, "10:40", scratch / "day-1", "--post")
    assert "state.yaml is left aside" in said, said
    notes = " ".join(new["again"]["notes"])
    assert f"{failed} goes back to" in notes and "cabinet is out of work since 10:38 till 11:20" in notes, notes
    assert "Ben has gone since 10:30" in notes and "Ada has gone" not in notes, notes
    exposed = [op for op in new["operations"] if op["order"] == waiting and op["step"] == "expose"]
    assert exposed and min(at(op["start"]) for op in exposed) >= at(day + "13:30"), exposed
    redone = [op for op in new["operations"] if op["screen"] == failed and at(op["start"]) >= now]
    assert any(op["step"] == "wash-out" for op in redone), redone
    for op in new["operations"]:
        inside = op["place"] == "cabinet" and now <= at(op["start"]) < at(day + "11:20")
        assert not inside or op["screen"] == "", op
        assert at(op["start"]) < now or "Ben" not in op["people"] or at(op["start"]).day != now.day, op
    # The state by hand instead: said, and taken.
    said, hand = again(room, "10:40", scratch / "day-hand", "--state", room / "state.yaml")
    assert "the state is that of" in said and "state.yaml" in said, said
    assert "Ada has gone" in " ".join(hand["again"]["notes"]), hand["again"]["notes"]
    # The day goes on as planned anew; at 12:30 only the news since counts.
    later = at(day + "12:30")
    steps = {key: times for key, times in steps_of(new).items() if times[1] > now}
    marks.write_text(as_marks(steps, later))
    lines = [line for line in marks.read_text().splitlines() if line[:4] == "time" or at(line[:19]) > now]
    marks.write_text("\n".join(lines) + "\n")
    run("mark", room, "--import", marks)
    run("mark", room, "present Ben at 12:20")
    said, third = again(room, "12:30", scratch / "day-2", "--post")
    assert "goes back to" not in " ".join(third["again"]["notes"]), third["again"]["notes"]
    assert any("Ben" in op["people"] and at(op["start"]) >= later for op in third["operations"])
    exposed = [op for op in third["operations"] if op["order"] == waiting and op["step"] == "expose"]
    assert min(at(op["start"]) for op in exposed) >= at(day + "13:30"), exposed
    # A promise out of that day goes by the journal as well.
    said = run("promise", room, "--screens", "1", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2", "--quick",
               "--replications", "19", "--effort", "15", "--threads", "1", "--now", "12:35")
    assert "the state is that of the journal" in said, said
    # Taken back: the plan before hangs again.
    listed = run("mark", room, "--list")
    number = [line.split()[0] for line in listed.splitlines() if "plan posted" in line][-1]
    run("mark", room, f"undo {number}")
    said = run("plan", room, "--now", "12:30", *QUICK)
    assert "the earlier plan is the posted one" in said, said
    return room


def who_did_it(scratch):
    """A step of which a part stands by itself, done by somebody; and marks that room.yaml does not allow: the day is planned all the same."""
    room, _, plan, day = posted(scratch, "tomorrow", "who")
    stands = [op for op in plan["operations"] if op["words"].startswith("let stand") and op["order"]]
    assert len(stands) > 3
    for op in stands[:3]:
        over = at(op["work_end"]) + timedelta(minutes=1)
        one = scratch / "who-one"
        shutil.rmtree(one, ignore_errors=True)
        shutil.copytree(room, one)
        number = f" {op['round'] + 1}" if op["round"] else ""
        run("mark", one, f"done {op['screen']} {op['step']}{number} with Ben at {over:%H:%M}", "--by", "AD")
        said, new = again(one, f"{over + timedelta(minutes=3):%H:%M}", scratch / "who-new")
        assert not any("not on its way" in note for note in new["again"]["notes"]), said
    coat = next(op for op in plan["operations"] if op["step"] == "coat")
    tag = coat["screen"]
    for mark, told in ((f"start {tag} coat with Ben", "is marked with Ben, but by room.yaml it is done by Ada, Cleo"),
                       (f"start {tag} coat in light table", "is marked in light table, but by room.yaml it is done in coating stand")):
        one = scratch / "who-wrong"
        shutil.rmtree(one, ignore_errors=True)
        shutil.copytree(room, one)
        run("mark", one, mark, "--at", "09:00", "--by", "AD")
        said, new = again(one, "09:01", scratch / "who-new")
        assert any(told in note for note in new["again"]["notes"]), new["again"]["notes"]
        placed = next(op for op in new["operations"] if op["screen"] == tag and op["step"] == "coat")
        assert placed["start"] == day + "09:00" and placed["place"] == "coating stand", placed
        # By hand the same is a mistake to mend.
        (one / "by-hand.yaml").write_text(f"screens:\n  - screen: {tag}\n    in: coat\n    since: 09:00\n    by: Ben\n")
        said = run("plan", one, "--now", "09:01", *QUICK, "--state", one / "by-hand.yaml", status=2)
        assert "is not done by Ben. Known here: Ada, Cleo." in said, said


def pots_of(plan):
    """(start, screen) -> pot that the coat takes from."""
    problem = plan["problem"]
    out = {}
    for op, placed in zip(plan["operations"], plan["schedule"]):
        if op["step"] in ("coat", "face-coat") and len(placed) > 5 and placed[5]:
            out[at(op["start"]), op["screen"]] = problem["stores"][placed[5][0]]["name"]
    return out


def pots(scratch):
    """A pot that is empty, and one that was opened: what is still to be coated goes by that, and is judged by it."""
    for clock, minute in (("08:30", "08:20"), ("10:10", "10:00")):
        room = fresh(scratch, "tomorrow", "pots-" + clock.replace(":", ""))
        run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "pots-hangs")
        hangs = plan_of(scratch / "pots-hangs")
        now = at(hangs["run"]["first_start"][:11] + clock)
        _, plain = again(room, clock, scratch / "pots-plain")
        later = {key: pot for key, pot in pots_of(plain).items() if key[0] >= now}
        assert "blue 1" in later.values(), later
        run("mark", room, f"empty blue 1 at {minute}")
        said, new = again(room, clock, scratch / "pots-empty")
        note = f"blue 1 is empty since {minute}: what is still to be coated with dual-cure A needs another pot or a new mix."
        assert note in new["again"]["notes"], new["again"]["notes"]
        taken = {key: pot for key, pot in pots_of(new).items() if key[0] >= now}
        assert len(taken) == len(later) and "blue 1" not in taken.values(), taken
        assert set(taken.values()) - {"pink 1"}, taken
        mixed = {mix["pot"] for mix in new["mixes"]}
        assert "blue 2" in mixed or "blue 2" in pots_of(new).values(), new["mixes"]
        # No more is bought than what is still to be coated asks for, of pots of 1 l; a rest smaller than one coat may stay.
        takes = [(c[1], c[-1]) for c in new["problem"]["constraints"] if c[0] == "take"]
        dual = [(i, ml) for i, ml in takes if new["operations"][i]["screen"] in
                {s["tag"] for s in new["screens"] if s["emulsion"] == "dual-cure A"}]
        wanted = sum(ml for i, ml in dual if pots_of(new)[at(new["operations"][i]["start"]),
                                                          new["operations"][i]["screen"]] != "blue 1")
        pots_needed = -(-wanted // (1000 - max(ml for _, ml in dual) + 1))
        assert len(mixed) == pots_needed, (mixed, wanted)
        # Mixed meanwhile by hand: nobody mixes it again, it stands its time, and its life counts from then.
        run("mark", room, f"opened blue 2 at {minute}")
        said, opened = again(room, clock, scratch / "pots-opened")
        assert not any(mix["pot"] == "blue 2" and mix.get("start") and at(mix["start"]) >= now for mix in opened["mixes"])
        good = [note for note in opened["again"]["notes"] if note.startswith(f"blue 2 was opened {minute}: it is good until")]
        until = now.replace(hour=int(minute[:2]), minute=int(minute[3:])) + timedelta(weeks=5)
        assert good and f"{until:%Y-%m-%dT%H:%M}" in good[0], opened["again"]["notes"]
        assert "blue 2" in [pot for key, pot in pots_of(opened).items() if key[0] >= now]
        # A promise goes by it as well; taken back, all is as before.
        said = run("promise", room, "--screens", "1", "--mesh", "120/cm", "--frame", "58x84", "--coats", "2+2", "--quick",
                   "--replications", "19", "--effort", "15", "--threads", "1", "--now", clock)
        for _ in range(2):
            run("mark", room, "undo")
        _, back = again(room, clock, scratch / "pots-back")
        assert without(back, "run", "again") == without(plain, "run", "again")
    # The only pot of an emulsion: the next is bought, and what waits for it is later.
    room = fresh(scratch, "first-day", "only-pot")
    run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "only-hangs")
    run("mark", room, "empty can 1 at 07:25")
    said, new = again(room, "07:30", scratch / "only-new")
    assert any(mix["to_buy"] and mix["pot"] == "photopolymer B (new 1)" for mix in new["mixes"]), new["mixes"]


def frames(scratch):
    """Frames from the press: there from the mark on, to be reclaimed or made a screen of; not there before the time that
    the mark says."""
    room = fresh(scratch, "first-day", "frames")
    stock = room / "frames.csv"
    lines = [line if line.startswith("#") else line + "," for line in stock.read_text().splitlines()]
    text = "\n".join(lines).replace("count,", "count,from") + "\n58 x 84 cm,77-55,inky,1,2026-11-26 12:00\n"
    stock.write_text(text)
    run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "frames-hangs")
    hangs = plan_of(scratch / "frames-hangs")
    day = hangs["run"]["first_start"][:11]
    tag = next(line["tag"] for line in hangs["returns"] if at(line["back"]) == at(day + "12:00"))
    _, plain = again(room, "08:00", scratch / "frames-plain")

    def first(plan, name):
        return min(at(op["start"]) for op in plan["operations"] if op["screen"] == name)

    def back(plan):
        return at(next(line["back"] for line in plan["returns"] if line["tag"] == tag))

    assert back(plain) == at(day + "12:00") and first(plain, tag) >= at(day + "12:00")
    run("mark", room, f"returned {tag} at 07:40")
    _, new = again(room, "08:00", scratch / "frames-new")
    assert f"{tag} is back from the press since 07:40." in new["again"]["notes"], new["again"]["notes"]
    assert back(new) == at(day + "07:40"), new["returns"]
    assert at(day + "08:00") <= first(new, tag) < at(day + "12:00"), first(new, tag)
    # Later than frames.csv says: not there before.
    run("mark", room, "undo", f"returned {tag} at 13:00")
    _, late = again(room, "08:00", scratch / "frames-late")
    assert f"{tag} comes back from the press at 13:00." in late["again"]["notes"], late["again"]["notes"]
    assert back(late) == at(day + "13:00") and first(late, tag) >= at(day + "13:00"), first(late, tag)
    # By size and mesh; and a screen that was printed, whose frame frames.csv does not have.
    run("mark", room, "undo", "returned 58 x 84 cm 77-55 at 07:50", "returned T1-1 at 07:50")
    _, more = again(room, "08:00", scratch / "frames-more")
    assert len(more["returns"]) == len(plain["returns"]) + 1, more["returns"]
    assert sum(at(line["back"]) == at(day + "07:50") for line in more["returns"]) == 2, more["returns"]
    # What was to be back, where the room marks what comes back and nobody marked it: taken to be there, and said.
    said, _ = again(room, "12:10", scratch / "frames-unmarked")
    assert "1 frame 58 x 84 cm 77-55 was to be back" not in said, said
    run("mark", room, "undo", "undo", "returned P1-1 at 07:50")
    said, _ = again(room, "12:10", scratch / "frames-unmarked")
    assert "1 frame 58 x 84 cm 77-55 was to be back from the press at 12:00 and not marked" in said, said
    run("mark", room, "returned 58 x 84 cm 77-55 at 14:00")
    said, later = again(room, "12:10", scratch / "frames-later")
    assert "was to be back" not in said and back(later) == at(day + "14:00"), said
    # Nothing like it: said, and nothing changes.
    run("mark", room, "undo", "undo", "returned 10 x 10 cm")
    said, same = again(room, "08:00", scratch / "frames-same")
    assert "no frame of frames.csv that is still to come is like it" in said, said
    assert same["returns"] == plain["returns"]
    # A screen that waits for a frame from the press can begin when it is back.
    room = fresh(scratch, "tomorrow", "frames-made")
    stock = room / "frames.csv"
    stock.write_text(stock.read_text().replace("2026-11-26 10:30", "2026-11-26 14:30"))
    run("plan", room, *QUICK, "--on-paper", "--post", "--out", scratch / "made-hangs")
    run("mark", room, "returned 58 x 84 cm 77-55 at 06:20")
    _, made = again(room, "06:30", scratch / "made-new")
    assert made["again"]["notes"][0].startswith("58 x 84 cm 77-55 is back from the press since 06:20"), made["again"]["notes"]
    inky = [s["tag"] for s in made["screens"] if s["made_on"] == "inky" and s["mesh"] == "77-55"]
    before = plan_of(scratch / "made-hangs")

    def may_begin(plan, name):  # seconds since midnight
        mine = min(i for i, op in enumerate(plan["operations"]) if op["screen"] == name)
        return max((c[2] or 0 for c in plan["problem"]["constraints"] if c[0] == "start" and c[1] == mine), default=0)

    assert inky and all(may_begin(before, name) == 14.5 * 3600 for name in inky), [may_begin(before, n) for n in inky]
    assert all(first(before, name) >= at(day + "14:30") for name in inky)
    assert any(may_begin(made, name) <= 6.5 * 3600 for name in inky), [may_begin(made, name) for name in inky]


def fits(room):
    said = run("check", room)
    assert "was made of these files" in said, said
    orders = room / "orders.csv"
    text = orders.read_text().rstrip("\n").splitlines()
    orders.write_text("\n".join(text[:-1]) + "\n")
    said = run("check", room)
    assert "no longer fits the files: orders.csv has changed since" in said, said
    json_said = json.loads(subprocess.run([PROGRAM, "check", str(room), "--json"], capture_output=True, text=True).stdout)
    assert json_said["posted"]["changed"] == ["orders.csv"] and not json_said["posted"]["fits"], json_said["posted"]


def files_broken(scratch):
    """Somebody spoils orders.csv in the middle of the day: marks go on, against the posted plan."""
    room = fresh(scratch, "first-day", "broken")
    run("mark", room, "done T1-1", status=2)  # nothing is posted: which step?
    run("plan", room, *QUICK, "--on-paper", "--post")
    day = re.search(r"^day: (\S+)", (room / "room.yaml").read_text(), re.M).group(1)
    orders = room / "orders.csv"
    good = orders.read_text()
    orders.write_text(good + "X1,what,soon,two\n")
    said = run("mark", room, f"done T1-1 at {day}T07:10", "absent Ada")
    assert "read against the posted plan" in said and "2  T1-1 " in said, said
    orders.write_text(good)
    assert "T1-1" in run("mark", room, "--list")


def refused(scratch):
    room = fresh(scratch, "first-day", "refused")
    said = run("plan", room, "--now", "10:40", "--frozen", "30min", status=2)
    assert "--frozen holds what an earlier plan says" in said, said
    (room / "journal.sqlite").write_text("no journal, but long enough to be looked at " * 20)
    said = run("plan", room, "--now", "10:40", status=2)
    assert "journal.sqlite is damaged, or no journal" in said, said
    said = run("plan", room, *QUICK, "--on-paper", "--post", status=74)
    assert "not posted" in said and "Orders" in said, said
    os.remove(room / "journal.sqlite")
    # Without a plan, marks alone: where each screen is.
    run("mark", room, "done T1-1 degrease", "start T1-2 degrease", "--at", "07:20")
    said, new = again(room, "07:22", scratch / "alone")
    assert "the state is that of the journal, 2 marks." in said, said
    assert any("dry the mesh T1-1 is under way since 07:20" in note for note in new["again"]["notes"]), new["again"]["notes"]


def main():
    scratch = pathlib.Path(tempfile.mkdtemp(prefix="coatroom-journal-plan-"))
    try:
        as_planned(scratch, "first-day", ["07:30", "09:00", "10:40", "13:00"])
        as_planned(scratch, "tomorrow", ["07:10", "10:40"])
        later_than_planned(scratch, "first-day", "09:00", 7)
        later_than_planned(scratch, "tomorrow", "10:40", 4)
        who_did_it(scratch)
        pots(scratch)
        frames(scratch)
        fits(a_day_of_it(scratch))
        files_broken(scratch)
        refused(scratch)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


main()
