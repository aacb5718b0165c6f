#!/usr/bin/python3
"""A day played through the board by touches, on two displays in a real browser, from the first coat to the last screen: a late film, a
screen made again and a cabinet that fails, each answered with a new plan that is looked at and accepted; one display is without network
for ten minutes of the day. The room's clock runs sixty times as fast. Each plan that is hung up passes the checkers.
Arguments: program, source folder, folder for pictures (optional)."""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
import two_cabinets
from browser import no_blue, size, start


PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None
PACE = 60
LONGEST = 540  # s of the whole day; nothing is asserted of time

# What is to be touched now: steps whose time has come, in the order of the plan, by the page's own rows.
DUE = """
const {t} = board.shown(), out = [], busy = {};
const work = board.state.plan.tasks.filter((x) => x.kind === "work" && x.screen && !x.over && !x.stopped);
for (const x of work) if (x.marked && x.marked.start !== undefined && x.marked.done === undefined) busy[x.ops[0].place] = (busy[x.ops[0].place] || 0) + 1;
for (const x of work) {
  const place = x.ops[0].place, m = x.marked || {}, k = x.screen + x.step + x.round;
  if (m.start !== undefined && m.done === undefined && t >= m.start + (x.t1 - x.t0) - .01) out.push([place, "done" + k, x.t0]);
  const before = x.before;
  const ready = !before || before.over || (before.kind === "work" ? before.marked && before.marked.done !== undefined : before.e !== null && before.e <= t);
  if (m.start === undefined && m.done === undefined && x.t0 <= t && ready && !busy[place] && !board.down(place, t)) { out.push([place, "start" + k, x.t0]); busy[place] = 1; }
}
out.sort((a, b) => a[2] - b[2]);
return out;
"""


def touch(driver, key):
    return driver.execute_script("""const b = document.querySelector('[data-key="' + CSS.escape(arguments[0]) + '"]');
        if (b && !b.disabled) b.click(); return !!b""", key)


def until(driver, key, seconds=60):
    end = time.monotonic() + seconds
    while not touch(driver, key):
        assert time.monotonic() < end, (key, driver.execute_script("return document.body.innerText"))
        time.sleep(0.2)


def day(url):
    return json.load(urllib.request.urlopen(url + "day.json"))


def picture(driver, name):
    no_blue(driver, name, PICTURES)


def tab(driver, view):
    driver.execute_script("document.querySelector('[data-view=\"" + view + "\"]').click()")


def offline(driver, on):
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", {"offline": on, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})


def play(driver, places=None):
    """Marks what is due, two touches each. @returns how many."""
    marked = 0
    for place, key, _ in driver.execute_script(DUE):
        if places is not None and place not in places:
            continue
        tab(driver, "stations")
        if touch(driver, "card-" + place) and touch(driver, key):
            marked += 1
    return marked


