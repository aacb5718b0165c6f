#!/usr/bin/python3
"""The board in a real browser (Debian's chromium through python3-selenium), served by the real program:
readable from two metres, large enough for wet gloves, and not one pixel with blue in it.
Arguments: program, source folder, folder for pictures (optional)."""
import io
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from browser import all_of, quiet, size, start

from PIL import Image
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

PROGRAM, SOURCE = sys.argv[1], sys.argv[2]
PICTURES = sys.argv[3] if len(sys.argv) > 3 else None
ENQUIRY = "screens=1&mesh=43-80&frame=58x84&coats=1%2B1&explain=yes"
# Capitals of 16 minutes of arc at 2 m are 9.3 mm high (ISO 9241-303 asks for 16 at least, value from memory);
# capitals are about 0.72 of the letter size in the fonts of the page; 96 px an inch.
LEAST_LETTER = 2000 * 0.004654 / 0.72 / 25.4 * 96 * 0.99


def wall_clock(driver, local):
    """The page's clock from the next load on: the test must not depend on when it runs."""
    driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": """
        { const Real = Date, begun = Real.now(), from = new Real("%s").getTime();
          window.Date = class extends Real {
            constructor(...given) { given.length ? super(...given) : super(from + Real.now() - begun); }
            static now() { return Real.now(); } }; }""" % local})


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
    return driver.execute_script('return [...document.querySelectorAll(".card h2")].map((n) => n.textContent)')


def board(driver, url, local):
    wall_clock(driver, local)
    size(driver, 1920, 1080)
    driver.get(url)
    WebDriverWait(driver, 10).until(lambda d: len(all_of(d, ".card")) > 4)
    dark(driver, "board")
    for selector in ("#clock", ".now span", ".what span", ".next span", ".card h2 span", ".line button", ".line a"):
        # In one go: the page draws its cards anew every few seconds.
        letters = driver.execute_script("""return [...document.querySelectorAll(arguments[0])].map(
            (node) => parseFloat(getComputedStyle(node).fontSize))""", selector)
        assert letters, selector
        assert min(letters) >= LEAST_LETTER, (selector, letters, LEAST_LETTER)
    buttons = driver.execute_script("""return [...document.querySelectorAll(".line button, .line a")].map(
        (node) => [node.textContent, node.getBoundingClientRect().width, node.getBoundingClientRect().height])""")
    assert buttons and all(width >= 64 and height >= 64 for _, width, height in buttons), buttons  # 17 mm: a gloved finger
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= 1920, over
    names = titles(driver)
    first = driver.find_element(By.ID, "cards").text
    driver.find_element(By.CSS_SELECTOR, '[data-step="15"]').click()
    driver.find_element(By.CSS_SELECTOR, '[data-step="15"]').click()
    assert driver.find_element(By.ID, "cards").text != first
    driver.find_element(By.CSS_SELECTOR, '[data-view="person"]').click()
    people = titles(driver)
    assert people and people != names, people
    dark(driver, "board-people")
    size(driver, 390, 844, True)
    dark(driver, "board-phone")
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= 390, over
    quiet(driver)


def renewed(driver, url, folder):
    """A new plan.json shows without a touch."""
    size(driver, 1920, 1080)
    driver.get(url)
    WebDriverWait(driver, 10).until(lambda d: len(all_of(d, ".card")) > 4)
    path = os.path.join(folder, "plan.json")
    text = open(path, encoding="utf-8").read()
    open(path + ".new", "w", encoding="utf-8").write(text.replace('"room": "', '"room": "New ', 1))
    os.rename(path + ".new", path)
    WebDriverWait(driver, 10).until(lambda d: d.find_element(By.ID, "room").text.startswith("New "))
    open(path, "w", encoding="utf-8").write("{")
    WebDriverWait(driver, 10).until(lambda d: d.find_element(By.ID, "message").is_displayed())
    assert len(all_of(driver, ".card")) > 4  # the last good plan stays
    dark(driver, "board-message")
    open(path, "w", encoding="utf-8").write(text)
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


def main():
    folder = tempfile.mkdtemp(prefix="coatroom-board-")
    subprocess.run([PROGRAM, "plan", SOURCE + "/scenarios/tomorrow", "--budget", "60sch", "--quiet", "--out", folder],
                   check=True, stdout=subprocess.DEVNULL)
    server = subprocess.Popen([PROGRAM, "board", SOURCE + "/scenarios/tomorrow", "--plan", folder, "--port", "0",
                               "--replications", "39"], stdout=subprocess.PIPE, text=True)
    driver = None
    try:
        url = re.match(r"(http://127\.0\.0\.1:\d+/)", server.stdout.readline()).group(1)
        driver = start()
        for test, arguments in ((board, ("2026-11-26T07:20",)), (board, ("2026-11-24T23:05",)), (renewed, (folder,)), (plan, ()), (promise, ())):
            test(driver, url, *arguments)
            print("passed:", test.__name__)
        begun = time.monotonic()
        server.send_signal(signal.SIGINT)
        # 130: cut off while something was still being answered, which a page may ask at any time.
        assert server.wait(timeout=20) in (0, 130), server.returncode
        print(f"passed: ends with Ctrl-C ({time.monotonic() - begun:.1f} s)")
    finally:
        if driver:
            driver.quit()
        server.kill()
        shutil.rmtree(folder)


main()
