#!/usr/bin/python3
"""The golden calendar files read with the library python3-icalendar (RFC 5545) and say what the plan
document says."""
import datetime
import glob
import json
import sys

import icalendar


def sound(component, path):
    """Version 4 of the library says is_broken, version 6 only lists errors."""
    assert not getattr(component, "is_broken", False) and not component.errors, (path, component.errors)


def events_of(path):
    data = open(path, "rb").read()
    calendar = icalendar.Calendar.from_ical(data)
    sound(calendar, path)
    assert calendar["VERSION"] == "2.0" and "PRODID" in calendar
    events = calendar.walk("VEVENT")
    for event in events:
        sound(event, path)
        for required in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "CATEGORIES"):
            assert required in event, (path, required)
        assert event.decoded("DTSTART").tzinfo is None, "local times float"
        assert event.decoded("DTSTAMP").utcoffset() == datetime.timedelta(0), "DTSTAMP is in UTC"
        assert event.decoded("DTSTART") <= event.decoded("DTEND")
    return events


def person_of(event):
    return "".join(str(c) for c in event["CATEGORIES"].cats)


def main(root):
    plan = json.load(open(root + "/tests/golden/plan.json", encoding="utf-8"))
    wanted = sorted((o["start"], o["people_until"], o["words"], o["place"], name)
                    for o in plan["operations"] for name in o["people"])
    events = events_of(root + "/tests/golden/plan.ics")
    found = sorted((e.decoded("DTSTART").strftime("%Y-%m-%dT%H:%M"), e.decoded("DTEND").strftime("%Y-%m-%dT%H:%M"),
                    str(e["SUMMARY"]), str(e["LOCATION"]), person_of(e)) for e in events)
    assert found == wanted, (found, wanted)
    uids = [str(e["UID"]) for e in events]
    assert len(set(uids)) == len(uids) > 10
    own = [str(e["UID"]) for path in glob.glob(root + "/tests/golden/plan-*.ics") for e in events_of(path)]
    assert sorted(own) == sorted(uids), "the people's files together are the whole"
    print(f"{len(events)} events read and compared")


main(sys.argv[1])
