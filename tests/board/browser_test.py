#!/usr/bin/python3
"""The board in a real browser (Debian's chromium through python3-selenium), served by the real program:
readable from two metres, large enough for wet gloves, and not one pixel with blue in it.
Arguments: program, source folder, folder for pictures (optional)."""
import base64
import io
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unicodedata
from xml.etree import ElementTree

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from browser import all_of, quiet, size, start

from PIL import Image
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None
ENQUIRY = "screens=1&mesh=43-80&frame=58x84&coats=1%2B1&explain=yes"
# A 24-inch display of 1920 x 1080 has 0.2768 mm a pixel, a 10.1-inch tablet of 1280 x 800 0.1700 (diagonal over the root of
# both squares). Capitals are 0.716 of the letter size at least in the fonts of the page (Liberation Sans; DejaVu Sans 0.729).
DISPLAY, TABLET, CAPITAL = 24 * 25.4 / (1920 ** 2 + 1080 ** 2) ** .5, 10.1 * 25.4 / (1280 ** 2 + 800 ** 2) ** .5, 0.716


def picture(driver, name):
    data = driver.get_screenshot_as_png()
    if PICTURES:
        os.makedirs(PICTURES, exist_ok=True)
        open(os.path.join(PICTURES, name + ".png"), "wb").write(data)
    return Image.open(io.BytesIO(data)).convert("RGB")


def dark(driver, name):
    image = picture(driver, name)
    blue = image.getchannel("B").getextrema()[1]
    assert blue == 0, f"{name} shines blue: {blue}"
    assert image.getchannel("R").getextrema()[1] > 200, name  # and something is to be seen


def titles(driver):
    return driver.execute_script('return [...document.querySelectorAll(".card .name > :first-child")].map((n) => n.textContent)')


def loaded(driver, url, query=""):
    driver.get("about:blank")
    driver.get(url + query)
    WebDriverWait(driver, 20).until(lambda d: len(all_of(d, ".card, .job")) > 3)


def in_view(driver, least=1):
    """Every card lies within the window, with all its words; no tag is cut or broken."""
    # As a display that is switched on has it: the line below is not there yet when all is drawn for the first time.
    driver.execute_script('document.getElementById("strip").replaceChildren(); board.draw();')
    outside = driver.execute_script("""const out = [];
        for (const c of document.querySelectorAll(".card")) {
          const b = c.getBoundingClientRect();
          if (b.left < 0 || b.top < 0 || b.right > innerWidth || b.bottom > innerHeight || c.scrollHeight > c.clientHeight + 1) out.push([c.textContent, b.bottom, c.scrollHeight, c.clientHeight]);
          for (const x of c.querySelectorAll(".first > *, .slot b, .tag")) {
            const w = x.getBoundingClientRect();
            if (x.getClientRects().length > 1 || w.right > b.right + 1) out.push(["broken", x.textContent]);
          }
        }
        return out;""")
    assert not outside, outside
    assert len(all_of(driver, ".card")) >= least


def touchable(driver, millimetres):
    """What is touched is 18 mm and more on both sides (a glove)."""
    small = driver.execute_script("""return [...document.querySelectorAll("button, a.button, select")].map((n) => [n.textContent, n.getBoundingClientRect()])
        .filter(([, b]) => Math.min(b.width, b.height) * arguments[0] < 18).map(([words, b]) => [words, b.width, b.height])""", millimetres)
    assert not small, small


