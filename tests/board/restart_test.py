#!/usr/bin/python3
"""A board that is killed and started again believes what it would believe had it kept running: what no plan has seen asks for a new one,
whenever it was marked; what the posted plan was made with does not; the plan before can come back. All of it is read from the
journal. Arguments: program, source folder."""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from board_client import PATIENCE, ask, runner  # noqa: E402

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
run = runner(PROGRAM)
DAY = "2026-11-26T"


class Board:
    def __init__(self, folder, clock="09:00"):
        self.room, self.out, self.clock, self.server = folder + "/room", folder + "/out", clock, None
        self.start()

    def start(self):
        self.server = subprocess.Popen([PROGRAM, "board", self.room, "--plan", self.out, "--port", "0", "--replications", "19", "--threads", "1",
                                        "--budget", "20sch", "--clock", DAY + self.clock], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.url = re.match(r"(http://127\.0\.0\.1:\d+/)", self.server.stdout.readline()).group(1)

    def kill(self):
        self.server.kill()
        self.server.wait()
        self.server.stdout.close()

    def again(self):
        return ask(self.url + "day.json")["again"]

    def until(self, good):
        """The state of new plans, as soon as it is good."""
        end = time.monotonic() + PATIENCE
        while True:
            again = self.again()
            if good(again):
                return again
            assert again["state"] != "failed" and time.monotonic() < end, again
            time.sleep(0.1)

    def ready(self):
        return self.until(lambda again: again["state"] == "ready")

    def act(self, **body):
        return ask(self.url + "again", {"by": "AD", "device": "office", **body})

    def mark(self, kind, what, at):
        ask(self.url + "mark", {"marks": [{"mark": kind, "what": what, "at": DAY + at, "device": "tablet"}]})

    def plan(self):
        with open(self.out + "/plan.json", encoding="utf-8") as file:
            return json.load(file)


def posted(folder, *marks):
    """A room whose plan of the whole day is posted after these marks."""
    shutil.copytree(SOURCE + "/scenarios/first-day", folder + "/room")
    for mark in marks:
        run("mark", folder + "/room", mark)
    run("plan", folder + "/room", "--quiet", "--threads", "1", "--budget", "20sch", "--on-paper", "--replications", "0", "--post", "--out", folder + "/out")


def marked_before_posting(folder):
    """A plan of the whole day knows no mark: neither those that were entered before it was posted."""
    posted(folder, f"down cabinet at {DAY}06:50")
    board = Board(folder)
    try:
        assert board.ready()["why"] == ["cabinet is out of work since 06:50"], board.again()
        board.kill()
        board.start()
        assert board.ready()["why"] == ["cabinet is out of work since 06:50"], board.again()
        # Accepted: the plan that hangs has seen it, before and after a restart.
        board.act(do="adopt", id=board.again()["id"])
        for restart in (False, True):
            if restart:
                board.kill()
                board.start()
            board.mark("absent", "Ada", "08:57" if restart else "08:55")
            why = board.until(lambda again: again["state"] == "ready" and any("Ada" in w for w in again["why"]))["why"]
            assert all("Ada is not here since" in w for w in why), why
    finally:
        board.kill()


def marked_meanwhile(folder):
    """A mark that comes in when the plan is made already, and before it is accepted: that plan has not seen it."""
    posted(folder)
    board = Board(folder)
    try:
        for attempt in range(20):
            board.act(do="plan")
            offer = board.ready()
            board.mark("down", "light table", f"08:{30 + attempt}")
            try:
                board.act(do="adopt", id=offer["id"])
                break
            except urllib.error.HTTPError as late:  # it was made anew with the mark
                assert late.code == 409, late.code
                board.act(do="discard", id=board.again()["id"])
                board.mark("up", "light table", f"08:{31 + attempt}")
        else:
            raise AssertionError("never accepted in time")
        assert board.plan()["again"]["now"].startswith(DAY + "09:0")
        expected = f"light table is out of work since 08:{30 + attempt}"
        assert expected in board.ready()["why"], board.again()
        board.kill()
        board.start()
        assert expected in board.ready()["why"], board.again()
    finally:
        board.kill()


def accepted_with_a_mark(folder):
    """Somebody stays longer: the plan that was accepted with it has it, other marks that came in between it has not. Back to the plan
    before, after a restart, takes both back."""
    posted(folder)
    board = Board(folder)
    try:
        before = board.plan()
        board.act(do="what-if", kind="longer", name="Ada")
        offer = board.ready()
        assert not offer["undo"]
        board.mark("opened", "can 1", "08:59")  # no reason for a plan; it stands between what was seen and the acceptance
        board.act(do="adopt", id=offer["id"])
        assert board.until(lambda again: again["undo"])["today"] == ["Ada stays an hour longer"]
        adopted = board.plan()
        assert adopted != before
        run("check", folder + "/out/plan.json", "--scenario", folder + "/room")
        board.kill()
        board.start()
        # Whatever asks next, the hour that the plan has does not.
        board.mark("down", "light table", "08:59")
        again = board.ready()
        assert again["why"] == ["light table is out of work since 08:59"], again["why"]
        assert again["undo"] and again["today"] == ["Ada stays an hour longer"], again
        board.act(do="undo")
        assert board.plan() == before
        assert board.again()["today"] == [] and not board.again()["undo"]
        board.kill()
        board.start()
        assert not board.ready()["undo"]
        gone = [line for line in run("mark", folder + "/room", "--list").splitlines() if "[taken back]" in line]
        assert len(gone) == 2 and "Ada" in gone[0] and "plan posted" in gone[1], gone
    finally:
        board.kill()


def not_posted(folder):
    """A plan of the middle of the day that nobody posted knows what had been entered by its moment, and no more."""
    posted(folder)
    board = Board(folder)
    try:
        board.mark("down", "light table", "08:58")
        board.ready()
        board.kill()
        run("plan", folder + "/room", "--now", "09:02", "--quiet", "--threads", "1", "--budget", "20sch", "--out", folder + "/out")
        board.clock = "09:05"
        board.start()
        board.mark("absent", "Ada", "09:04")
        assert board.ready()["why"] == ["Ada is not here since 09:04"], board.again()
        board.kill()
        board.start()
        assert board.ready()["why"] == ["Ada is not here since 09:04"], board.again()
    finally:
        board.kill()


for test in (marked_before_posting, marked_meanwhile, accepted_with_a_mark, not_posted):
    scratch = tempfile.mkdtemp(prefix="coatroom-restart-")
    try:
        test(scratch)
        print("passed:", test.__name__)
    finally:
        shutil.rmtree(scratch)
