"""Compares two text files: numbers to 1e-9 relative, everything else to the letter."""

import re
import sys

NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")


def main(on_record: str, fresh: str) -> int:
    with open(on_record, encoding="utf-8") as a, open(fresh, encoding="utf-8") as b:
        left, right = a.read(), b.read()
    if NUMBER.sub("#", left) != NUMBER.sub("#", right):
        print(f"{on_record}: the text differs from what its script now writes", file=sys.stderr)
        return 1
    for x, y in zip(NUMBER.findall(left), NUMBER.findall(right)):
        if abs(float(x) - float(y)) > 1e-9 * max(1.0, abs(float(x))):
            print(f"{on_record}: {x} on record, {y} now", file=sys.stderr)
            return 1
    print(f"{on_record}: as its script writes it")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
