"""Reads the ZIP of a whole book with Python's zipfile, csv and jsonschema, and counts.

    check_export.py BOOK.zip

Every fact must fit the published schema, every table must be RFC 4180 as Python's csv reads
it, and the tables must hold exactly the facts that neither a later version nor a withdrawal
takes out of the count (worked out here again, from the facts alone).
"""

import csv
import io
import json
import sys
import zipfile
from datetime import datetime
from pathlib import Path

import jsonschema

SCHEMA = Path(__file__).parent.parent / "docs" / "schema" / "fact.schema.json"


def counting(facts):
    """Ids of the facts that count: leaves of their versions, not withdrawn, the last made."""
    by_id = {f["id"]: f for f in facts}
    withdrawn = set()
    for fact in sorted((f for f in facts if f["kind"] == "void"), key=lambda f: f["id"], reverse=True):
        if fact["id"] not in withdrawn:
            withdrawn.add(fact["voids"])
    superseded = {f["supersedes"] for f in facts if f.get("supersedes") in by_id}

    def root(fact):
        while fact.get("supersedes") in by_id:
            fact = by_id[fact["supersedes"]]
        return fact["id"]

    winners = {}
    for fact in sorted(facts, key=lambda f: f["id"]):
        if fact["kind"] != "void" and fact["id"] not in withdrawn and fact["id"] not in superseded:
            winners[root(fact)] = fact["id"]
    return set(winners.values())


def main(path: str) -> None:
    archive = zipfile.ZipFile(path)
    assert archive.testzip() is None
    names = archive.namelist()
    assert "README.txt" in names, names
    facts = [json.loads(line) for line in archive.read("facts.jsonl").decode().splitlines()]
    assert facts, "an empty book shows nothing"
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    validator = jsonschema.validators.validator_for(schema)
    validator.check_schema(schema)
    for fact in facts:
        validator(schema).validate(fact)
    rows = []
    for name in (n for n in names if n.startswith("tables/")):
        raw = archive.read(name).decode("utf-8")
        assert raw.count("\r\n") >= 1 and not raw.replace("\r\n", "").count("\r"), name
        table = list(csv.DictReader(io.StringIO(raw, newline=""), strict=True))
        for row in table:
            assert None not in row and None not in row.values(), (name, row)
            assert datetime.fromisoformat(row["occurred_at"]).utcoffset() is not None, row
            rows.append(row["id"])
            if name == "tables/weighing.csv" and row["unit"] == "g":
                assert float(row["as_grams_g"]) == float((row["weight"] or row["weight_g"]).replace(",", ".")), row
    assert sorted(rows) == sorted(counting(facts)), (len(rows), len(counting(facts)))
    print(f"{len(facts)} facts fit the schema; {len(rows)} rows in the tables are those that count")


main(sys.argv[1])
