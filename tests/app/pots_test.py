#!/usr/bin/python3
"""What is marked of pots and frames, end to end, in a room small enough to be reckoned by hand: one screen, one person, every time typed in.
From the command line and from the board: an empty pot makes an order late, one that was opened counts from then, a frame that is back
can be coated. Arguments: program, source folder."""
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import datetime, timedelta

PROGRAM = sys.argv[1]
PATIENCE = 120
DAY = "2026-11-26T"

# What one screen takes; from one place to another Ada walks 10 s (what room.yaml says where it says nothing):
#   degrease 3, stands 2; hung up 1, dry mesh 20                                             26:00
#   coat 4, 10 s; hung up 1, dry coat 30                                                     35:10
#   laid on the unit 2, lamp 1 (as calibrated), taken off 1, 10 s; wash out 4, 10 s           8:20
#   hung up 1, dry stencil 15; inspect 3; set aside 1, touch-up dry 10                       30:00
TO_COAT = timedelta(minutes=26)
FROM_COAT = timedelta(minutes=73, seconds=30)
# A new mix: dissolve 5, stands 15, stir in 5, stands 60.
MIX, STAND = timedelta(minutes=85), timedelta(minutes=60)

ROOM = """room: One screen
invented: yes
day: 2026-11-26
stations:
  - {name: sink, does: [degrease]}
  - {name: cabinet, does: [dry mesh, dry coat, dry stencil], slots: 4, light-safe: yes}
  - {name: stand, does: [coat, mix], light-safe: yes}
  - {name: unit, does: [expose], light-safe: yes, lamp: {kind: led, distance: 110 cm}}
  - {name: booth, does: [wash out], light-safe: yes}
  - {name: table, does: [inspect, touch-up dry]}
people:
  - {name: Ada, can: everything, shifts: Mon-Fri 07:00-15:00}
meshes:
  - {name: 77-55, count: 77 /cm, thread: 55 µm}
emulsions:
  - name: dual
    family: dual-cure
    wet film: 20 µm
    exposure: {time: 60 s, distance: 110 cm, coat plan: 1+1, mesh: 77-55}
pots:
  - {name: old, emulsion: dual, volume: 500 ml, mixed: 2026-11-20 09:00}
  - {name: next, emulsion: dual, volume: 500 ml, needs mixing: yes}
coat plans:
  - {name: 1+1, print side: 1, squeegee side: 1, coat time: 4 min, drying time: 30 min}
times:
  degrease: {attended: 3 min, stands: 2 min}
  dry mesh: {attended: 1 min, stands: 20 min}
  dry coat: {attended: 1 min, stands: 30 min}
  wash out: {attended: 4 min}
  dry stencil: {attended: 1 min, stands: 15 min}
  inspect: {attended: 3 min}
  touch-up dry: {attended: 1 min, stands: 10 min}
  dissolve: {attended: 5 min, stands: 15 min}
  stir in: {attended: 5 min, stands: 60 min}
"""
ORDERS = "order,job,due,count,mesh,frame,emulsion,coat plan\nA1,one screen,2026-11-26 %s,1,77-55,58 x 84 cm,dual,1+1\n"
FRAMES = "size,mesh,state,count,from\n58 x 84 cm,77-55,ready,%d,%s\n"
CHANCE = "work varies: 0 %\ndrying varies: 0 %\n"
QUICK = ["--quiet", "--threads", "1", "--budget", "20sch", "--on-paper", "--replications", "0"]


def at(text):
    return datetime.fromisoformat(text if "T" in text else DAY + text)


