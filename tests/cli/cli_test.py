#!/usr/bin/env python3
"""Runs one command-line test: NAME.cmd holds shell lines, NAME.out what the last one should do.

The lines run in a fresh folder, with every input of inputs.py that they mention, and howlpoint on
the path. All but the last prepare, and must succeed. NAME.out:

  exit 2                    exit status of the last line
  1| text                   a line of standard output; all of them, in order
  2| text                   a line of standard error; all of them, in order
  + file, ~ file, - file    what the last line added, changed or removed; all of it

In these, <*> stands for anything within a line, <number> for a number, and a line <...> for any
lines. '#' starts a comment in both files.

cli_test.py PROGRAM NAME.cmd           runs; exit 1 and a comparison if it does not go as it should
cli_test.py PROGRAM NAME.cmd --show    prints what happened, as a NAME.out would say it
cli_test.py --self-test                makes sure that a wrong result is noticed
"""

import ctypes
import hashlib
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

sys.dont_write_bytecode = True
import inputs  # noqa: E402

TIME_LIMIT_SECONDS = 120
WILDCARDS = {
    re.escape("<*>"): ".*",
    re.escape("<number>"): r"[-+]?\d+(\.\d+)?(e[-+]?\d+)?",
}
ANY_LINES = "<...>"


def obey_permissions():
    """Root may read and write everything; the tests must see what any other user sees."""
    drop_from_bounding_set, override, read_search = 24, 1, 2
    if os.geteuid() == 0:
        libc = ctypes.CDLL(None, use_errno=True)
        for capability in (override, read_search):
            if libc.prctl(drop_from_bounding_set, capability, 0, 0, 0) != 0:
                raise OSError(ctypes.get_errno(), "cannot drop the right to ignore permissions")


def environment(program, folder):
    path = f"{Path(program).resolve().parent}:{Path(sys.executable).parent}:{os.environ['PATH']}"
    return {"PATH": path, "HOME": str(folder), "TMPDIR": str(folder / "tmp"), "LC_ALL": "C.UTF-8",
            "TESTS": str(Path(__file__).resolve().parent),
            **{k: v for k, v in os.environ.items() if k.endswith("SAN_OPTIONS")}}


def run_line(line, program, folder):
    return subprocess.run(["bash", "-c", line], cwd=folder / "work", stdin=subprocess.DEVNULL,
                          env=environment(program, folder), preexec_fn=obey_permissions,
                          capture_output=True, timeout=TIME_LIMIT_SECONDS)


def tree(folder):
    """Every file and folder below, with what it holds."""
    content = {}
    for path in sorted(folder.rglob("*")):
        name = str(path.relative_to(folder))
        content[name] = "folder" if path.is_dir() else hashlib.sha256(path.read_bytes()).hexdigest()
    return content


def changes(before, after):
    added = [f"+ {name}" for name in after if name not in before]
    changed = [f"~ {name}" for name in after if name in before and before[name] != after[name]]
    removed = [f"- {name}" for name in before if name not in after]
    return added + changed + removed


def text_lines(stream, prefix):
    return [f"{prefix}| {line}".rstrip() for line in stream.decode("utf-8", "replace").splitlines()]


def happened(program, command_file):
    """What the last line did, in the words of a .out file."""
    text = command_file.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        (folder / "work").mkdir()
        (folder / "tmp").mkdir()
        inputs.make_mentioned(text, folder / "work")
        for line in lines[:-1]:
            done = run_line(line, program, folder)
            if done.returncode != 0:
                raise RuntimeError(f"preparation failed: {line}\n{done.stderr.decode()}")
        before = tree(folder)
        done = run_line(lines[-1], program, folder)
        moved = [change.replace(" work/", " ", 1) for change in changes(before, tree(folder))]
        restore_permissions(folder)
    return ([f"exit {done.returncode}"] + text_lines(done.stdout, 1) + text_lines(done.stderr, 2) +
            moved)


def restore_permissions(folder):
    for path in [folder, *folder.rglob("*")]:
        if path.is_dir():
            path.chmod(0o700)


def expected_lines(file):
    return [line.rstrip() for line in file.read_text(encoding="utf-8").splitlines()
            if line.strip() and not line.startswith("#")]


def line_pattern(line):
    pattern = re.escape(line)
    for mark, meaning in WILDCARDS.items():
        pattern = pattern.replace(mark, meaning)
    return pattern


def group_matches(expected, actual):
    pattern = ""
    for line in expected:
        body = line.split("|", 1)[-1].strip()
        pattern += "(.*\n)*" if body == ANY_LINES else line_pattern(line) + "\n"
    return re.fullmatch(pattern, "".join(line + "\n" for line in actual)) is not None


def matches(expected, actual):
    """Exit status, the two streams and the tree must each match as a whole."""
    groups = (("exit",), ("1|",), ("2|",), ("+", "~", "-"))
    if any(not line.startswith(sum(groups, ())) for line in expected):
        return False
    return all(group_matches([line for line in expected if line.startswith(starts)],
                             [line for line in actual if line.startswith(starts)])
               for starts in groups)


def self_test():
    actual = ["exit 2", "1| a 1.5 b", "1| c", "2| bad: x; do y", "+ new"]
    right = [actual,
             ["exit 2", "1| a <number> b", "1| c", "2| bad: <*>; do y", "+ new"],
             ["exit 2", "1| <...>", "2| <...>", "+ <*>"],
             ["exit 2", "1| <...>", "1| c", "2| bad: x; do y", "+ new"]]
    wrong = [["exit 0"] + actual[1:], actual[:-1], actual[:1] + actual[2:], actual + ["- old"],
             actual[:1] + ["1| a x b"] + actual[2:], ["exit 2", "1| c", "1| a 1.5 b"] + actual[3:],
             actual[:3] + ["2| bad: x", "+ new"], actual + ["1| c"], [], actual + ["stray text"]]
    failures = [case for case in right if not matches(case, actual)]
    failures += [case for case in wrong if matches(case, actual)]
    print("\n".join(f"judged wrongly: {case}" for case in failures) or "judges rightly")
    return 1 if failures else 0


def main(arguments):
    if arguments == ["--self-test"]:
        return self_test()
    program, command_file = arguments[0], Path(arguments[1])
    actual = happened(program, command_file)
    if arguments[2:] == ["--show"]:
        print("\n".join(actual))
        return 0
    expected = expected_lines(command_file.with_suffix(".out"))
    if matches(expected, actual):
        return 0
    print(f"expected:\n  " + "\n  ".join(expected) + "\nhappened:\n  " + "\n  ".join(actual))
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
