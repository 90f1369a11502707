#!/usr/bin/env python3
"""Reads the JSON of `howlpoint compare --json`, checks its shape, and prints what it found wrong."""

import json
import sys

sys.dont_write_bytecode = True
from json_contract import missing, numbers  # noqa: E402

TOP = {"schema", "verdict", "howl", "level_reference", "tones", "suspect_band", "places",
       "only_before", "only_after", "record_next", "warnings"}
TONE = {"id_before", "id_after", "order", "frequency_hz", "behaviour", "combustion", "change",
        "why", "measured", "prominent_before", "prominent_after", "at", "found_before",
        "found_after", "firing_order_before", "multiple_of", "unsettled_at"}
MEASURED = {"before_db", "after_db", "before_below_db", "after_below_db", "change_db",
            "change_ci95_db", "relative_change_db", "relative_change_ci95_db"}
AT = {"place", "measured", "tone_to_noise_before_db", "tone_to_noise_after_db", "limit_db"}
PLACE = {"point", "condition", "takes_before", "takes_after", "rest_change_db", "firing_change_db",
         "trusted", "steady", "doubts", "record_again"}
CHANGES = {"gone", "weaker", "unchanged", "louder", "new", "undetermined"}


def of_measured(where, measured):
    found = missing(where, measured, MEASURED)
    for name in ("change", "relative_change"):
        low, high = measured[f"{name}_ci95_db"]
        if low is not None and high is not None and low > high:
            found.append(f"{where}: {name} interval {low}, {high}")
    return found


def complaints(document):
    found = missing("document", document, TOP)
    if document.get("schema") != "howlpoint.comparison/1":
        found.append("document: unknown schema")
    for tone in document["tones"]:
        found += missing("tone", tone, TONE)
        if tone["change"] not in CHANGES:
            found.append(f"tone: change {tone['change']}")
        if tone["measured"] is not None:
            found += of_measured("tone", tone["measured"])
        for at in tone["at"]:
            found += missing("at", at, AT) + of_measured("at", at["measured"])
            if not 0 <= at["place"] < len(document["places"]):
                found.append(f"at: place {at['place']}")
    for place in document["places"]:
        found += missing("place", place, PLACE)
    if not document["tones"] or not document["places"]:
        found.append("document: nothing was compared")
    found += [f"{path}: {value}" for path, value in numbers(document) if abs(value) > 1e9]
    return found


if __name__ == "__main__":
    print("\n".join(complaints(json.load(sys.stdin))) or "as promised")
