#!/usr/bin/python3
"""Marks on the board in a real browser, on two displays (Debian's chromium through python3-selenium), served by the real program: two
touches a mark at most, undo, a display without network, marks that contradict each other, keyboard, read only.
Arguments: program, source folder, folder for pictures (optional)."""
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
from browser import all_of, axe_source, findings, no_blue, quiet, size, start

from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
ROOM = ""  # folder that the board shows
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None


touches_of = {}  # by display: so many were made


def until(driver, what, seconds=15):
    return WebDriverWait(driver, seconds, ignored_exceptions=None).until(lambda d: what())


def picture(driver, name):
    no_blue(driver, name, PICTURES)


def marks(url):
    return json.load(urllib.request.urlopen(url + "day.json"))


def touch(driver, key):
    """One touch, at once: the page may draw itself anew between finding and clicking."""
    until(driver, lambda: touched(driver, key))


def touched(driver, key):
    """As a finger: what lies on top at its middle is touched, and must be it."""
    done = driver.execute_script("""const b = document.querySelector('[data-key="' + CSS.escape(arguments[0]) + '"]');
        if (!b) return false;
        b.scrollIntoView({block: "nearest"});
        const r = b.getBoundingClientRect(), top = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
        if (!top || !b.contains(top)) return false;
        top.click(); return true""", key)
    touches_of[driver.session_id] = touches_of.get(driver.session_id, 0) + bool(done)
    return done


def keys(driver):
    return driver.execute_script("return [...document.querySelectorAll('main [data-key]')].map((n) => n.dataset.key)")


def text(driver, selector):
    return driver.execute_script("return [...document.querySelectorAll(arguments[0])].map((n) => n.textContent).join(' ')", selector)


def offline(driver, on):
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", {"offline": on, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})


def opened(driver, url, query="?place="):
    size(driver, 1280, 800)
    driver.get(url + query)
    until(driver, lambda: len(all_of(driver, ".card, .job")) > 3)


def first(driver, kind):
    return next(k for k in keys(driver) if k.startswith(kind))


def touches(one, other, url):
    """Card, button: two touches; the other display has it at once; undo takes it back."""
    opened(one, url)
    opened(other, url, "?place=coating%20stand")
    before = dict(touches_of)
    touch(one, "card-coating stand")
    assert text(one, "#of") == "coating stand"
    sizes = one.execute_script("""return [...document.querySelectorAll("button")].map((n) => [n.textContent, n.getBoundingClientRect()])
        .map(([words, b]) => [words, Math.min(b.width, b.height)])""")
    assert len(sizes) >= 5 and not [s for s in sizes if s[1] < 106], sizes  # 18 mm on a 10.1-inch tablet of 1280 x 800
    name = first(one, "start")
    picture(one, "marks-panel")
    assert name in keys(other), keys(other)
    touch(one, name)
    assert touches_of[one.session_id] == before.get(one.session_id, 0) + 2
    until(one, lambda: [m["kind"] for m in marks(url)["marks"] if m["kind"] != "posted"] == ["start"])
    mark = next(m for m in marks(url)["marks"] if m["kind"] == "start")
    assert name == "start" + mark["what"] + mark["step"] + str(mark["round"] - 1), (name, mark)
    assert mark["station"] == "coating stand" and mark["device"] and mark["at"].startswith("2026-11-26T06:4"), mark
    assert text(one, "#said p") == f"Marked: {mark['what']} coat begun {mark['at'][11:16]}", text(one, "#said p")
    assert one.execute_script("return document.getElementById('said').getAttribute('role')") == "status"  # a screen reader says it
    until(other, lambda: name not in keys(other))
    assert name.replace("start", "done") in keys(other)
    touch(one, "undo")
    until(other, lambda: name in keys(other))
    assert not [m for m in marks(url)["marks"] if m["kind"] == "start"]
    touch(one, name)
    until(other, lambda: name not in keys(other))
    touch(other, name.replace("start", "done"))  # a display at its place: one touch
    assert touches_of[other.session_id] == before.get(other.session_id, 0) + 1
    until(one, lambda: name.replace("start", "done") not in keys(one))
    picture(other, "marks-done")
    assert [m["kind"] for m in marks(url)["marks"] if m["what"] == mark["what"]] == ["start", "done"]
    quiet(one)