def run(*arguments, status=0):
    done = subprocess.run([PROGRAM, *arguments], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert done.returncode == status, (arguments, done.returncode, done.stdout)
    return done.stdout


def plan_of(out):
    with open(out + "/plan.json", encoding="utf-8") as file:
        return json.load(file)


def room_of(folder, due="09:30", frames=(2, "")):
    os.makedirs(folder + "/room")
    for name, text in (("room.yaml", ROOM), ("orders.csv", ORDERS % due), ("frames.csv", FRAMES % frames), ("chance.yaml", CHANCE)):
        with open(f"{folder}/room/{name}", "w", encoding="utf-8") as file:
            file.write(text)
    run("plan", folder + "/room", *QUICK, "--post", "--out", folder + "/out")
    return plan_of(folder + "/out")


def began(plan, step, screen="A1-1"):
    return min(at(op["start"]) for op in plan["operations"] if op["screen"] == screen and op["step"] == step)


def order(plan, name="A1"):
    return next(o for o in plan["orders"] if o["name"] == name)


def coated_from(plan, screen="A1-1"):
    i = next(i for i, op in enumerate(plan["operations"]) if op["screen"] == screen and op["step"] == "coat")
    return plan["problem"]["stores"][plan["schedule"][i][5][0]]["name"]


def again(folder, now, name):
    out = f"{folder}/{name}"
    run("plan", folder + "/room", "--now", now, "--quiet", "--threads", "1", "--budget", "20sch", "--replications", "0", "--out", out)
    run("check", out + "/plan.json", "--scenario", folder + "/room")
    return plan_of(out)


def promised(folder, now):
    """When one more screen is planned to be ready."""
    said = run("promise", folder + "/room", "--screens", "1", "--mesh", "77-55", "--frame", "58x84", "--coats", "1+1", "--quick", "--replications", "19",
               "--threads", "1", "--now", now, "--json")
    return at(json.loads(said[said.index("{"):])["planned"])


def emptied(folder):
    """At 07:10, while the mesh dries, the pot is found empty; the next is mixed from then on. The order was early and is late."""
    plan = room_of(folder)
    assert began(plan, "degrease") == at("07:00") and began(plan, "coat") == at("07:00") + TO_COAT
    assert coated_from(plan) == "old" and not plan["mixes"], plan["mixes"]
    assert at(order(plan)["ready"]) == at("07:00") + TO_COAT + FROM_COAT == at("08:39:30") and order(plan)["lateness_s"] < 0, order(plan)
    before = promised(folder, "07:12")
    run("mark", folder + "/room", "empty old at 07:10")
    new = again(folder, "07:10", "empty")
    usable = at("07:10") + MIX
    assert [(mix["pot"], at(mix["start"]), at(mix["usable"])) for mix in new["mixes"]] == [("next", at("07:10"), usable)], new["mixes"]
    assert coated_from(new) == "next" and began(new, "coat") == usable == at("08:35"), began(new, "coat")
    assert at(order(new)["ready"]) == usable + FROM_COAT == at("09:48:30"), order(new)
    assert order(new)["lateness_s"] == (at("09:48:30") - at("09:30")).total_seconds() > 0
    # One more screen: with the old pot before that, without it not before what is mixed by then.
    after = promised(folder, "07:12")
    assert before < at("07:12") + MIX + FROM_COAT <= after, (before, after)
    # Taken back: as it was.
    run("mark", folder + "/room", "undo")
    assert began(again(folder, "07:10", "back"), "coat") == at("07:26") and promised(folder, "07:12") == before


def opened(folder):
    """Somebody has mixed the next pot at 07:05 already: its hour counts from then, and nobody mixes it again."""
    room_of(folder)
    run("mark", folder + "/room", "empty old at 07:10", "opened next at 07:05")
    new = again(folder, "07:10", "opened")
    usable = at("07:05") + STAND
    assert not new["mixes"] and coated_from(new) == "next" and began(new, "coat") == usable, (new["mixes"], began(new, "coat"))
    assert at(order(new)["ready"]) == usable + FROM_COAT == at("09:18:30") and order(new)["lateness_s"] < 0, order(new)
    # Not so long ago that it could be coated with sooner.
    run("mark", folder + "/room", "undo", "opened next at 07:09")
    assert began(again(folder, "07:10", "later"), "coat") == at("08:09")


def returned(folder):
    """The only frame comes at 09:00 by frames.csv; it is there at 07:20, or comes at 09:40."""
    plan = room_of(folder, frames=(1, "2026-11-26 09:00"))
    assert began(plan, "degrease") == at("09:00") and at(order(plan)["ready"]) == at("09:00") + TO_COAT + FROM_COAT, order(plan)
    assert order(plan)["lateness_s"] > 0
    run("mark", folder + "/room", "returned 58 x 84 cm 77-55 at 07:20")
    new = again(folder, "07:20", "there")
    assert began(new, "degrease") == at("07:20"), began(new, "degrease")
    assert at(order(new)["ready"]) == at("07:20") + TO_COAT + FROM_COAT == at("08:59:30") and order(new)["lateness_s"] < 0
    run("mark", folder + "/room", "undo", "returned 58 x 84 cm 77-55 at 09:40")
    assert began(again(folder, "07:20", "comes"), "degrease") == at("09:40")


class Board:
    def __init__(self, folder, clock):
        self.out = folder + "/out"
        self.server = subprocess.Popen([PROGRAM, "board", folder + "/room", "--plan", self.out, "--port", "0", "--replications", "19", "--threads", "1",
                                        "--budget", "20sch", "--clock", DAY + clock], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.url = re.match(r"(http://127\.0\.0\.1:\d+/)", self.server.stdout.readline()).group(1)

    def ask(self, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data=data, headers={"Content-Type": "application/json"})
        return json.load(urllib.request.urlopen(request, timeout=PATIENCE))

    def mark(self, kind, what, clock):
        self.ask("mark", {"marks": [{"mark": kind, "what": what, "at": DAY + clock, "device": "tablet"}]})

    def adopted(self):
        """Waits for the plan that is offered, and accepts it. @returns what was offered, and the plan that hangs then."""
        end = time.monotonic() + PATIENCE
        while True:
            offer = self.ask("day.json")["again"]
            if offer["state"] == "ready":
                break
            assert offer["state"] != "failed" and time.monotonic() < end, offer
            time.sleep(0.1)
        self.ask("again", {"do": "adopt", "id": offer["id"]})
        return offer, plan_of(self.out)

    def promised(self):
        return at(self.ask("promise?screens=1&mesh=77-55&frame=58x84&coats=1%2B1")["planned"])


def on_the_board(folder):
    """The same by touches: the board offers a plan by itself when a pot is empty, and its promises go by what is marked."""
    room_of(folder)
    board = Board(folder, "07:10")
    try:
        before = board.promised()
        board.mark("empty", "old", "07:10")
        offer, plan = board.adopted()
        assert offer["why"] == ["old is empty since 07:10"], offer["why"]
        now = at(plan["again"]["now"])
        assert at("07:10") <= now < at("07:26"), now
        assert began(plan, "coat") == now + MIX and at(order(plan)["ready"]) == now + MIX + FROM_COAT, order(plan)
        assert order(plan)["lateness_s"] > 0 and [mix["pot"] for mix in plan["mixes"]] == ["next"]
        assert "A1" in json.dumps(offer["difference"]), offer["difference"]
        after = board.promised()
        assert before < now + MIX + FROM_COAT <= after, (before, now, after)
        # No reason for another plan by itself; who asks for one gets it by what was marked.
        board.mark("opened", "next", "07:06")
        assert board.ask("day.json")["again"]["state"] == "none"
        board.ask("again", {"do": "plan"})
        offer, plan = board.adopted()
        assert not plan["mixes"] and began(plan, "coat") == at("07:06") + STAND, (plan["mixes"], began(plan, "coat"))
        assert at(order(plan)["ready"]) == at("08:06") + FROM_COAT and order(plan)["lateness_s"] < 0, order(plan)
        assert board.promised() < after
        run("check", folder + "/out/plan.json", "--scenario", folder + "/room")
    finally:
        board.server.kill()
        board.server.wait()


with tempfile.TemporaryDirectory(prefix="coatroom-pots-") as scratch:
    for test in (emptied, opened, returned, on_the_board):
        test(f"{scratch}/{test.__name__}")
        print("passed:", test.__name__)