def accept(driver, url, room, out, name):
    """The board offers a plan by itself; it is looked at and accepted."""
    until(driver, "look", 90)
    picture(driver, "day-" + name)
    offer = day(url)["again"]
    assert offer["state"] == "ready" and offer["why"], offer
    text = driver.execute_script("return document.querySelector('.difference').innerText")
    until(driver, "adopt")
    until_none = time.monotonic() + 30
    while day(url)["again"]["state"] == "ready":
        assert time.monotonic() < until_none
        time.sleep(0.2)
    checked = subprocess.run([PROGRAM, "check", out + "/plan.json", "--scenario", room], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert checked.returncode == 0 and "keeps every rule" in checked.stdout, checked.stdout
    print("accepted:", "; ".join(offer["why"]))
    return offer, text


def main():
    folder = tempfile.mkdtemp(prefix="coatroom-played-")
    room, out = folder + "/room", folder + "/out"
    two_cabinets.make(SOURCE, room)
    subprocess.run([PROGRAM, "plan", room, "--quiet", "--threads", "1", "--budget", "100sch", "--replications", "30", "--out", out], check=True, stdout=subprocess.DEVNULL)
    one, other = start(), start()
    server = subprocess.Popen([PROGRAM, "board", room, "--plan", out, "--port", "0", "--replications", "19", "--threads", "1", "--budget", "100sch",
                               "--clock", "2026-11-26T06:59", "--pace", str(PACE)], stdout=subprocess.PIPE, text=True)
    try:
        url = re.match(r"(http://127\.0\.0\.1:\d+/)", server.stdout.readline()).group(1)
        for driver in (one, other):
            size(driver, 1280, 800)
            driver.get(url)
            time.sleep(1)
        begun, happened, back, touches = time.monotonic(), [], None, 0
        marks = lambda: [m for m in day(url)["marks"] if m["kind"] != "posted"]
        while time.monotonic() - begun < LONGEST:
            offered = day(url)["again"]["state"]
            if offered == "ready":  # lateness asks for a plan, too
                accept(one, url, room, out, "also")
            touches += play(one, None if back is None else {p for p in ("sink", "stand", "exposure unit", "light table")})
            touches += play(other, {"booth"}) if back is not None else 0
            done = {(m["what"], m["step"]) for m in marks() if m["kind"] == "done"}
            if not happened and ("T1-1", "coat") in done | {(w, "coat") for w, s in done if s == "expose"}:
                tab(one, "orders")
                until(one, "card-order P1")
                until(one, "film1")
                offer, text = accept(one, url, room, out, "film")
                assert any("film of P1" in w for w in offer["why"]), offer
                assert "P1" in text, text
                happened.append("film")
                offline(other, True)
                back = time.monotonic() + 600 / PACE
            elif happened == ["film"] and back and time.monotonic() > back:
                offline(other, False)
                back = None
                happened.append("online")
            elif happened == ["film", "online"] and any(s == "wash-out" for _, s in done):
                tag = next(w for w, s in done if s == "wash-out")
                tab(other, "orders")
                until(other, "card-order " + tag.split("-")[0])
                key = other.execute_script("return ([...document.querySelectorAll('[data-key]')].map((n) => n.dataset.key).find((k) => k.startsWith('remake' + arguments[0]))) || ''", tag)
                if key:
                    until(other, key)
                    until(other, "why-pinhole")
                    offer, _ = accept(other, url, room, out, "remake")
                    assert any(tag + " is made again" in w for w in offer["why"]), offer
                    happened.append("remake")
            elif happened and happened[-1] == "remake":
                tab(one, "stations")
                until(one, "card-cabinet 1")
                until(one, "down")
                offer, _ = accept(one, url, room, out, "cabinet")
                assert any("cabinet 1 is out of work" in w for w in offer["why"]), offer
                happened.append("cabinet")
            ready = one.execute_script("return board.state.plan.orders.map((o) => board.finished(o.name, board.shown().t))")
            if happened[-1:] == ["cabinet"] and all(n == all_of and all_of for n, all_of in ready):
                break
            time.sleep(0.3)
        assert happened == ["film", "online", "remake", "cabinet"], (happened, marks()[-5:])
        assert all(n == all_of and all_of for n, all_of in ready), ready
        # Every screen's last work was marked, on the display that has it, and both displays agree.
        inspected = {m["what"] for m in marks() if m["kind"] == "done" and m["step"] == "inspect"}
        assert inspected == {"T1-1", "T1-2", "P1-1"}, inspected
        assert len({m["device"] for m in marks()}) >= 2
        for driver in (one, other):
            tab(driver, "orders")
            time.sleep(1)
            words = driver.execute_script("return [...document.querySelectorAll('.card .first')].map((n) => n.innerText.replace(/\\s+/g, ' '))")
            assert sum("ready" in w for w in words) == 2, words
        picture(one, "day-end")
        after = subprocess.run([PROGRAM, "mark", room, "--list"], stdout=subprocess.PIPE, text=True).stdout
        assert "to be made again" in after and "cabinet 1 out of work" in after, after
        print(f"passed: the day, {touches} marks, {time.monotonic() - begun:.0f} s")
    finally:
        for driver in (one, other):
            driver.quit()
        server.kill()
        shutil.rmtree(folder)


main()
