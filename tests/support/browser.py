"""Debian's chromium through python3-selenium, for the tests that look at pages: how it is started, sized, read."""
import os
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
