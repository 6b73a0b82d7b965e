"""Runs the commands at a terminal, as a person does, and answers what they ask.

    check_prompts.py WHELPWARD
"""

import os
import pty
import select
import subprocess
import sys
import tempfile
import time


def session(program, args, data, answers):
    """Runs the program on a pseudo-terminal; gives each answer when its question is shown."""
    parent, child = pty.openpty()
    env = {k: v for k, v in os.environ.items() if not k.startswith("WHELPWARD")}
    env |= {"WHELPWARD_DATA": data, "TERM": "xterm", "TZ": "Europe/Berlin"}
    process = subprocess.Popen([program, *args], stdin=child, stdout=child, stderr=child, env=env, close_fds=True)
    os.close(child)
    shown, asked, until = "", 0, time.monotonic() + 60
    while time.monotonic() < until:
        ready, _, _ = select.select([parent], [], [], 0.2)
        if ready:
            try:
                part = os.read(parent, 65536)
            except OSError:
                break
            if not part:
                break
            shown += part.decode("utf-8", "replace")
        elif process.poll() is not None:
            break
        if asked < len(answers) and answers[asked][0] in shown:
            shown = shown.split(answers[asked][0], 1)[1]
            os.write(parent, (answers[asked][1] + "\r").encode())
            asked += 1
    code = process.wait(timeout=10)
    assert asked == len(answers), f"{args}: never asked {answers[asked][0]!r}; last shown: {shown[-500:]!r}"
    return code, shown


def main(program):
    with tempfile.TemporaryDirectory() as data:
        def run(args, answers):
            code, shown = session(program, args, data, answers)
            assert code == 0, (args, code, shown[-500:])
            return shown

        run(["litter", "add"], [
            ("call the litter", "Heather"),
            ("Time zone", ""),
            ("smallest step", ""),
            ("adult weight", "12"),
        ])
        run(["birth"], [("Name or collar", "Ash"), ("female, male", "male"), ("tells it from", "grey"), ("Weight", "310")])
        run(["birth"], [("Name or collar", "Yarrow"), ("female, male", ""), ("tells it from", ""), ("Weight", "")])
        # A round: a slip is asked about and typed again; the other pup is passed over.
        shown = run(["weigh"], [
            ("Ash, in g", "3050"),
            ("Keep it?", ""),
            ("Ash, in g", "305"),
            ("Yarrow, in g", ""),
        ])
        assert "Ash: 305" in shown, shown
        history = subprocess.run(
            [program, "history"], env={**os.environ, "WHELPWARD_DATA": data}, capture_output=True, text=True, check=True
        ).stdout
        assert "3050" not in history and "305\u00a0g" in history, history
        assert "time zone Europe/Berlin" in history, "the zone of this computer is the default"
    print("the commands ask at a terminal, and a slip is asked about")


main(sys.argv[1])
