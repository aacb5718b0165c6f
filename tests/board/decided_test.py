#!/usr/bin/python3
"""What was tried on the board and accepted holds for the day, whatever becomes of the board: somebody who stays an hour longer, an order
that goes first, one more order. The board is killed and started again; its next plan, a plan from the command line and both judges
know of it, and what is taken back does not count any more. Arguments: program, source folder."""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from board_client import PATIENCE, ask, runner  # noqa: E402

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
run = runner(PROGRAM)


def board(room, out):
    server = subprocess.Popen([PROGRAM, "board", room, "--plan", out, "--port", "0", "--replications", "19", "--threads", "1", "--budget", "60sch",
                               "--clock", "2026-11-26T09:00"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    return server, re.match(r"(http://127\.0\.0\.1:\d+/)", server.stdout.readline()).group(1)


def accepted(url, body):
    """Asks for a plan, waits for it and accepts it. @returns what it would change."""
    ask(url + "again", body)
    until = time.monotonic() + PATIENCE
    while True:
        again = ask(url + "day.json")["again"]
        assert again["state"] != "failed" and time.monotonic() < until, again
        if again["state"] == "ready":
            break
        time.sleep(0.2)
    ask(url + "again", {"do": "adopt", "id": again["id"], "by": "AD", "device": "office"})
    return again["difference"]


def ends(plan, person, day):
    """Until when somebody may work on a day."""
    return max(p["to"] for x in plan["people"] if x["name"] == person for p in x["present"] if p["from"].startswith(day))


def main():
    folder = tempfile.mkdtemp(prefix="coatroom-decided-")
    room, out, later = folder + "/room", folder + "/out", folder + "/later"
    server = None
    try:
        shutil.copytree(SOURCE + "/scenarios/first-day", room)
        with open(room + "/frames.csv", "a", encoding="utf-8") as store:
            store.write("58 x 84 cm,77-55,ready,4\n")  # for one more order
        run("plan", room, "--quiet", "--threads", "1", "--budget", "60sch", "--replications", "19", "--out", out)
        plan = lambda path=out: json.load(open(path + "/plan.json", encoding="utf-8"))
        files = lambda: {name: open(f"{room}/{name}", "rb").read() for name in ("room.yaml", "orders.csv")}
        before, first = plan(), files()
        order, person, day = before["orders"][0]["name"], before["people"][0]["name"], before["run"]["first_start"][:10]
        server, url = board(room, out)
        wrong = urllib.request.Request(url + "again", data=b'{"do": "what-if", "kind": "posted", "name": "x"}', headers={"Content-Type": "application/json"})
        try:
            urllib.request.urlopen(wrong, timeout=PATIENCE)
            raise AssertionError("a posting cannot be tried")
        except urllib.error.HTTPError as refused:
            assert refused.code == 400, refused.code
        for kind, name in (("longer", person), ("another", order), ("first", order)):
            accepted(url, {"do": "what-if", "kind": kind, "name": name})
        today = ask(url + "day.json")["again"]["today"]
        assert today == [f"{person} stays an hour longer", f"one more order like {order}", f"{order} goes first"], today

        def holds(planned):
            more = [o for o in planned["orders"] if o["name"] == order + "-more1"]
            assert len(more) == 1 and len(planned["orders"]) == len(before["orders"]) + 1, planned["orders"]
            screens = lambda p, name: sum(s["order"] == name for s in p["screens"])
            assert screens(planned, order + "-more1") == screens(before, order)
            hour = lambda p: int(ends(p, person, day)[11:13]) * 60 + int(ends(p, person, day)[14:16])
            assert hour(planned) == hour(before) + 60, (ends(planned, person, day), ends(before, person, day))
            # That day alone: on each later one they go as ever.
            days = sorted({p["from"][:10] for x in before["people"] if x["name"] == person for p in x["present"]} - {day})
            assert days and all(ends(planned, person, d) == ends(before, person, d) for d in days), days

        holds(plan())
        run("check", out + "/plan.json", "--scenario", room)
        server.kill()  # and nothing else: what was accepted is on the disk
        server.wait()
        server, url = board(room, out)
        assert ask(url + "day.json")["again"]["today"] == today
        accepted(url, {"do": "plan"})
        holds(plan())
        run("check", out + "/plan.json", "--scenario", room)
        # The command line, on the posted plan.
        run("plan", room, "--now", "09:10", "--quiet", "--threads", "1", "--budget", "60sch", "--out", later)
        holds(plan(later))
        run("check", later + "/plan.json", "--scenario", room)
        assert files() == first  # the files are as they were written
        # Taken back, and said from the command line.
        listed = run("mark", room, "--list")
        entry = re.search(r"^\s*(\d+)\b.*" + re.escape(order) + " is ordered once more", listed, re.M)
        assert entry, listed
        run("mark", room, "undo " + entry[1], f"longer {person} at 09:05")
        run("plan", room, "--now", "09:10", "--quiet", "--threads", "1", "--budget", "60sch", "--out", later)
        undone = plan(later)
        assert [o["name"] for o in undone["orders"]] == [o["name"] for o in before["orders"]], undone["orders"]
        assert ends(undone, person, day) > ends(plan(), person, day)  # two hours now
        run("mark", room, "longer Nobody", status=2)
        print("passed: what was accepted holds over a restart")
    finally:
        if server:
            server.kill()
        shutil.rmtree(folder)


main()