def board(driver, url, local):
    """A whole room of 13 stations on a display, a tablet and a phone."""
    size(driver, 1920, 1080)
    loaded(driver, url)
    assert driver.find_element(By.ID, "clock").text == local, driver.find_element(By.ID, "clock").text
    dark(driver, "board")
    in_view(driver, 13)
    letters = driver.execute_script("""return [...document.querySelectorAll(".first, #clock")].map((n) => parseFloat(getComputedStyle(n).fontSize))""")
    assert len(letters) >= 14 and min(letters) * CAPITAL * DISPLAY >= 12, (min(letters), min(letters) * CAPITAL * DISPLAY)
    touchable(driver, DISPLAY)
    slots = driver.execute_script('return [...document.querySelectorAll(".slots")].map((g) => [...g.children].reduce((n, c) => n + (Number((c.style.gridColumn.match(/span (\\d)/) || [0, 1])[1])), 0))')
    assert slots and all(n == 16 for n in slots), slots  # the places that people see
    dried = driver.execute_script('return [...document.querySelectorAll(".slot.full span")].map((n) => n.textContent)')
    assert dried and all(re.fullmatch(r"\d+ (min|h.*)|dry|put in", x) for x in dried), dried
    assert "by" not in driver.find_element(By.ID, "cards").text  # no deadline where there is none
    assert all_of(driver, "#strip")[0].text.startswith("At risk, on time: G"), all_of(driver, "#strip")[0].text
    stations = titles(driver)
    driver.find_element(By.CSS_SELECTOR, '[data-view="people"]').click()
    people = driver.execute_script('return [...document.querySelectorAll(".card")].map((c) => [c.querySelector(".name").textContent, c.querySelector(".first").textContent])')
    assert [name for name, _ in people] != stations
    here = ["not yet" in words or "not here" in words for _, words in people]
    assert here == sorted(here) and any(here), people  # who is not there stands last
    assert any(words.startswith("break") for _, words in people), people  # 08:54: two of them have theirs
    dark(driver, "board-people")
    in_view(driver, 7)
    driver.find_element(By.CSS_SELECTOR, '[data-view="orders"]').click()
    chances = driver.execute_script("""return [...document.querySelectorAll(".card .first > :last-child")].map((n) => n.textContent)
        .filter((words) => words.includes("%")).map((words) => parseInt(words))""")
    assert len(chances) > 20 and chances == sorted(chances), chances  # those at risk first
    dark(driver, "board-orders")
    in_view(driver, 32)
    touchable(driver, DISPLAY)
    driver.find_element(By.CSS_SELECTOR, '[data-view="more"]').click()
    before = driver.find_element(By.ID, "clock").text
    driver.find_element(By.CSS_SELECTOR, '[data-step="15"]').click()
    assert driver.find_element(By.ID, "clock").text != before
    assert driver.find_element(By.ID, "room").text.startswith("not now")
    dark(driver, "board-more")
    touchable(driver, DISPLAY)
    size(driver, 1280, 800)
    loaded(driver, url)
    dark(driver, "board-tablet")
    in_view(driver, 13)
    touchable(driver, TABLET)
    size(driver, 390, 844, True)
    loaded(driver, url)
    dark(driver, "board-phone")
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= 390, over
    cut = driver.execute_script("""return [...document.querySelectorAll(".slot")].filter((s) => s.scrollHeight > s.clientHeight + 1 || s.scrollWidth > s.clientWidth + 1 || s.clientHeight < 16).map((s) => s.textContent)""")
    assert not cut and all_of(driver, ".slot.full"), cut
    quiet(driver)


def places(driver, url):
    """The device's place says which light it has, and is remembered."""
    size(driver, 1280, 800)
    loaded(driver, url, "?place=office")
    assert picture(driver, "board-office").getchannel("B").getextrema()[1] > 200
    loaded(driver, url)
    assert picture(driver, "board-office-again").getchannel("B").getextrema()[1] > 200
    loaded(driver, url, "?place=coating")
    dark(driver, "board-coating")
    loaded(driver, url)
    dark(driver, "board-coating-again")
    loaded(driver, url, "?place=cabinet%201")
    assert driver.find_element(By.ID, "of").text == "cabinet 1"  # opens with its own place
    dark(driver, "board-cabinet")
    touchable(driver, TABLET)
    loaded(driver, url, "?place=")
    quiet(driver)


def live(driver, url, folder):
    """News come by themselves, without asking; a page that may not listen asks."""
    size(driver, 1280, 800)
    loaded(driver, url)
    asked = lambda: driver.execute_script("return performance.getEntriesByType('resource').filter((e) => e.name.endsWith('/state')).length")
    first = asked()
    time.sleep(7)
    assert asked() - first <= 1, asked()
    quiet(driver)


