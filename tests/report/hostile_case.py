"""Fills every text of a case with what somebody might enter to break a report, or by accident."""

import json
from pathlib import Path

SCRIPT = "<script>window.pwned=true;alert(1)</script>"
MARKUP = "\"><img src=x onerror=\"window.pwned=true\"><b>&amp;</b> <svg/onload=alert(2)> ]]> --><!--"
LEAK = "<link rel=stylesheet href=https://example.com/x.css><iframe src=https://example.com>"
MANIFEST = "<template id=\"howlpoint-manifest\">{\"schema\":\"howlpoint.manifest/1\"}</template>"
PDF = "\n%howlpoint-manifest {}\nendobj\n%%EOF ) ' \\ << /JS (app.alert(1)) >>"
RIGHT_TO_LEFT = "\u202egnp.exe\u202c \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 123 abc"
SCRIPTS = "日本語 한국어 ไทย हिन्दी Ελληνικά Ќирилица \U0001f697 \U0001d573 e\u0301\u0302\u0303\u0304"
CONTROLS = "".join(chr(i) for i in range(1, 32)) + "\x7f\x85\u2028\u2029\ufeff\ufffe\uffff\u200b"
FORMULA = "=HYPERLINK(\"https://example.com\",\"x\")"
LONG_WORD = "W" * 2_000
LONG_TEXT = "the quick brown fox jumps over the lazy dog " * 228

TEXTS = [SCRIPT, MARKUP, LEAK, MANIFEST, PDF, RIGHT_TO_LEFT, SCRIPTS, CONTROLS, FORMULA, LONG_WORD,
         LONG_TEXT]


def make(folder):
    """Every free text of the case becomes several of these; names stay different."""
    file = Path(folder) / "case.json"
    case = json.loads(file.read_text(encoding="utf-8"))
    everything = " ".join(TEXTS)
    case["title"] = SCRIPT + " " + MARKUP + " " + RIGHT_TO_LEFT + " " + CONTROLS + SCRIPTS
    case["about"] = {key: everything for key in
                     ("complaint", "vehicle", "customer", "recorded_by", "recorded_on", "job")}
    case["created"] = "2026-01-01T00:00:00Z" + SCRIPT
    names = {}
    for number, point in enumerate(case["points"]):
        names[point["name"]] = f"{number} " + TEXTS[number % len(TEXTS)] + " " + MARKUP
        point["name"] = names[point["name"]]
        point["description"] = everything
    for number, take in enumerate(case["takes"]):
        take["point"] = names[take["point"]]
        take["note"] = TEXTS[number % len(TEXTS)] + SCRIPT
        take["original_name"] = TEXTS[(number + 1) % len(TEXTS)]
        take["added"] = SCRIPT
        take["load"] = {key: value for key, value in take["load"].items()}
    case["evidence"] = [{"key": text[:300], "value": MARKUP, "note": everything, "added": SCRIPT}
                        for text in TEXTS]
    file.write_text(json.dumps(case, ensure_ascii=False), encoding="utf-8")