def queued(one, other, url):
    """Without network a display goes on, says so, and sends when it is back: once."""
    opened(one, url, "?place=coating%20stand")
    offline(one, True)
    before = len(marks(url)["marks"])
    name = first(one, "start")
    touch(one, name)
    until(one, lambda: "1 mark waits on this display" in text(one, "#message"), 20)
    assert name not in keys(one)  # shown as marked all the same
    touch(one, name.replace("start", "done"))
    until(one, lambda: "2 marks wait" in text(one, "#message"), 20)
    picture(one, "marks-offline")
    assert len(marks(url)["marks"]) == before
    offline(one, False)
    until(one, lambda: len(marks(url)["marks"]) == before + 2, 20)
    until(one, lambda: not text(one, "#message"), 20)
    sent = marks(url)["marks"][-2:]
    assert [m["kind"] for m in sent] == ["start", "done"], sent
    one.get_log("browser")  # what failed stands in it
    # Sent again, as after an answer that was lost: entered once.
    body = json.dumps({"marks": [{"mark": m["kind"], "what": m["what"], "step": m["step"], "device": m["device"], "client": m["client"], "at": m["at"]} for m in sent]})
    again = json.load(urllib.request.urlopen(urllib.request.Request(url + "mark", body.encode(), {"Content-Type": "application/json"})))
    assert [e["id"] for e in again["entered"]] == [m["id"] for m in sent] and not any(e["fresh"] for e in again["entered"]), again


def remade(one, other, url):
    """Remake: a touch, and a touch for the reason. A station out of work, a person not here."""
    opened(one, url)
    touch(one, "card-cabinet")
    name = first(one, "remake")
    touch(one, name)
    picture(one, "marks-remake")
    touch(one, "why-pinhole")
    until(one, lambda: marks(url)["marks"][-1]["kind"] == "remake")
    assert marks(url)["marks"][-1]["reason"] == "pinhole"
    until(one, lambda: name not in keys(one))
    assert "down" in keys(one), keys(one)
    touch(one, "down")
    opened(other, url)
    until(other, lambda: "out of work" in text(other, '[data-key="card-cabinet"]'))
    picture(other, "marks-down")
    touch(one, "up")
    until(other, lambda: "out of work" not in text(other, '[data-key="card-cabinet"]'))
    other.execute_script("document.querySelector('[data-view=\"people\"]').click()")
    touch(other, "card-Cleo")
    touch(other, "absent")
    until(one, lambda: marks(url)["marks"][-1]["kind"] == "absent")
    touch(other, "present")
    until(one, lambda: marks(url)["marks"][-1]["kind"] == "present")


def contradicting(one, other, url):
    """Two displays say different things of one screen: both stay, it is shown, a touch settles it."""
    def post(kind, device, at):
        mark = {"mark": kind, "what": "A3-2", "step": "coat", "station": "coating stand", "device": device, "client": "1", "at": "2026-11-26T" + at}
        urllib.request.urlopen(urllib.request.Request(url + "mark", json.dumps({"marks": [mark]}).encode(), {"Content-Type": "application/json"}))
    opened(one, url)
    assert not all_of(one, ".difference")
    post("start", "left", "06:41:00")
    assert not marks(url)["contradictions"]
    post("done", "right", "06:30:00")
    found = marks(url)["contradictions"]
    assert len(found) == 1 and len(found[0]["entries"]) == 2, found
    said = {(m["kind"], m["device"]) for m in marks(url)["marks"] if m["what"] == "A3-2"}
    assert said == {("start", "left"), ("done", "right")}, said
    until(other, lambda: "Marks contradict each other" in text(other, ".difference"))
    until(one, lambda: "Marks contradict each other" in text(one, ".difference"))
    picture(one, "marks-contradict")
    touch(one, first(one, "settle"))
    until(one, lambda: not marks(url)["contradictions"])
    assert len([m for m in marks(url)["marks"] if m["what"] == "A3-2"]) == 1
    listed = subprocess.run([PROGRAM, "mark", ROOM, "--list"], capture_output=True, text=True, check=True).stdout
    assert sorted("[taken back]" in line for line in listed.splitlines() if " A3-2 " in line) == [False, True], listed  # none is dropped
    for display in (one, other):
        until(display, lambda: "Marks contradict" not in text(display, ".difference"))