def renewed(driver, url, folder):
    """A new plan.json shows without a touch."""
    size(driver, 1920, 1080)
    loaded(driver, url, "?view=stations")
    path = os.path.join(folder, "plan.json")
    text = open(path, encoding="utf-8").read()
    open(path + ".new", "w", encoding="utf-8").write(text.replace('"room": "', '"room": "New ', 1))
    os.rename(path + ".new", path)
    WebDriverWait(driver, 10).until(lambda d: d.find_element(By.ID, "room").text.startswith("New "))
    open(path, "w", encoding="utf-8").write("{")
    WebDriverWait(driver, 10).until(lambda d: d.find_element(By.ID, "message").text)
    assert len(all_of(driver, ".card")) > 4  # the last good plan stays
    dark(driver, "board-message")
    open(path, "w", encoding="utf-8").write(text)
    quiet(driver)


def words_on_paper(pdf):
    """Of each page of a PDF its words with their boxes, in points, and its size; None without pdftotext."""
    if not shutil.which("pdftotext"):
        return None
    told = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = []
    for page in ElementTree.fromstring(re.sub(r' xmlns="[^"]*"|<!DOCTYPE[^>]*>', "", told)).iter("page"):
        words = [(unicodedata.normalize("NFKC", w.text), *(float(w.get(k)) for k in ("xMin", "yMin", "xMax", "yMax"))) for w in page.iter("word")]
        pages.append((float(page.get("width")), float(page.get("height")), words))
    return pages


def on_paper(driver, url):
    """The run sheets, opened by the board's own link and printed: each person's are there, with every word, and nothing is cut off."""
    size(driver, 1920, 1080)
    loaded(driver, url)
    driver.find_element(By.CSS_SELECTOR, '[data-view="more"]').click()
    busy = set(driver.execute_async_script("fetch('/plan.json').then((r) => r.json()).then((p) => arguments[0](p.operations.flatMap((o) => o.people)))"))
    assert len(busy) >= 6, busy
    # In one go: the page draws itself anew at any time.
    driver.execute_script("""[...document.querySelectorAll("a.button")].find((a) => a.textContent === "Run sheets").click()""")
    WebDriverWait(driver, 20).until(lambda d: d.title.endswith("run sheets"))
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    sheets = driver.execute_script("""return [...document.querySelectorAll("section.page")].map((s) => [s.querySelector("h1").textContent, s.innerText])""")
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    headings = {h for h, _ in sheets}
    assert busy <= headings, (busy, headings)
    for name, width, height in (("a4", 8.27, 11.69), ("letter", 8.5, 11)):
        data = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": width, "paperHeight": height, "preferCSSPageSize": True})["data"])
        assert len(re.findall(rb"/Type\s*/Page\b", data)) == len(sheets)
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(PICTURES or folder, f"sheets-{name}.pdf")
            os.makedirs(os.path.dirname(path), exist_ok=True)
            open(path, "wb").write(data)
            pages = words_on_paper(path)
        if pages is None:
            print("no pdftotext (package poppler-utils): pages were counted, not read")
            continue
        for (heading, text), (wide, high, words) in zip(sheets, pages):
            outside = [w for w in words if w[1] < 0 or w[2] < 0 or w[3] > wide or w[4] > high]
            assert not outside, (heading, outside)
            # A long word may be broken into two lines.
            there, run = {w[0] for w in words}, "".join(w[0] for w in words)
            missing = [w for w in unicodedata.normalize("NFKC", text).split() if w not in there and w not in run]
            assert not missing, (heading, missing)
    quiet(driver)


def plan(driver, url):
    size(driver, 1366, 900)
    driver.get(url + "plan.html")
    dark(driver, "plan")
    quiet(driver)


