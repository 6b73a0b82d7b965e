"""Validates answers against the published schemas.

    check_schema.py TODAY.json FOLDER       an answer of `today --json`, and the folder's litter.toml
    check_schema.py --assess LINES.jsonl    every line of `assess --replay --json`
    check_schema.py --answer NAME FILE      an answer of the command NAME with --json
"""

import json
import sys
import tomllib
from datetime import date, datetime
from pathlib import Path

import jsonschema

SCHEMAS = Path(__file__).parent.parent / "docs" / "schema"


def as_json(value):
    """TOML as JSON: times as text."""
    if isinstance(value, dict):
        return {k: as_json(v) for k, v in value.items()}
    if isinstance(value, list):
        return [as_json(v) for v in value]
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    return value


def check(schema_name: str, instance) -> None:
    schema = json.loads((SCHEMAS / schema_name).read_text(encoding="utf-8"))
    validator = jsonschema.validators.validator_for(schema)
    validator.check_schema(schema)
    validator(schema).validate(instance)


def main(today_json: str, folder: str) -> None:
    check("today.schema.json", json.loads(Path(today_json).read_text(encoding="utf-8")))
    litter = tomllib.loads((Path(folder) / "litter.toml").read_text(encoding="utf-8"))
    check("litter.schema.json", as_json(litter))
    print(f"{folder}: answer and litter.toml fit their schemas")


def assess(lines: str) -> None:
    text = Path(lines).read_text(encoding="utf-8").splitlines()
    assert text, "no line at all"
    for line in text:
        check("assess.schema.json", json.loads(line))
    print(f"{len(text)} lines of assess fit their schema")


def answer(name: str, file: str) -> None:
    check(f"{name}.schema.json", json.loads(Path(file).read_text(encoding="utf-8")))
    print(f"{name}: the answer fits its schema")


if __name__ == "__main__":
    if sys.argv[1] == "--assess":
        assess(sys.argv[2])
    elif sys.argv[1] == "--answer":
        answer(*sys.argv[2:])
    else:
        main(*sys.argv[1:])