def keyboard(one, other, url):
    opened(one, url)
    one.execute_script("document.querySelector('[data-key=\"card-coating stand\"]').focus()")
    ActionChains(one).send_keys(Keys.ENTER).perform()
    assert text(one, "#of") == "coating stand"
    assert one.execute_script("return document.activeElement.id") == "of"
    for _ in range(12):
        ActionChains(one).send_keys(Keys.TAB).perform()
        if re.match("start|done", one.execute_script("return document.activeElement.dataset.key || ''")):
            break
    label = one.execute_script("return document.activeElement.getAttribute('aria-label')")
    assert re.fullmatch(r"(Start|Done): A\d+-\d+, coat", label), label
    before = len(marks(url)["marks"])
    ActionChains(one).send_keys(Keys.SPACE).perform()
    until(one, lambda: len(marks(url)["marks"]) == before + 1)
    mark = marks(url)["marks"][-1]
    assert label == f"{mark['kind'].capitalize()}: {mark['what']}, coat" and mark["step"] == "coat", (label, mark)


def accessible(one, other, url):
    """What axe-core says of the pages that are touched, where it is to be had."""
    axe, wrong = axe_source(), []
    if axe is None:
        print("axe-core is not to be had here: its rules were not tried")
        return
    for width, height in ((1280, 800), (390, 844)):
        opened(one, url)
        size(one, width, height)
        touch(one, "card-cabinet")
        wrong += [(width, "panel", *w) for w in findings(one, axe)]
        touch(one, first(one, "remake"))
        wrong += [(width, "remake", *w) for w in findings(one, axe)]
        touch(one, "why-back")
        until(one, lambda: touched(one, "look"), 180)  # cabinet and remake have asked for a plan
        wrong += [(width, "what changes", *w) for w in findings(one, axe)]
        assert one.execute_script("return document.documentElement.scrollWidth") <= width
        picture(one, f"marks-changes-{width}")
        touch(one, "later")
    assert not wrong, wrong


def main():
    global ROOM
    folder = tempfile.mkdtemp(prefix="coatroom-marks-")
    room, out = folder + "/room", folder + "/out"
    ROOM = room
    shutil.copytree(SOURCE + "/scenarios/tomorrow", room)
    subprocess.run([PROGRAM, "plan", room, "--quiet", "--threads", "1", "--budget", "60sch", "--on-paper", "--out", out], check=True, stdout=subprocess.DEVNULL)
    ask = [PROGRAM, "board", room, "--plan", out, "--port", "0", "--replications", "19", "--threads", "1", "--budget", "60sch", "--clock", "2026-11-26T06:45"]
    one, other, servers = start(), start(), []
    try:
        servers.append(subprocess.Popen(ask, stdout=subprocess.PIPE, text=True))
        url = re.match(r"(http://127\.0\.0\.1:\d+/)", servers[0].stdout.readline()).group(1)
        for test in (touches, queued, remade, contradicting, keyboard, accessible):
            test(one, other, url)
            print("passed:", test.__name__)
        servers.append(subprocess.Popen(ask + ["--read-only"], stdout=subprocess.PIPE, text=True))
        url = re.match(r"(http://127\.0\.0\.1:\d+/)", servers[1].stdout.readline()).group(1)
        opened(one, url)
        touch(one, "card-coating stand")
        until(one, lambda: text(one, "#of") == "coating stand" and "A3-2" in text(one, "main"))
        marking = ("start", "done", "down", "remake", "undo", "why", "settle")
        assert keys(one) and not [k for k in keys(one) if k.startswith(marking)], keys(one)
        body = json.dumps({"marks": [{"mark": "down", "what": "cabinet"}]}).encode()
        try:
            urllib.request.urlopen(urllib.request.Request(url + "mark", body, {"Content-Type": "application/json"}))
            raise AssertionError("marked all the same")
        except urllib.error.HTTPError as refused:
            assert refused.code == 501, refused.code
        print("passed: read only")
    finally:
        for driver in (one, other):
            driver.quit()
        for server in servers:
            server.kill()
        shutil.rmtree(folder)


main()
