#!/usr/bin/python3
"""Every page that the program writes, in a real browser (Debian's chromium through python3-selenium): no
page wider than its window at 390, 820, 1366 and 1920 px, in light, dark and safelight; what its rules of
accessibility say (axe-core, where npm can bring it); the big day's page small and drawn from few shapes; what
the timeline, the size page and the links do. Arguments: source folder, program; optional: folder for pictures,
names of the tests wanted."""
import io
import json
import os
import re
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from browser import all_of, axe_source, css, findings, quiet, size, start

from PIL import Image
from selenium.webdriver.common.keys import Keys

SOURCE, PROGRAM = sys.argv[1], sys.argv[2]
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None
WIDTHS = (390, 820, 1366, 1920)
DAY = SOURCE + "/scenarios/tomorrow"


def run(*arguments):
    done = subprocess.run([PROGRAM, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 0, (arguments, done.returncode, done.stderr)
    return done.stdout


def written(folder):
    """All pages of the demo room, in the order in which somebody might ask for them."""
    changes = SOURCE + "/scenarios/changes/"
    one = ("--threads", "1")
    run("dry", SOURCE + "/scenarios/damp-day", "--coat-plan", "2+2", "--out", folder)
    run("dose", DAY, "--wedge", "--best", "4", "--out", folder)
    run("dose", DAY, "--order", "A7", "--out", folder + "/dose-a7.html")
    run("weeks", DAY, "--days", "60", "--precision", "50", "--out", folder)
    run("size", DAY, "--change", changes + "second-cabinet.yaml", "--change", changes + "dehumidifier.yaml",
        "--change", changes + "second-cabinet.yaml+" + changes + "second-lamp.yaml", "--late-order", "20",
        "--overtime-wage", "30", "--days", "6", "--min-days", "6", "--no-elimination", *one, "--quiet", "--out",
        folder)
    run("promise", DAY, "--screens", "2", "--mesh", "120-34", "--frame", "58x84", "--coats", "2+2", "--replications", "19",
        "--explain", *one, "--out", folder)
    run("promise", DAY, "--table", "--weeks", "2", *one, "--out", folder)
    run("plan", DAY, "--budget", "60sch", "--replications", "40", "--quiet", "--station-sheets", *one, "--out", folder)
    return sorted(name for name in os.listdir(folder) if name.endswith(".html"))


def scheme(driver, name):
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": name}]})


def picture(driver, name):
    if not PICTURES:
        return
    os.makedirs(PICTURES, exist_ok=True)
    height = driver.execute_script("return document.documentElement.scrollHeight")
    size(driver, driver.execute_script("return window.innerWidth"), min(height, 3000))
    driver.save_screenshot(os.path.join(PICTURES, name + ".png"))


def links(driver, folder, pages):
    """Each page leads to all that have a name of their own, and is marked itself; none leads nowhere. A page of
    another name leads to what was there when it was written."""
    driver.get("file://" + folder + "/dose-a7.html")
    there = driver.execute_script("return [...document.querySelectorAll('.pages a')].map((a) => a.getAttribute('href'))")
    assert there == ["drying.html", "dose.html"], there
    for name in pages:
        if name == "dose-a7.html":
            continue
        driver.get("file://" + folder + "/" + name)
        there = driver.execute_script("return [...document.querySelectorAll('.pages a')].map((a) => a.getAttribute('href'))")
        assert sorted(there) == sorted(p for p in pages if p != "dose-a7.html"), (name, there)
        own = driver.execute_script("return [...document.querySelectorAll('.pages [aria-current]')].map((a) => a.getAttribute('href'))")
        assert own == ([name] if name in there else []), (name, own)
    quiet(driver)


def widths(driver, folder, pages):
    for name in pages:
        for width in WIDTHS:
            size(driver, width)
            driver.get("file://" + folder + "/" + name)
            over = driver.execute_script("return document.documentElement.scrollWidth")
            assert over <= width, f"{name} is {over} px wide on a {width} px window"
            picture(driver, f"{name[:-5]}-{width}")
    quiet(driver)


def accessible(driver, folder, pages):
    axe = axe_source()
    if axe is None:
        print("axe-core is not to be had here: its rules were not tried")
        return
    wrong = []
    for name in pages:
        for light in ("light", "dark"):
            scheme(driver, light)
            for width in WIDTHS if light == "light" else WIDTHS[::2]:
                size(driver, width)
                driver.get("file://" + folder + "/" + name)
                wrong += [(name, light, width, *w) for w in findings(driver, axe)]
    scheme(driver, "light")
    assert not wrong, wrong


def served(driver, folder, _):
    """What the board serves: as wide as its window, and accessible."""
    server = subprocess.Popen([PROGRAM, "board", DAY, "--plan", folder, "--port", "0", "--replications", "19", "--threads", "1"],
                              stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        url = re.match(r"(http://127\.0\.0\.1:\d+/)", server.stdout.readline()).group(1)
        axe, wrong = axe_source(), []
        enquiry = "promise.html?screens=1&mesh=43-80&frame=58x84&coats=1%2B1&explain=yes"
        for page in ("", "?view=people", "?view=orders", "?view=more", "ask", enquiry, enquiry.replace("43-80", "no"), "plan.html"):
            for width in WIDTHS:
                if page == enquiry and width not in WIDTHS[::2]:
                    continue  # asked anew each time
                size(driver, width)
                driver.get(url + page)
                if page == "" or page.startswith("?"):
                    wait(driver, "return document.querySelectorAll('.card, .words dt').length > 2")
                over = driver.execute_script("return document.documentElement.scrollWidth")
                assert over <= width, f"/{page} is {over} px wide on a {width} px window"
                there = driver.execute_script("return [...document.querySelectorAll('.pages a, .panel a')].map((a) => a.getAttribute('href'))")
                # The board's own are behind More: its cards need the room.
                assert page in ("", "?view=people", "?view=orders") or "/ask" in there and "/plan.html" in there, (page, there)
                picture(driver, f"served-{page.split('?')[0].split('.')[0] or 'board' + page[6:]}-{width}")
                if axe:
                    size(driver, width)
                    wrong += [(page, width, *w) for w in findings(driver, axe)]
        assert not wrong, wrong
        driver.get_log("browser")  # the 400 of what is refused stands in it
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(timeout=20)


def dark(driver, folder, pages):
    """Dark where the reader wants it, and no blue in the safelight view, whatever the reader wants."""
    for wanted in ("light", "dark"):
        scheme(driver, wanted)
        for name in pages:
            if "sheets" in name or name == "timeline.html":
                continue  # paper
            size(driver, 1366)
            driver.get("about:blank")
            driver.get("file://" + folder + "/" + name)
            paper = driver.execute_script("return getComputedStyle(document.body).backgroundColor")
            light = sum(map(int, re.findall(r"\d+", paper)[:3])) > 380
            assert light == (wanted == "light"), (name, wanted, paper)
            driver.get("about:blank")
            driver.get("file://" + folder + "/" + name + "#safelight")
            image = Image.open(io.BytesIO(driver.get_screenshot_as_png())).convert("RGB")
            assert image.getchannel("B").getextrema()[1] == 0, f"{name} shines blue"
            assert image.getchannel("R").getextrema()[1] > 200, name
    scheme(driver, "light")
    quiet(driver)


def timeline(driver, folder, _):
    """Runs, nights, search, keys and the address, on a day of 120 screens."""
    big = folder + "/big"
    run("plan", SOURCE + "/scenarios/big-day", "--budget", "5sch", "--replications", "40", "--quiet", "--threads", "1", "--out", big)
    page = big + "/plan.html"
    assert os.path.getsize(page) <= 400_000, os.path.getsize(page)
    size(driver, 1366, 1000)
    driver.get("file://" + page)
    drawn = driver.execute_script("return document.querySelectorAll('#scroll *').length")
    assert drawn < 6000, drawn  # some 2,500 steps; a second is enough for many times that
    if PICTURES:
        spent = driver.execute_script("const t = performance.getEntriesByType('navigation')[0]; return t.domComplete")
        print(f"the big day's page: {os.path.getsize(page)} bytes, {drawn} shapes, drawn {spent:.0f} ms after it was asked for")
        picture(driver, "big-day")
        size(driver, 1366, 1000)
    runs = all_of(driver, ".bar[data-run]")
    assert runs, "nothing is merged"
    told = [r.get_attribute("aria-label") for r in runs]
    assert all(re.match(r"[a-z -]+( \u00d7([2-9]|\d\d+))?, (\w\w\w )?\d\d:\d\d\u2013", words) for words in told), told
    coats = [w for w in told if w.startswith("coat \u00d7")]
    assert coats, told
    for words in coats:  # so many coats, of so many screens at most
        number, tags = re.match(r"coat \u00d7(\d+), [^:]*:\d\d\u2013[^:]*:\d\d: (.*)\. Open", words).groups()
        assert len(tags.split(", ")) <= int(number), words
    inside = int(runs[0].get_attribute("data-run"))
    first = runs[0].get_attribute("data-op")
    night = all_of(driver, "#scroll .night")
    assert len(night) >= 1 and all(n.rect["width"] < 60 for n in night), [n.rect for n in night]
    assert "night" in css(driver, "#hours").get_attribute("textContent")

    # Opened, a run shows its steps; the address keeps it.
    driver.execute_script("arguments[0].dispatchEvent(new MouseEvent('click', {bubbles: true}))", runs[0])
    opened = css(driver, f'.bar[data-op="{first}"]')
    assert not opened.get_attribute("data-run") or int(opened.get_attribute("data-run")) < inside
    wait(driver, "return location.hash.includes('zoom=')")
    before = driver.execute_script("return location.hash")
    driver.execute_script("document.getElementById('scroll').scrollLeft = 900")
    wait(driver, "return location.hash.includes('at=') && location.hash !== " + json.dumps(before))
    kept = driver.execute_script("return [document.querySelector('#scroll svg').getAttribute('width'), document.getElementById('scroll').scrollLeft]")
    hours = driver.execute_script("return document.getElementById('hours').scrollLeft")
    assert hours == kept[1], (hours, kept)  # the hours go along
    driver.refresh()
    again = driver.execute_script("return [document.querySelector('#scroll svg').getAttribute('width'), document.getElementById('scroll').scrollLeft]")
    assert abs(float(again[0]) - float(kept[0])) <= 8 and abs(again[1] - kept[1]) <= 8, (kept, again)

    # Keys: larger, smaller, the whole plan.
    bar = css(driver, '.bar[tabindex="0"]')
    driver.execute_script("arguments[0].focus()", bar)
    width = lambda: float(css(driver, "#scroll svg").get_attribute("width"))
    before = width()
    driver.switch_to.active_element.send_keys("+")
    assert width() > 1.3 * before
    driver.switch_to.active_element.send_keys("0")
    assert width() <= driver.execute_script("return document.getElementById('scroll').clientWidth") + 2

    # Find by tag, then by job; everything else steps back.
    field = css(driver, "#find")
    field.send_keys("g7-1")
    told = css(driver, "#found").text
    assert re.match(r"\d+ steps, the first \d\d:\d\d", told), told
    lit = all_of(driver, ".bar:not(.dim)")
    assert lit and all("G7-1" in b.get_attribute("aria-label") for b in lit), [b.get_attribute("aria-label") for b in lit[:4]]
    field.send_keys(Keys.ENTER)
    assert "G7-1" in css(driver, "#detail").text
    wait(driver, "return location.hash.includes('find=g7-1')")
    field.clear()
    field.send_keys("toy boxes")
    assert all_of(driver, ".bar:not(.dim)") and all_of(driver, ".bar.dim")
    field.clear()
    field.send_keys("no such thing")
    assert css(driver, "#found").text == "nothing of that name"
    css(driver, "#all-orders").click()
    assert not all_of(driver, ".bar.dim")

    # A rack is told by how full it is, until it is opened.
    fold = all_of(driver, "#names .fold")
    assert fold and fold[0].get_attribute("aria-expanded") == "false"
    count = len(all_of(driver, ".bar"))
    fold[0].click()
    assert len(all_of(driver, ".bar")) > count
    assert css(driver, "#names .fold").get_attribute("aria-expanded") == "true"
    # Ranges only of what is pointed at.
    assert not all_of(driver, "#scroll .fuzz")
    driver.execute_script("document.querySelector('.bar:not([data-run])').dispatchEvent(new FocusEvent('focusin', {bubbles: true}))")
    assert 0 < len(all_of(driver, "#scroll .fuzz")) < 80
    size(driver, 390)
    driver.get("about:blank")
    driver.get("file://" + page)
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= 390, over
    quiet(driver)


def wait(driver, script):
    from selenium.webdriver.support.ui import WebDriverWait
    WebDriverWait(driver, 10).until(lambda d: d.execute_script(script))


def what_helps(driver, folder, _):
    """What a change does stands beside it, however many changes share the last line."""
    asked = folder + "/what-if"
    run("plan", DAY, "--budget", "200sch", "--on-paper", "--what-if", "--quiet", "--threads", "1", "--out", asked)
    for width in WIDTHS:
        size(driver, width)
        driver.get("file://" + asked + "/plan.html")
        lines = driver.execute_script(
            "return [...document.querySelectorAll('#limit tbody tr')].map(r => [r.cells[0].textContent, r.cells[1].getBoundingClientRect().right])")
        assert len(lines) > 1, lines
        assert any(";" in words for words, _ in lines), lines  # some share one
        assert all(right <= width for _, right in lines), (width, lines)
    quiet(driver)


def sizing(driver, folder, _):
    """The answer, three facts with their intervals, each change in the chart; theory folded away."""
    size(driver, 1366)
    driver.get("file://" + folder + "/size.html")
    lead = css(driver, ".lead").text
    facts = [n.text.split("\n") for n in all_of(driver, ".facts > div")]
    assert len(facts) == 3, facts
    assert facts[0][0] == "Buy?" and facts[1][0].startswith("Pays back, ") and facts[2][0].startswith("Orders on time"), facts
    assert re.match(r"\d+ % \u2192 \d+ %$", facts[2][1]), facts
    assert re.search(r"today \d+ to \d+ %, then \d+ to \d+ %", facts[2][2]), facts
    if lead.startswith("Not decided yet"):
        more = re.search(r"about (\d+) more days", lead)
        assert facts[0][1] == "Not decided yet" and (not more or more.group(1) in facts[0][2]), (lead, facts)
        assert "brings" not in lead.lower(), lead  # a sentence that would decide it
    shapes = driver.execute_script("""const s = document.querySelector('#against svg');
        return [s.querySelectorAll('circle').length, s.querySelectorAll('.span').length, s.querySelectorAll('.own').length]""")
    assert shapes == [3, 3, 3], shapes  # the pair is one of them
    assert driver.execute_script("return [...document.querySelectorAll('#theory details, #figures details')].every((d) => !d.open)")
    first = driver.execute_script("return document.querySelector('main section').id")
    assert first == "answer", first
    quiet(driver)


WORDS = ("utilisation", "bottleneck", "net present value", "annual net benefit", "internal rate", "interval", "80 % range",
         "critical wip", "raw process time", "random variation", "paired difference", "lateness", "turnaround", "simulated day",
         "overtime", "on time", "chance to be late", "transfer from the film to the air", "practical worst case")


def words(driver, folder, pages):
    """Words of the field lead to their meanings at the end of the page: each is linked in every section where it
    stands, each link has a meaning, and a press opens it. Paper has none."""
    seen = set()
    for name in pages:
        size(driver, 1366)
        driver.get("file://" + folder + "/" + name)
        linked = driver.execute_script("return [...document.querySelectorAll('a.word')].map((a) => a.getAttribute('href').slice(1))")
        meant = driver.execute_script("return [...document.querySelectorAll('#words dt')].map((d) => d.id)")
        if "sheets" in name or name == "timeline.html":
            assert not linked and not meant, (name, linked)
            continue
        assert set(linked) == set(meant) and len(set(meant)) == len(meant), (name, set(linked) ^ set(meant))
        # What the file, before any script of the page, says in a section without a link to it there.
        missed = driver.execute_script("""const wanted = arguments[0], out = [];
            const written = new DOMParser().parseFromString(arguments[1], 'text/html');
            for (const part of written.querySelectorAll('main section:not(#words)')) {
              const copy = part.cloneNode(true);
              copy.querySelectorAll('svg, script, button, summary, code, select, option, label, a:not(.word)').forEach((n) => n.remove());
              const links = [...copy.querySelectorAll('a.word')].map((a) => a.textContent.toLowerCase());
              const texts = [], walk = document.createTreeWalker(copy, NodeFilter.SHOW_TEXT);
              while (walk.nextNode()) texts.push(walk.currentNode.data.toLowerCase());
              for (const w of wanted) {
                const at = new RegExp('(^|[^a-z0-9-])' + w + 's?($|[^a-z0-9-])');
                if (texts.some((t) => at.test(t)) && !links.some((l) => l.includes(w))) out.push([part.id, w]);
              }
            }
            return out;""", WORDS, open(folder + "/" + name, encoding="utf-8").read())
        assert not missed, (name, missed)
        seen |= {w for w in WORDS if driver.execute_script(
            "return [...document.querySelectorAll('a.word')].some((a) => a.textContent.toLowerCase().startsWith(arguments[0]))", w)}
        if not linked:
            continue
        before = driver.execute_script("return location.hash")
        word = driver.execute_script("return [...document.querySelectorAll('a.word')].find((a) => a.checkVisibility())")
        if word is None:
            continue  # all folded away
        driver.execute_script("arguments[0].click()", word)
        at = word.get_attribute("href").split("#")[1]
        assert driver.execute_script("return document.activeElement.id") == at and css(driver, "#words details").get_property("open")
        assert 0 <= driver.execute_script("return document.activeElement.getBoundingClientRect().top") < 900
        assert driver.execute_script("return location.hash") == before, name  # where the plan keeps its state
    assert len(seen) > 14, set(WORDS) - seen
    quiet(driver)


def main():
    driver = None
    with tempfile.TemporaryDirectory(prefix="coatroom-pages-") as folder:
        pages = written(folder)
        try:
            driver = start()
            for test in (links, widths, words, what_helps, sizing, timeline, served, dark, accessible):
                if sys.argv[4:] and test.__name__ not in sys.argv[4:]:
                    continue
                test(driver, folder, pages)
                print("passed:", test.__name__, flush=True)
        finally:
            if driver:
                driver.quit()


main()
