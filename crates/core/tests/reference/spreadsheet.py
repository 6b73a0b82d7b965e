"""Outside check of reading sheets: Python's csv module and zoneinfo.

Usage: spreadsheet.py OUTPUT.json

For each sheet beside this script: its records with the line on which each begins, as the csv
module splits them, and every local time in them as the instants that it can be (none where the
clocks skip it, two where they repeat it). Then such local times for a few zones, every half
hour around changes of the clocks.
"""

import csv
import datetime as dt
import io
import json
import pathlib
import sys
from zoneinfo import ZoneInfo

HERE = pathlib.Path(__file__).parent / "sheets"
UTC = dt.timezone.utc

# File, encoding, separator, zone, forms of its local times, columns that make one.
SHEETS = [
    ("long_semicolon.csv", "utf-8-sig", ";", "Europe/Berlin", ["%d.%m.%Y %H:%M", "%d.%m.%Y %H.%M"], [1, 2]),
    ("pup_columns_comma.csv", "utf-8", ",", "Europe/Berlin", ["%Y-%m-%d %H:%M"], [0]),
    ("date_columns_utf16.txt", "utf-16", "\t", "Europe/Berlin", [], []),
    ("clocks_berlin.csv", "utf-8", ",", "Europe/Berlin", ["%Y-%m-%d %H:%M"], [1]),
    ("clocks_new_york.csv", "utf-8", ",", "America/New_York", ["%m/%d/%Y %I:%M %p"], [1, 2]),
    ("old_code_page.csv", "cp1252", ";", "Europe/Berlin", ["%d.%m.%Y %H:%M Uhr"], [0]),
]

# Zone and days on which its clocks change.
CHANGES = [
    ("Europe/Berlin", ["2026-10-25", "2027-03-28", "2027-10-31"]),
    ("America/New_York", ["2026-11-01", "2027-03-14", "2027-11-07"]),
    ("Australia/Lord_Howe", ["2026-10-04", "2027-04-04"]),
    ("Europe/Dublin", ["2027-03-28", "2027-10-31"]),
    ("Asia/Kathmandu", ["2027-03-28"]),
]


def instants(local, zone):
    """The instants that a local time can be, earliest first."""
    found = []
    for fold in (0, 1):
        at = local.replace(tzinfo=ZoneInfo(zone), fold=fold).astimezone(UTC)
        if at.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == local and at not in found:
            found.append(at)
    return [at.strftime("%Y-%m-%dT%H:%M:%SZ") for at in sorted(found)]


def parsed(text, forms):
    for form in forms:
        try:
            return dt.datetime.strptime(text, form)
        except ValueError:
            pass
    return None


def sheet(file, encoding, separator, zone, forms, columns):
    text = (HERE / file).read_bytes().decode(encoding)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    records, times, begins = [], [], 1
    for cells in reader:
        if cells:
            # A line break in a cell is one character in our texts.
            cells = [cell.replace("\r\n", "\n") for cell in cells]
            records.append({"line": begins, "cells": cells})
            local = parsed(" ".join(cells[c] for c in columns if c < len(cells)), forms)
            if local is not None:
                times.append({"line": begins, "instants": instants(local, zone)})
        begins = reader.line_num + 1
    return {"file": file, "zone": zone, "separator": separator, "columns": columns, "records": records, "times": times}


def change(zone, day):
    start = dt.datetime.fromisoformat(day)
    locals_ = [start + dt.timedelta(minutes=30 * n) for n in range(10)]
    return [{"local": f"{t:%Y-%m-%dT%H:%M}", "instants": instants(t, zone)} for t in locals_]


def main(output):
    result = {
        "sheets": [sheet(*row) for row in SHEETS],
        "changes": [{"zone": zone, "times": change(zone, day)} for zone, days in CHANGES for day in days],
    }
    with open(output, "w", encoding="utf-8") as file:
        json.dump(result, file, indent=1, ensure_ascii=False)
        file.write("\n")


if __name__ == "__main__":
    main(sys.argv[1])
