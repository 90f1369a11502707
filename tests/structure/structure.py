#!/usr/bin/env python3
"""Checks that the tree keeps its shape: layers, includes, top level, and that every test is built.

structure.py SOURCE [--compile-commands FILE [LEFT_OUT ...]]
    prints each breach; exit 1 if there is any. FILE is that of a build, which compiles every test
    but those in the folders LEFT_OUT
structure.py --self-test                        plants breaches and expects each to be found
"""

import json
import re
import sys
import tempfile
from pathlib import Path

TOP_LEVEL = {
    ".ci", ".clang-format", ".clang-tidy", ".gitignore", "CMakeLists.txt", "CMakePresets.json",
    "DEVELOPERS.md", "LICENSE", "README.md", "dsp", "profiles", "samples-demo", "src", "tests", "ui",
}
NOT_KEPT = {".git", "build", "demo-out", ".cache"}  # made by tools, never part of the project

# What pure computation may take from the standard library: nothing that reads files or clocks,
# starts threads, or depends on the locale.
DSP_STANDARD = {
    "algorithm", "array", "bit", "cassert", "climits", "cmath", "compare", "complex", "concepts",
    "cstddef", "cstdint", "cstdlib", "cstring", "deque", "exception", "functional",
    "initializer_list", "iterator", "limits", "list", "map", "memory", "new", "numbers", "numeric",
    "optional", "queue", "random", "ranges", "set", "span", "stdexcept", "string", "string_view",
    "tuple", "type_traits", "unordered_map", "unordered_set", "utility", "valarray", "variant",
    "vector",
}
KISSFFT = re.compile(r"^(kissfft/)?kiss_?fft\w*\.(h|hh)$")
INCLUDE = re.compile(r'^\s*#\s*include\s*[<"]([^>"]+)[>"]', re.MULTILINE)
UNITED = re.compile(r'^#include "(/.*)"$', re.M)
# What an anonymous namespace defines, as far as the layout of the code shows it.
ANONYMOUS = re.compile(r"^namespace \{\n(.*?)^\}  // namespace$", re.M | re.S)
NAMESPACE = re.compile(r"^namespace ([\w:]+) \{$", re.M)
FUNCTION = re.compile(r"^(?!template|TEST_CASE)[\w:][^;{}()=#/]*?[\s&*>](\w+)\(([^;{}]*?)\)[^;{}()]*\{", re.M)
TYPE = re.compile(r"^(?:struct|class|enum class) (\w+)", re.M)
# Their files are compiled one by one in every build.
NOT_UNITED = {"tests/dsp", "tests/trials", "tests/reference", "tests/fuzz"}
TEST_CASE = re.compile(r"^\s*(TEST_CASE|SCENARIO)\w*\s*\(", re.MULTILINE)


def sources(folder):
    return sorted(p for p in folder.rglob("*") if p.suffix in {".h", ".cpp", ".hpp", ".cc"})


def includes(file):
    return INCLUDE.findall(file.read_text(encoding="utf-8"))


def dsp_may_include(file, name):
    if name in DSP_STANDARD or name.startswith("dsp/"):
        return True
    return file.name == "fft.cpp" and KISSFFT.match(name) is not None


def layer_breaches(root):
    for file in sources(root / "dsp"):
        for name in includes(file):
            if not dsp_may_include(file, name):
                yield f"{file.relative_to(root)}: dsp/ may not include {name}"
    for file in sources(root / "src"):
        for name in includes(file):
            if name.startswith(("ui/", "tests/")):
                yield f"{file.relative_to(root)}: src/ may not include {name}"
            if name.startswith("src/cli/") and "cli" not in file.relative_to(root).parts:
                yield f"{file.relative_to(root)}: only src/cli/ may include {name}"


