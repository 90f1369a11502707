#!/usr/bin/env python3
"""Runs real recordings through add and analyse, and prints what is said of their quality.

real_recordings.py HOWLPOINT FOLDER    every WAV, OGG and FLAC file below FOLDER

Nothing is known of such recordings but that they are real sound, so the facts are coarse: every
file of half a second or more is taken or refused with a reason, the analysis ends and keeps its
JSON promises, and what it says lies inside the take. Exit 1 if any of this fails, or if FOLDER
holds no recording.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

ENDINGS = {".wav", ".ogg", ".flac"}
KINDS = {"clipped", "over-full-scale", "dropouts", "contact-lost", "contact-loose", "knocks", "hum",
         "hum-or-engine", "rumble", "faint", "coarse", "offset", "too-short"}


def run(*command):
    return subprocess.run([str(part) for part in command], capture_output=True, text=True,
                          timeout=600)


def complaints_about(take):
    for finding in take["quality"]:
        inside = 0 <= finding["from_s"] <= finding["to_s"] <= take["seconds"] + 0.1
        if finding["kind"] not in KINDS or not inside or not 0 <= finding["share"] <= 1:
            yield f"{take['id']}: {finding}"


def examine(howlpoint, file, folder):
    """One recording as a case of its own; yields complaints."""
    case = folder / "case"
    run(howlpoint, "new", case, "--profile", "blank-four-stroke", "--title", file.name)
    added = run(howlpoint, "add", case, file, "--point", "somewhere", "--new-point", "--rpm", 2000)
    if added.returncode != 0:
        refused = added.returncode == 1 and added.stderr.startswith("howlpoint add: ")
        print(f"{file.name}: {added.stderr.strip()}")
        if not refused:
            yield f"{file}: add ended with {added.returncode}: {added.stderr}"
        return
    analysed = run(howlpoint, "analyse", case, "--json")
    if analysed.returncode != 0:
        yield f"{file}: analyse ended with {analysed.returncode}: {analysed.stderr}"
        return
    take = json.loads(analysed.stdout)["takes"][0]
    said = [f"{f['severity']} {f['kind']}: {f['text']}" for f in take["quality"]]
    print(f"{file.name} ({take['seconds']:.1f} s)" + "".join("\n    " + text for text in said))
    yield from complaints_about(take)


def main():
    if len(sys.argv) != 3 or not sys.argv[2]:
        print("give a folder of recordings: cmake -DHOWLPOINT_RECORDINGS=FOLDER", file=sys.stderr)
        return 2
    howlpoint, top = Path(sys.argv[1]), Path(sys.argv[2])
    files = sorted(p for p in top.rglob("*") if p.suffix.lower() in ENDINGS)
    found = [] if files else [f"no recording below {top}"]
    for file in files:
        with tempfile.TemporaryDirectory() as folder:
            found += examine(howlpoint, file, Path(folder))
    print(f"{len(files)} recordings, {len(found)} complaints", *found, sep="\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
