#!/usr/bin/python3
"""What coatroom size writes conforms to docs/size.schema.json, by the library python3-jsonschema, and
the schema is strict enough to refuse what is broken. Arguments: the source folder, the program."""
import copy
import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
import xml.dom.minidom
from html.parser import HTMLParser

import jsonschema

VOID = {"meta", "br", "link", "img", "hr", "input"}


class Balanced(HTMLParser):
    """Every element closed by its own tag; the charts are kept for an XML parser."""

    def __init__(self):
        super().__init__()
        self.open = []
        self.rows = 0

    def handle_starttag(self, tag, attributes):
        self.rows += tag == "tr"
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        pass

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, (tag, self.open[-3:])
        self.open.pop()


def study(root, program, folder, *more, room=None):
    changes = root + "/scenarios/changes/"
    run = subprocess.run(
        [program, "size", room or root + "/scenarios/tomorrow", "--change", changes + "second-cabinet.yaml", "--change",
         changes + "fan-rack.yaml+" + changes + "dehumidifier.yaml", "--min-days", "3", "--days", "4", "--effort", "6",
         "--quiet", "--json", "--out", folder, *more], check=True, stdout=subprocess.PIPE)
    return json.loads(run.stdout), open(folder + "/size.html", encoding="utf-8").read()


def main(root, program):
    schema = json.load(open(root + "/docs/size.schema.json", encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    with tempfile.TemporaryDirectory() as folder:
        # The full one in a room that says its currency.
        room = shutil.copytree(root + "/scenarios/tomorrow", folder + "/room")
        text = open(room + "/room.yaml", encoding="utf-8").read()
        open(room + "/room.yaml", "w", encoding="utf-8").write(text.replace("\ninvented:", "\ncurrency: EUR\ninvented:", 1))
        full, page = study(root, program, folder, "--late-order", "60", "--interest", "5", "--volumes", "80,100,120",
                           "--kinds", "usual 2, damp 1", "--csv", folder + "/days.csv", room=room)
        with open(folder + "/days.csv", encoding="utf-8") as days:
            rows = list(csv.DictReader(days))
        assert rows and all(r["currency"] == "EUR" and float(r["cost"]) >= 0 for r in rows)
        assert json.load(open(folder + "/size.json", encoding="utf-8")) == full
        bare, bare_page = study(root, program, folder)  # no money, one volume, one kind of day
    for name, document in (("full", full), ("bare", bare)):
        errors = [f"{name} {list(e.path)}: {e.message}" for e in validator.iter_errors(document)]
        assert not errors, "\n".join(errors[:20])
    assert not bare["money"] and not bare["study"]["by_money"]
    assert len(full["money"]) == 2 and len(full["figures"]) == 9 and len(full["kinds"]) == 6
    assert full["figures"][-1]["room"] == "fan rack for wet mesh + dehumidifier"

    missed = []

    def broken(name, change):
        other = copy.deepcopy(full)
        change(other)
        if validator.is_valid(other):
            missed.append(name)

    for key in full:
        broken("without " + key, lambda d: d.pop(key))
    for key in full["study"]:
        broken("study without " + key, lambda d: d["study"].pop(key))
    for table in ("figures", "kinds", "money", "copes"):
        broken("unknown member in " + table, lambda d: d[table][0].update(wish=1))
    broken("end", lambda d: d.update(end="tired"))
    broken("share", lambda d: d["figures"][0].update(on_time=1.2))
    broken("difference without interval", lambda d: d["figures"][-1]["cost"].pop("to_today_interval"))
    broken("price", lambda d: d["study"]["prices"].update(late_order=-1))
    broken("currency", lambda d: d["study"]["prices"].update(currency="euro"))
    broken("digest", lambda d: d["study"].update(fingerprint="abc"))
    assert not missed, missed

    for html in (page, bare_page):
        parser = Balanced()
        parser.feed(html)
        assert not parser.open, parser.open
        assert "http://" not in html and "https://" not in html and html.count("<script") == 1
        charts = html.split("<svg")[1:]
        for chart in charts:
            xml.dom.minidom.parseString("<svg" + chart.split("</svg>")[0] + "</svg>")
    assert page.count("<svg") == 5 + 3 and bare_page.count("<svg") == 3
    assert ", worked through.</b>" in page and ", worked through.</b>" not in bare_page
    # The sum on the page, done again from size.json alone.
    money = full["money"][0]
    saved = -next(f for f in full["figures"] if f["room"] == money["room"] and f["volume"] == 1)["cost"]["to_today"]
    room = next(r for r in full["study"]["rooms"] if r["name"] == money["room"])
    prices = full["study"]["prices"]
    cost = room["costs"][0]
    benefit = saved * prices["days_a_year"] - cost["upkeep"] - cost["floor_area_m2"] * prices["floor_m2_year"]
    assert abs(benefit - money["yearly_benefit"]) < 1e-6 * max(1, abs(benefit))
    worth = sum(benefit / 1.05 ** t for t in range(1, round(cost["life_years"]) + 1))
    worth += cost["left_over"] / 1.05 ** cost["life_years"] - cost["purchase"] - cost["installation"]
    assert abs(worth - money["net_present_value"]) < 1e-6 * abs(worth), (worth, money)
    # Each amount of money says its currency where the room does, and none where it does not.
    assert prices["currency"] == "EUR" and bare["study"]["prices"]["currency"] == ""
    assert "EUR" not in bare_page and "in money" not in page
    assert re.search(r" EUR -?[0-9,]+ a year", money["words"]), money["words"]
    heads = [re.sub("<[^>]*>", "", head) for head in re.findall(r"<th scope=\"col\"[^>]*>(.*?)</th>", page)]
    for words in ("Costs now", "Brings a year", "Annual net benefit", "Net present value", "Purchase", "Cost of a day"):
        assert words + ", EUR" in heads and words not in heads, (words, heads)
    assert ">costs a year, EUR<" in page and ">brings a year, EUR<" in page
    assert "a late order EUR 60.00" in page and "comes to EUR " in page
    assert full["conclusion"].split(".")[0] in page.replace("&amp;", "&")
    assert "licensed" in page and "invented" in page
    print(f"conforms; {len(full) + len(full['study']) + 9} broken documents refused")


main(sys.argv[1], sys.argv[2])