def circle_breaches(root):
    """No directory of src/ knows, however far around, one that knows it."""
    known, witness = {}, {}
    for file in sources(root / "src"):
        parts = file.relative_to(root / "src").parts
        for name in includes(file):
            other = name.split("/")[1:-1]
            if name.startswith("src/") and len(parts) > 1 and other and other[0] != parts[0]:
                known.setdefault(parts[0], set()).add(other[0])
                witness[parts[0], other[0]] = f"{file.relative_to(root)}: includes {name}"

    def reaches(start, goal, seen):
        return start == goal or any(reaches(next_one, goal, seen | {start})
                                    for next_one in known.get(start, ()) if next_one not in seen)

    for (user, used), where in sorted(witness.items()):
        if reaches(used, user, set()):
            yield f"{where}, but src/{used}/ knows src/{user}/"


# Of the window: who may know what. Panels draw and say wishes; they start no thread, open no file
# and no device. What is below the panels knows no display.
DISPLAY = re.compile(r"^(GLFW|GL|backends)/|^(glfw|imgui_impl)")
UI_MAY_NOT = {
    "panels": re.compile(r"^ui/(platform|script)/|^src/(audio|record|cli|files)/|^(thread|mutex|fstream|iostream)$"),
    "look": re.compile(r"^ui/(platform|script|panels|pictures)/|^src/(audio|record|cli|files|analysis)/"
                       r"|^(thread|mutex|fstream|iostream)$"),
    "pictures": re.compile(r"^ui/(platform|script|panels|state)/|^src/(cli|record)/"),
    "jobs": re.compile(r"^ui/(?!jobs/)|^src/|^imgui"),
    "state": re.compile(r"^ui/(platform|script|panels)/|^src/cli/|^imgui"),
}


def window_breaches(root):
    for file in sources(root / "ui"):
        part = file.relative_to(root / "ui").parts[0]
        for name in includes(file):
            if DISPLAY.match(name) and part != "platform":
                yield f"{file.relative_to(root)}: only ui/platform/ may include {name}"
            if part in UI_MAY_NOT and UI_MAY_NOT[part].match(name):
                yield f"{file.relative_to(root)}: ui/{part}/ may not include {name}"
            if name.startswith("src/cli/"):
                yield f"{file.relative_to(root)}: only src/cli/ may include {name}"
    for file in sources(root / "tests"):
        for name in includes(file):
            if name.startswith("ui/") and "ui" not in file.relative_to(root).parts[1:2]:
                yield f"{file.relative_to(root)}: only tests/ui/ may include {name}"


def include_path_breaches(root):
    """Every project include is written from the top of the tree and names a file that exists."""
    made_by_the_build = {"src/version.h"}
    for layer in ("dsp", "src", "ui"):
        for file in sources(root / layer):
            for name in includes(file):
                if ".." in Path(name).parts:
                    yield f"{file.relative_to(root)}: write {name} from the top of the tree"
                ours = name.split("/")[0] in {"dsp", "src", "ui"} and "/" in name
                if ours and name not in made_by_the_build and not (root / name).exists():
                    yield f"{file.relative_to(root)}: {name} does not exist"


def top_level_breaches(root):
    found = {p.name for p in root.iterdir()} - NOT_KEPT
    for name in sorted(found - TOP_LEVEL):
        yield f"{name}: does not belong on the top level"
    for name in sorted(TOP_LEVEL - found):
        yield f"{name}: is missing from the top level"


def compiled_files(compile_commands):
    """Where directories are compiled as one, a file that includes theirs stands for them."""
    entries = json.loads(Path(compile_commands).read_text(encoding="utf-8"))
    for file in (Path(entry["file"]).resolve() for entry in entries):
        yield file
        if "Unity" in file.parts:
            yield from map(Path, UNITED.findall(file.read_text(encoding="utf-8")))


def test_breaches(root, compile_commands, left_out):
    built = set(compiled_files(compile_commands)) if compile_commands else None
    for file in sorted((root / "tests").rglob("*.cpp")):
        name = file.relative_to(root)
        is_test = file.name.endswith("_test.cpp")
        if is_test and not TEST_CASE.search(file.read_text(encoding="utf-8")):
            yield f"{name}: holds no test"
        is_built = built is None or file.resolve() in built or str(name.parent) in left_out
        if is_test and not is_built:
            yield f"{name}: is not compiled"
        if not is_test and TEST_CASE.search(file.read_text(encoding="utf-8")):
            yield f"{name}: holds tests, but its name does not end in _test.cpp"


