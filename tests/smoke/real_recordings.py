#!/usr/bin/env python3
"""Runs real recordings through add and analyse, and prints what is said of their quality and speed.

real_recordings.py HOWLPOINT FOLDER    every WAV, OGG and FLAC file below FOLDER

Nothing is known of such recordings but that they are real sound, so the facts are coarse: every
file of half a second or more is taken or refused with a reason, the analysis ends and keeps its
JSON promises, and what it says lies inside the take. Then the speed is asked of the sound: one that
is told is one that an engine can have, and a sound of a few turns is never enough to tell it. Exit
1 if any of this fails, or if FOLDER holds no recording.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ENDINGS = {".wav", ".ogg", ".flac"}
KINDS = {"clipped", "over-full-scale", "dropouts", "contact-lost", "contact-loose", "knocks", "hum",
         "hum-or-engine", "rumble", "faint", "coarse", "offset", "too-short",
         "no-reference"}
ENGINE_RPM = (300, 20_000)  # a racing engine's highest; common practice
FEW_TURNS_SECONDS = 0.7  # an engine that idles at 850 rpm turns ten times
UNSURE = ("is too short to tell", "does not show the engine's orders", "does not settle")


def run(*command):
    return subprocess.run([str(part) for part in command], capture_output=True, text=True,
                          timeout=600)


def complaints_about(take):
    for finding in take["quality"]:
        inside = 0 <= finding["from_s"] <= finding["to_s"] <= take["seconds"] + 0.1
        if finding["kind"] not in KINDS or not inside or not 0 <= finding["share"] <= 1:
            yield f"{take['id']}: {finding}"


def analysed_take(howlpoint, case):
    """What is said of the case's only take; none where the analysis fails, which it yields."""
    analysed = run(howlpoint, "analyse", case, "--json")
    if analysed.returncode != 0:
        yield f"{case}: analyse ended with {analysed.returncode}: {analysed.stderr}"
        return None
    return json.loads(analysed.stdout)["takes"][0]


def examine(howlpoint, file, folder, told):
    """One recording as a case of its own, with a speed and without; yields complaints."""
    case = folder / "case"
    run(howlpoint, "new", case, "--profile", "blank-four-stroke", "--title", file.name)
    added = run(howlpoint, "add", case, file, "--point", "somewhere", "--new-point", "--rpm", 2000)
    if added.returncode != 0:
        refused = added.returncode == 1 and added.stderr.startswith("howlpoint add: ")
        print(f"{file.name}: {added.stderr.strip()}")
        if not refused:
            yield f"{file}: add ended with {added.returncode}: {added.stderr}"
        return
    take = yield from analysed_take(howlpoint, case)
    if take is None:
        return
    said = [f"{f['severity']} {f['kind']}: {f['text']}" for f in take["quality"]]
    print(f"{file.name} ({take['seconds']:.1f} s)" + "".join("\n    " + text for text in said))
    yield from complaints_about(take)
    yield from ask_for_speed(howlpoint, file, folder, told)


def implausible_speed(take):
    """What is wrong with a speed that was told from the sound; yields complaints."""
    low, high = take["speed"]["rpm_min"], take["speed"]["rpm_max"]
    if not ENGINE_RPM[0] <= low <= high <= ENGINE_RPM[1]:
        yield f"{take['id']}: no engine turns at {low:.0f} to {high:.0f} rpm"
    if take["seconds"] < FEW_TURNS_SECONDS:
        yield f"{take['id']}: a speed of {low:.0f} rpm from {take['seconds']:.2f} s"


def ask_for_speed(howlpoint, file, folder, told):
    """The same without a speed entered: it is told, or why it cannot be; yields complaints."""
    case = folder / "unknown-speed"
    run(howlpoint, "new", case, "--profile", "blank-four-stroke", "--title", file.name)
    added = run(howlpoint, "add", case, file, "--point", "somewhere", "--new-point",
                "--rpm-from-sound")
    why = next((reason for reason in UNSURE if reason in added.stderr), None)
    if added.returncode == 1 and why:
        may_be = re.search("it may be (.*); give", added.stderr)
        print(f"    speed: unsure, {why}{': ' + may_be[1] if may_be else ''}")
        told["unsure"] += 1
        return
    if added.returncode != 0:
        yield f"{file}: add --rpm-from-sound ended with {added.returncode}: {added.stderr}"
        return
    take = yield from analysed_take(howlpoint, case)
    if take is None:
        return
    speed = take["speed"]
    print(f"    speed: {speed['rpm_min']:.0f} to {speed['rpm_max']:.0f} rpm")
    told["told"] += 1
    yield from implausible_speed(take)


def main():
    if len(sys.argv) != 3 or not sys.argv[2]:
        print("give a folder of recordings: cmake -DHOWLPOINT_RECORDINGS=FOLDER", file=sys.stderr)
        return 2
    howlpoint, top = Path(sys.argv[1]), Path(sys.argv[2])
    files = sorted(p for p in top.rglob("*") if p.suffix.lower() in ENDINGS)
    found = [] if files else [f"no recording below {top}"]
    told = {"told": 0, "unsure": 0}
    for file in files:
        with tempfile.TemporaryDirectory() as folder:
            found += examine(howlpoint, file, Path(folder), told)
    print(f"{len(files)} recordings; speed told of {told['told']}, unsure of {told['unsure']}; "
          f"{len(found)} complaints", *found, sep="\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
