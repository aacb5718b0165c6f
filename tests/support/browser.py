"""Debian's chromium through python3-selenium, for the tests that look at pages: how it is started, sized, read."""
import io
import json
import os
import subprocess
import sys
import tempfile

if os.environ.get("COATROOM_NO_BROWSER"):
    print("no browser in this distribution's packages: skipped")
    sys.exit(77)

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By

FLAGS = ("--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
         "--disable-component-update --disable-sync --force-device-scale-factor=1").split()


def start():
    options = Options()
    options.binary_location = "/usr/bin/chromium"
    for flag in FLAGS:
        options.add_argument(flag)
    options.add_argument("--user-data-dir=" + tempfile.mkdtemp())
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)


def size(driver, width, height=900, mobile=None):
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
        "width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600 if mobile is None else mobile})


def quiet(driver):
    log = [e for e in driver.get_log("browser") if e["level"] in ("SEVERE", "WARNING")]
    assert not log, log  # a blocked script or style would stand here too


def css(driver, selector):
    return driver.find_element(By.CSS_SELECTOR, selector)


def all_of(driver, selector):
    return driver.find_elements(By.CSS_SELECTOR, selector)


def no_blue(driver, name, folder=None):
    """No blue in any pixel of what is shown; the picture goes to a folder, if one is given."""
    from PIL import Image
    data = driver.get_screenshot_as_png()
    if folder:
        os.makedirs(folder, exist_ok=True)
        open(os.path.join(folder, name + ".png"), "wb").write(data)
    blue = Image.open(io.BytesIO(data)).convert("RGB").getchannel("B").getextrema()[1]
    assert blue == 0, f"{name} shines blue: {blue}"


def axe_source():
    """axe-core from npm, once; None where npm or the package is not to be had."""
    given = os.environ.get("COATROOM_AXE")
    if given:
        return open(given, encoding="utf-8").read()
    folder = tempfile.mkdtemp()
    try:
        subprocess.run(["npm", "install", "--prefix", folder, "--no-audit", "--no-fund", "--ignore-scripts", "axe-core@4"],
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, timeout=120, check=True)
    except (OSError, subprocess.SubprocessError):
        return None
    return open(folder + "/node_modules/axe-core/axe.min.js", encoding="utf-8").read()


def findings(driver, axe):
    # Through the debugger: the page's own rules let no script in.
    driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
    found = driver.execute_cdp_cmd("Runtime.evaluate", {
        "expression": "axe.run(document).then((r) => JSON.stringify(r.violations.map((v) => [v.id, v.nodes.length, "
                      "v.nodes[0].target.join(' '), v.nodes[0].failureSummary])))",
        "awaitPromise": True, "returnByValue": True})
    return json.loads(found["result"]["value"])