def parameter_types(parameters):
    """Of `const Tone& tone, double hz = 0.0`: `const Tone&, double`."""
    bare = re.sub(r"\s*=[^,]*|/\*.*?\*/", "", parameters)
    return ", ".join(re.sub(r"(?<=[\s&*>])\w+$", "", one.strip()).strip() for one in bare.split(","))


def own_names(text):
    """The functions and types that the file keeps to itself, each with the namespace around it."""
    for block in ANONYMOUS.finditer(text):
        around = NAMESPACE.findall(text[:block.start()])[-1:]
        for name, parameters in FUNCTION.findall(block[1]):
            yield (*around, f"{name}({parameter_types(parameters)})")
        for name in TYPE.findall(block[1]):
            yield (*around, name)


def united_breaches(root):
    """A directory may be compiled as one: what two files keep to themselves has two names."""
    first_use = {}
    for layer in ("dsp", "src", "ui", "tests"):
        for file in sorted((root / layer).rglob("*.cpp")):
            folder = str(file.parent.relative_to(root))
            if folder in NOT_UNITED:
                continue
            for name in set(own_names(file.read_text(encoding="utf-8"))):
                other = first_use.setdefault((folder, name), file.name)
                if other != file.name:
                    yield f"{file.relative_to(root)}: {other} beside it also has {name[-1]}"


def cli_case_breaches(root):
    """A command without what it should print tests nothing, and the reverse."""
    cases = root / "tests" / "cli" / "cases"
    commands = {p.stem for p in cases.glob("*.cmd")}
    expected = {p.stem for p in cases.glob("*.out")}
    for name in sorted(commands ^ expected):
        yield f"tests/cli/cases/{name}: needs both a .cmd and a .out file"


def breaches(root, compile_commands=None, *left_out):
    yield from layer_breaches(root)
    yield from circle_breaches(root)
    yield from window_breaches(root)
    yield from include_path_breaches(root)
    yield from top_level_breaches(root)
    yield from test_breaches(root, compile_commands, left_out)
    yield from united_breaches(root)
    yield from cli_case_breaches(root)


# ------------------------------------------------------------------------------------- self-test

OWN_NAMES = "namespace {\n\nstruct Word {};\n\nbool says(const Text& text) {\n}\n\n}  // namespace\n"

