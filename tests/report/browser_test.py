#!/usr/bin/python3
"""The golden page in a real browser (Debian's chromium through python3-selenium): what a person does
on it works, on a laptop, a phone and in the dark room. Pictures go to the folder given as second
argument, if any."""
import base64
import io
import os
import re
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from browser import css, quiet, size, start

from PIL import Image
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

ROOT = sys.argv[1]
PICTURES = sys.argv[2] if len(sys.argv) > 2 else None


def picture(driver, name):
    data = driver.get_screenshot_as_png()
    if PICTURES:
        os.makedirs(PICTURES, exist_ok=True)
        open(os.path.join(PICTURES, name + ".png"), "wb").write(data)
    return Image.open(io.BytesIO(data)).convert("RGB")


def bars(driver):
    return driver.find_elements(By.CSS_SELECTOR, "#scroll .bar")


def laptop(driver):
    size(driver, 1366, 900)
    driver.get("file://" + ROOT + "/tests/golden/plan.html")
    by_station = len(bars(driver))
    assert by_station == 28, by_station  # every operation of the golden day has one place
    overlaps = driver.execute_script("""
        const r = [...document.querySelectorAll('#scroll .base')].map(n => n.getBBox());
        let n = 0;
        for (let i = 0; i < r.length; ++i) for (let k = 0; k < i; ++k)
          if (r[i].x + r[i].width > r[k].x + .5 && r[k].x + r[k].width > r[i].x + .5 &&
              r[i].y + r[i].height > r[k].y + .5 && r[k].y + r[k].height > r[i].y + .5) ++n;
        return n;""")
    assert overlaps == 0, f"{overlaps} pairs of bars lie over each other"
    hint = css(driver, "#detail").text

    bar = css(driver, '.bar[data-op="13"]')  # dry the coat of A1-1
    ActionChains(driver).move_to_element(bar).perform()
    text = css(driver, "#detail").text
    assert text != hint and "dry the coat of A1-1" in text and "07:36 to 08:26" in text and "Cabinet <1>" in text, text
    assert "Warm air" in text, text
    same = driver.find_elements(By.CSS_SELECTOR, ".bar.same")
    assert len(same) == 8, len(same)  # all steps of this screen light up

    width = lambda: css(driver, '.bar[data-op="13"] .base').rect["width"]
    before, whole = width(), css(driver, "#scroll svg").rect["width"]
    css(driver, '[data-zoom="in"]').click()
    assert abs(width() / before - 1.6) < .1, (before, width())
    assert css(driver, "#scroll svg").rect["width"] > 1.5 * whole
    css(driver, '[data-zoom="out"]').click()
    assert abs(width() - before) < 1
    css(driver, '[data-zoom="in"]').click()
    css(driver, '[data-zoom="fit"]').click()
    assert abs(css(driver, "#scroll svg").rect["width"] - whole) < 2

    css(driver, '[data-view="person"]').click()
    assert css(driver, '[data-view="person"]').get_attribute("aria-pressed") == "true"
    assert css(driver, '[data-view="place"]').get_attribute("aria-pressed") == "false"
    names = [n.text for n in driver.find_elements(By.CSS_SELECTOR, "#names span")]
    assert names == ["Ada", "Ben & Co"], names
    assert len(bars(driver)) == 19, len(bars(driver))
    picture(driver, "laptop-people")

    # Keyboard alone: one tab stop, arrows go on, details follow.
    first = css(driver, '.bar[tabindex="0"]')
    driver.execute_script("arguments[0].focus()", first)
    told = css(driver, "#detail").text
    driver.switch_to.active_element.send_keys(Keys.ARROW_RIGHT)
    assert css(driver, "#detail").text != told
    assert len(driver.find_elements(By.CSS_SELECTOR, '.bar[tabindex="0"]')) == 1
    driver.switch_to.active_element.send_keys(Keys.ARROW_DOWN)
    assert "Ben & Co" in css(driver, "#detail").text
    driver.switch_to.active_element.send_keys("+")
    assert css(driver, "#scroll svg").rect["width"] > 1.5 * whole

    css(driver, '[data-view="place"]').click()
    css(driver, '[data-zoom="fit"]').click()
    assert not css(driver, "#all-orders").is_displayed()
    css(driver, '[data-order="A1"]').click()
    dim = driver.find_elements(By.CSS_SELECTOR, ".bar.dim")
    assert len(dim) == 28 - 16, len(dim)  # what is not of order A1 steps back
    css(driver, "#all-orders").click()
    assert not driver.find_elements(By.CSS_SELECTOR, ".bar.dim")

    css(driver, "#orders summary").click()
    assert "waits 1 h 25 min for Cabinet <1>" in css(driver, "#orders ol").text
    quiet(driver)


