#!/usr/bin/env python3
"""Reads the JSON of `howlpoint analyse --json`, checks its shape, and prints what it found wrong."""

import json
import math
import sys

TOP = {"schema", "takes", "tones", "impacts", "families", "suspect_band", "ranking", "suspects",
       "next_tests", "repairs", "verdict", "warnings", "cautions"}
TAKE = {"id", "point", "load", "speed", "background", "reference", "quality", "warnings"}
QUALITY = {"kind", "severity", "from_s", "to_s", "share", "text", "remedy"}
SEVERITIES = {"note", "doubt", "spoilt"}
SPEED = {"source", "rpm_min", "rpm_max", "rpm_from_sound", "disagreement_percent"}
TONE = {"id", "order", "order_ci95", "frequency_hz", "behaviour", "drive", "pitch_exponent",
        "pitch_exponent_ci95", "rpm_span", "level_db", "tone_to_noise_db", "prominent", "family",
        "takes"}
FAMILY = {"id", "kind", "base_order", "base_order_ci95", "sideband_spacing_order",
          "sideband_spacing_order_ci95", "modulation_depth", "modulation_depth_ci95", "members",
          "false_alarm", "level_db"}
RANKED = {"point", "level_db", "upper_bound", "coherent_level_db", "level_reference", "ci95_db", "probability_loudest", "call", "takes",
          "warnings"}
IMPACT = {"id", "takes", "band_hz", "spectral_kurtosis", "order", "order_ci95", "frequency_hz",
          "rpm_span", "harmonics", "sideband_order", "modulation_depth",
          "false_alarm_probability", "tone", "meaning", "advice"}
SUSPECT = {"source", "component", "probability", "causes", "evidence"}
EVIDENCE = {"id", "text", "weight_db"}
NEXT_TEST = {"id", "test", "why", "information_bits", "minutes", "cautions"}
REPAIR = {"repair", "component", "probability", "hours", "irreversible", "warning"}
VERDICT = {"about", "words", "state", "conclusion", "contradictions", "remarks", "whatever_howls",
           "expected_repair_hours"}
STATES = {"enough", "go on", "not by sound"}
BEHAVIOURS = {"speed-locked", "road-locked", "fixed-pitch", "unlocked", "undetermined"}
DRIVES = {"direct", "belt", "unknown", "engine or road", None}
CALLS = {"clear", "likely", "maybe", "no difference", None}


def numbers(value, path=""):
    if isinstance(value, dict):
        for key, part in value.items():
            yield from numbers(part, f"{path}.{key}")
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from numbers(part, f"{path}[{index}]")
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, value


def intervals(value, path=""):
    if isinstance(value, dict):
        for key, part in value.items():
            named = "_ci95" in key or key in {"frequency_hz", "rpm_span"}
            if named and isinstance(part, list):
                yield f"{path}.{key}", part
            else:
                yield from intervals(part, f"{path}.{key}")
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from intervals(part, f"{path}[{index}]")


def missing(where, value, names):
    return [f"{where}: no {name}" for name in sorted(names - set(value))]


def complaints_of_the_verdict(document):
    found = missing("verdict", document["verdict"], VERDICT)
    if document["verdict"].get("state") not in STATES:
        found.append(f"verdict: state {document['verdict'].get('state')}")
    suspects = document["suspects"]
    for suspect in suspects:
        found += missing("suspect", suspect, SUSPECT)
        for item in suspect["evidence"]:
            found += missing("evidence", item, EVIDENCE)
        of_causes = sum(cause["probability"] for cause in suspect["causes"])
        if of_causes > suspect["probability"] + 1e-6:
            found.append(f"suspect {suspect['source']}: causes are likelier than it")
    chances = [suspect["probability"] for suspect in suspects]
    if chances and abs(sum(chances) - 1) > 1e-6:
        found.append(f"suspects: chances sum to {sum(chances)}")
    if chances != sorted(chances, reverse=True):
        found.append("suspects: not the likeliest first")
    for test in document["next_tests"]:
        found += missing("next test", test, NEXT_TEST)
    for repair in document["repairs"]:
        found += missing("repair", repair, REPAIR)
    return found


def complaints(document):
    found = missing("document", document, TOP)
    if document.get("schema") != "howlpoint.analysis/1":
        found.append("document: unknown schema")
    for take in document.get("takes", []):
        found += missing("take", take, TAKE) + missing("speed", take["speed"], SPEED)
        for finding in take["quality"]:
            found += missing("quality", finding, QUALITY)
            if finding["severity"] not in SEVERITIES or not 0 <= finding["share"] <= 1:
                found.append(f"take {take['id']}: {finding}")
    for tone in document.get("tones", []):
        found += missing("tone", tone, TONE)
        if tone["behaviour"] not in BEHAVIOURS or tone["drive"] not in DRIVES:
            found.append(f"tone {tone['id']}: {tone['behaviour']}, {tone['drive']}")
    ids = {tone["id"] for tone in document.get("tones", [])}
    for family in document.get("families", []):
        found += missing("family", family, FAMILY)
        found += [f"family {family.get('id')}: no tone {member['tone']}"
                  for member in family["members"] if member["tone"] not in ids]
        if not 0 <= family["false_alarm"] <= 1:
            found.append(f"family {family['id']}: chance {family['false_alarm']}")
    for impact in document.get("impacts", []):
        found += missing("impact", impact, IMPACT)
    for point in document.get("ranking", []):
        found += missing("ranking", point, RANKED)
        if point["call"] not in CALLS:
            found.append(f"ranking: call {point['call']}")
    found += complaints_of_the_verdict(document)
    found += [f"{path} is {value}" for path, value in numbers(document)
              if not math.isfinite(value) or abs(value) > 1e12]
    found += [f"{path} is {pair}" for path, pair in intervals(document)
              if len(pair) != 2 or None not in pair and pair[0] > pair[1]]
    return found


def refuse(text):
    raise ValueError(f"{text} is no JSON number")


def main():
    found = complaints(json.load(sys.stdin, parse_constant=refuse))
    print("\n".join(found) or "as promised")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