# Each plants one breach in an otherwise clean tree: file, its text, and a part of the complaint.
PLANTED = [
    ("dsp/a.cpp", "#include <fstream>\n", "dsp/ may not include fstream"),
    ("dsp/a.cpp", "#include <thread>\n", "dsp/ may not include thread"),
    ("dsp/a.cpp", "#  include <chrono>\n", "dsp/ may not include chrono"),
    ("dsp/a.h", "#include <locale>\n", "dsp/ may not include locale"),
    ("dsp/a.cpp", '#include "src/case/case.h"\n', "dsp/ may not include src/case/case.h"),
    ("dsp/a.cpp", "#include <kissfft/kiss_fftr.h>\n", "dsp/ may not include kissfft"),
    ("dsp/a.cpp", '#include "dsp/none.h"\n', "dsp/none.h does not exist"),
    ("src/case/a.cpp", '#include "ui/window.h"\n', "src/ may not include ui/window.h"),
    ("src/case/a.cpp", '#include "src/cli/run.h"\n', "only src/cli/ may include"),
    ("src/case/a.cpp", '#include "../case/case.h"\n', "from the top of the tree"),
    ("src/case/a.cpp", '#include "src/report/report.h"\n', "but src/report/ knows src/case/"),
    ("ui/panels/a.cpp", "#include <GLFW/glfw3.h>\n", "only ui/platform/ may include GLFW"),
    ("ui/panels/a.cpp", "#include <thread>\n", "ui/panels/ may not include thread"),
    ("ui/panels/a.cpp", '#include "ui/platform/window.h"\n', "ui/panels/ may not include ui/platform"),
    ("ui/state/a.cpp", "#include <imgui.h>\n", "ui/state/ may not include imgui"),
    ("ui/jobs/a.cpp", '#include "src/case/case.h"\n', "ui/jobs/ may not include src/case"),
    ("ui/pictures/a.cpp", '#include "ui/panels/panels.h"\n', "ui/pictures/ may not include ui/panels"),
    ("ui/look/a.cpp", '#include "src/audio/recording.h"\n', "ui/look/ may not include src/audio"),
    ("ui/a.cpp", '#include "src/cli/run.h"\n', "only src/cli/ may include"),
    ("tests/dsp/a_test.cpp", '#include "ui/look/theme.h"\n', "only tests/ui/ may include"),
    ("notes.txt", "", "notes.txt: does not belong"),
    ("tests/dsp/a_test.cpp", "int main() {}\n", "holds no test"),
    ("tests/dsp/b_test.cpp", 'TEST_CASE("b") {}\n', "b_test.cpp: is not compiled"),
    ("tests/dsp/c.cpp", 'TEST_CASE("c") {}\n', "does not end in _test.cpp"),
    ("src/case/z.cpp", OWN_NAMES.replace("says(const Text& text)", "says(const Text& other)"),
     "own.cpp beside it also has says(const Text&)"),
    ("src/case/z.cpp", OWN_NAMES.replace("says", "tells"), "own.cpp beside it also has Word"),
    ("tests/cli/cases/lonely.cmd", "analyse CASE\n", "lonely: needs both"),
]


def make_clean_tree(root):
    for name in TOP_LEVEL:
        (root / name).mkdir() if "." not in name[1:] and name != "LICENSE" else (root / name).touch()
    (root / "tests/dsp").mkdir()
    (root / "tests/cli/cases").mkdir(parents=True)
    (root / "src/case").mkdir(parents=True)
    (root / "src/case/case.h").write_text("#include <fstream>\n")
    (root / "src/case/own.cpp").write_text(OWN_NAMES)
    (root / "src/report").mkdir()
    (root / "src/report/report.h").write_text('#include "src/case/case.h"\n')
    (root / "dsp/fft.cpp").write_text("#include <kissfft/kiss_fftr.h>\n#include <vector>\n")
    (root / "tests/dsp/fft_test.cpp").write_text('TEST_CASE("fft") {}\n')
    commands = root / "build" / "compile_commands.json"
    commands.parent.mkdir()
    united = root / "build/Unity/unity_tests.cxx"
    united.parent.mkdir()
    united.write_text(f'#include "{root}/tests/dsp/fft_test.cpp"\n')
    files = [str(united), str(root / "tests/dsp/a_test.cpp")]
    commands.write_text(json.dumps([{"file": file} for file in files]))
    return commands


def self_test():
    failures = []
    for path, text, complaint in [(None, "", None)] + PLANTED:
        with tempfile.TemporaryDirectory() as folder:
            root = Path(folder)
            commands = make_clean_tree(root)
            if path:
                (root / path).parent.mkdir(parents=True, exist_ok=True)
                (root / path).write_text(text)
            found = list(breaches(root, commands))
            if complaint is None and found:
                failures.append(f"a clean tree is refused: {found}")
            if complaint and not any(complaint in breach for breach in found):
                failures.append(f"{path} with {text!r} is not refused; found {found}")
    print("\n".join(failures) or f"all {len(PLANTED)} planted breaches were found")
    return 1 if failures else 0


def main(arguments):
    if arguments == ["--self-test"]:
        return self_test()
    built = arguments[2:] if arguments[1:2] == ["--compile-commands"] else []
    found = list(breaches(Path(arguments[0]).resolve(), *built))
    print("\n".join(found) or "the tree keeps its shape")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
