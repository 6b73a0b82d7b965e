"""Reads calendar files with two independent parsers, icalendar and vobject.

    check_calendar.py TIMETABLE.json FOLDER
    check_calendar.py STAGES.json FOLDER

Of a timetable:

Both parsers must find, for each carer, exactly the rounds of the JSON: start and end as
instants, two display alarms at 10 minutes before and at the start, no repetition, and a
summary without names.

Of stages both must find the same all-day events for each carer: one day long, none in the past but
for a window that is still open, one alarm at nine in the morning of that day, no names, and every
worming that is still to come.
"""

import json
import sys
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import icalendar
import vobject


def instant(text):
    return datetime.fromisoformat(text).astimezone(timezone.utc)


def by_icalendar(data):
    events = {}
    for event in icalendar.Calendar.from_ical(data).walk("VEVENT"):
        alarms = [(str(a["ACTION"]), a["TRIGGER"].dt) for a in event.walk("VALARM")]
        assert "RRULE" not in event
        events[str(event["UID"])] = (event["DTSTART"].dt, event["DTEND"].dt, str(event["SUMMARY"]), alarms, int(event["SEQUENCE"]))
    return events


def by_vobject(text):
    events = {}
    for event in vobject.readOne(text).vevent_list:
        alarms = [(a.action.value, a.trigger.value) for a in event.valarm_list]
        assert not hasattr(event, "rrule")
        events[event.uid.value] = (event.dtstart.value, event.dtend.value, event.summary.value, alarms, int(event.sequence.value))
    return events


def dates(report, folder):
    files = sorted(Path(folder).glob("dates-*.ics"))
    carers = report["carers"] or ["everyone"]
    assert sorted(f.stem.removeprefix("dates-") for f in files) == sorted(carers), "a file for each carer"
    names = [p["pup"] for p in report["pups"]] + [report["litter"]]
    to_come = lambda item: item["code"] == "worming" and item["state"] in ("due", "coming")
    worming = {date.fromisoformat(i["from"]) for p in report["pups"] for i in p["items"] if to_come(i)}
    assert worming, "nothing to look for"
    seen = 0
    for file in files:
        data = file.read_bytes()
        assert data.count(b"\n") == data.count(b"\r\n"), "line ends are CRLF"
        assert all(len(line) <= 75 for line in data.split(b"\r\n")), "lines are folded at 75 octets"
        first, second = by_icalendar(data), by_vobject(data.decode())
        assert first == second, f"{file}: the parsers differ"
        for start, end, summary, alarms, _ in first.values():
            assert type(start) is date and end - start == timedelta(days=1), f"{file}: {start} to {end}"
            assert alarms == [("DISPLAY", timedelta(hours=9))], f"{file}: {alarms}"
            assert not any(name in summary for name in names), f"{file}: {summary}"
        found = {s for s, _, summary, *_ in first.values() if summary.startswith("Worming")}
        assert worming <= found, f"{file}: {sorted(worming - found)} is missing"
        seen += len(first)
    print(f"{folder}: {seen} all-day events read alike by icalendar and vobject")


def main(made_from, folder):
    report = json.loads(Path(made_from).read_text(encoding="utf-8"))
    if "weaning_steps" in report:
        return dates(report, folder)
    files = sorted(Path(folder).glob("*.ics"))
    assert files, "no calendar file"
    expected_alarms = [("DISPLAY", -timedelta(minutes=10)), ("DISPLAY", timedelta(0))]
    seen = 0
    for file in files:
        data = file.read_bytes()
        assert data.count(b"\n") == data.count(b"\r\n"), "line ends are CRLF"
        assert all(len(line) <= 75 for line in data.split(b"\r\n")), "lines are folded at 75 octets"
        carer = file.stem.removeprefix("feeds-")
        mine = [r for r in report["rounds"] if r["feeds"] and carer in [c["carer"] for c in r["carers"]]]
        if not mine:
            assert b"BEGIN:VEVENT" not in data, f"{file}: events for someone who is on no round"
            continue
        first, second = by_icalendar(data), by_vobject(data.decode())
        normal = lambda events: {
            uid: (s.astimezone(timezone.utc), e.astimezone(timezone.utc), *rest) for uid, (s, e, *rest) in events.items()
        }
        assert normal(first) == normal(second), f"{file}: the parsers differ"
        found = sorted((s, e) for s, e, *_ in normal(first).values())
        assert found == sorted((instant(r["at"]), instant(r["until"])) for r in mine), f"{file}: other times"
        names = [p["pup"] for r in report["rounds"] for p in r["feeds"]] + [report["litter"], carer]
        for start, end, summary, alarms, _ in normal(first).values():
            assert start.tzinfo is not None and end > start
            assert alarms == expected_alarms, f"{file}: {alarms}"
            assert not any(name in summary for name in names), f"{file}: {summary}"
        seen += len(found)
    assert seen, "no event in any file"
    print(f"{folder}: {seen} events read alike by icalendar and vobject")


main(*sys.argv[1:])