def promise(driver, url):
    size(driver, 1366, 1000)
    driver.get(url + "ask")
    choice = lambda name, value: driver.find_element(By.CSS_SELECTOR, f'input[name="{name}"][value="{value}"]')
    for name, value in (("mesh", "43-80"), ("frame", "58 x 84 cm"), ("coats", "1+1")):
        button = choice(name, value)
        box = button.find_element(By.XPATH, "..").rect
        assert box["height"] >= 44 and box["width"] >= 44, (name, box)  # WCAG 2.2, 2.5.5
        button.click()
    picture(driver, "ask")
    driver.find_element(By.CSS_SELECTOR, "form button").click()
    WebDriverWait(driver, 60).until(lambda d: all_of(d, ".sentence"))
    # The answer stands beside the form, which keeps what was asked.
    assert driver.find_element(By.CSS_SELECTOR, ".answer").rect["x"] > driver.find_element(By.TAG_NAME, "form").rect["x"] + 200
    assert choice("mesh", "43-80").is_selected() and choice("frame", "58 x 84 cm").is_selected()
    assert re.search(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+ [A-Z][a-z]{2}, \d\d:\d\d", driver.find_element(By.CSS_SELECTOR, ".sentence").text)
    assert all_of(driver, ".chainbar rect"), "the chain is not drawn"
    assert len(all_of(driver, "svg.dots circle")) == 20, driver.find_element(By.CSS_SELECTOR, ".sentence").text
    told = driver.find_element(By.CSS_SELECTOR, "figcaption").text
    assert re.search(r"(None|\d+) of 20 dots (is|are) after", told), told
    picture(driver, "promise")
    size(driver, 390, 844, True)
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= 390, over
    picture(driver, "promise-phone")
    driver.find_element(By.ID, "light").click()
    dark(driver, "promise-dark")
    driver.get(url + "promise.html?" + ENQUIRY.replace("43-80", "nothing"))
    told = driver.find_element(By.CSS_SELECTOR, "#mesh .wrong").text
    assert "Not possible: nothing. Choose one of these meshes." in told, told
    assert choice("frame", "58 x 84 cm").is_selected()  # what was right is kept
    driver.get(url + "promise.html?screens=99&mesh=43-80&frame=58x84&coats=1%2B1")
    field = driver.find_element(By.ID, "screens")
    assert field.get_attribute("aria-invalid") == "true" and field.get_attribute("value") == "99"
    assert "whole number from 1 to 64" in driver.find_element(By.ID, field.get_attribute("aria-describedby")).text
    driver.get_log("browser")  # the 400s themselves stand in it
    driver.get("data:text/html,<img src='" + url + "promise?" + ENQUIRY + "'><iframe src='" + url + "'></iframe>")
    time.sleep(1)
    log = " ".join(e["message"] for e in driver.get_log("browser"))
    assert "403" in log or "X-Frame-Options" in log or "blocked" in log.lower(), log  # another page gets nothing


def served(scenario, plan, *more):
    server = subprocess.Popen([PROGRAM, "board", SOURCE + "/scenarios/" + scenario, "--plan", plan, "--port", "0", "--replications", "39",
                               "--threads", "1", *more], stdout=subprocess.PIPE, text=True)
    return server, re.match(r"(http://127\.0\.0\.1:\d+/)", server.stdout.readline()).group(1)


def planned(scenario, folder, *more):
    subprocess.run([PROGRAM, "plan", SOURCE + "/scenarios/" + scenario, "--quiet", "--threads", "1", "--out", folder, *more],
                   check=True, stdout=subprocess.DEVNULL)


def main():
    folder = tempfile.mkdtemp(prefix="coatroom-board-")
    big, small = folder + "/big", folder + "/small"
    planned("big-day", big, "--budget", "30sch", "--replications", "30")
    planned("tomorrow", small, "--budget", "60sch")
    driver, servers = start(), []
    try:
        server, url = served("big-day", big, "--clock", "2026-11-26T08:54")
        servers.append(server)
        for test, arguments in ((board, ("08:54",)), (places, ()), (live, (big,)), (on_paper, ())):
            test(driver, url, *arguments)
            print("passed:", test.__name__)
        server, url = served("tomorrow", small, "--clock", "2026-11-26T07:20")
        servers.append(server)
        for test, arguments in ((renewed, (small,)), (plan, ()), (promise, ())):
            test(driver, url, *arguments)
            print("passed:", test.__name__)
        begun = time.monotonic()
        server.send_signal(signal.SIGINT)
        # Also while something was still being answered, which a page may ask at any time.
        assert server.wait(timeout=20) == 0, server.returncode
        print(f"passed: ends with Ctrl-C ({time.monotonic() - begun:.1f} s)")
    finally:
        driver.quit()
        for server in servers:
            server.kill()
        shutil.rmtree(folder)


main()