def fits(driver, width):
    over = driver.execute_script("return document.documentElement.scrollWidth")
    assert over <= width, f"the page is {over} px wide on a {width} px screen"


def phone(driver):
    size(driver, 390, 844, True)
    driver.get("file://" + ROOT + "/tests/golden/plan.html")
    fits(driver, 390)
    for button in driver.find_elements(By.CSS_SELECTOR, ".tools button, nav a, nav button"):
        if button.is_displayed():
            assert button.rect["height"] >= 44 and button.rect["width"] >= 44, button.text  # WCAG 2.2, 2.5.5
    bar = css(driver, '.bar[data-op="13"]')
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", bar)
    bar.click()
    assert "dry the coat of A1-1" in css(driver, "#detail").text
    height = driver.execute_script("return document.documentElement.scrollHeight")
    size(driver, 390, height, True)
    picture(driver, "phone")
    driver.get("file://" + ROOT + "/tests/golden/sheets.html")
    size(driver, 390, 844, True)
    fits(driver, 390)
    quiet(driver)


def safelight(driver):
    size(driver, 1366, 900)
    driver.get("about:blank")
    driver.get("file://" + ROOT + "/tests/golden/plan.html#safelight")
    height = driver.execute_script("return document.documentElement.scrollHeight")
    size(driver, 1366, height)
    css(driver, "#orders summary").click()
    ActionChains(driver).move_to_element(css(driver, '.bar[data-op="11"]')).perform()
    image = picture(driver, "safelight")
    most = image.getchannel("B").getextrema()[1]
    assert most == 0, f"the safelight view shines blue: {most}"
    assert image.getchannel("R").getextrema()[1] > 200
    size(driver, 390, 844, True)  # with the scroll bars and the narrow layout
    assert picture(driver, "safelight-phone").getchannel("B").getextrema()[1] == 0
    css(driver, "#light").click()
    assert picture(driver, "phone-top").getchannel("B").getextrema()[1] > 200
    quiet(driver)


def offline(driver):
    """Every request the page makes is to its own file."""
    driver.get("file://" + ROOT + "/tests/golden/plan.html")
    fetched = driver.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert fetched == [], fetched


def paper(driver):
    """What is dealt to a page fits it: the browser breaks none in two."""
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    for name in ("sheets", "timeline"):
        driver.get("file://" + ROOT + "/tests/golden/" + name + ".html")
        pages = len(driver.find_elements(By.CSS_SELECTOR, "section.page"))
        for width, height in ((8.27, 11.69), (8.5, 11)):  # A4; Letter prints it a little smaller
            data = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {
                "paperWidth": width, "paperHeight": height, "preferCSSPageSize": True})["data"])
            printed = len(re.findall(rb"/Type\s*/Page\b", data))
            assert printed == pages, (name, printed, pages)
            if PICTURES:
                open(os.path.join(PICTURES, name + ".pdf"), "wb").write(data)
            if name == "timeline":  # points: A4 landscape, whatever the printer's own
                box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", data)
                assert box and abs(float(box.group(1)) - 842) < 2 and abs(float(box.group(2)) - 595) < 2, box


def main():
    driver = start()
    try:
        for test in (laptop, phone, safelight, offline, paper):
            test(driver)
            print("passed:", test.__name__)
    finally:
        driver.quit()


main()
