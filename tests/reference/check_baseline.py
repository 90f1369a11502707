"""Fails where code that the linker may share between files uses AVX.

usage: check_baseline.py LIBRARY

dsp/fft.cpp holds code for processors with AVX beside code for every x86-64. An inline function of
the standard library that got compiled for AVX there could be picked for the whole program, which
would then stop on older processors. Such functions are weak symbols; every AVX instruction is
written with a leading v.
"""

import re
import subprocess
import sys

AVX = re.compile(r"v[a-z]")
IS_ALSO_BASELINE = ("verr", "verw", "vm")


def lines_of(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()


def weak_symbols(library):
    return {
        line.split()[-1] for line in lines_of("nm", library) if re.search(r" [WVu] \S+$", line)
    }


def avx_instructions(library):
    """(function, instruction) of every AVX instruction in the library."""
    function = ""
    for line in lines_of("objdump", "-d", "--no-show-raw-insn", library):
        if header := re.fullmatch(r"[0-9a-f]+ <(.*)>:", line):
            function = header.group(1)
        elif (fields := line.split("\t"))[1:] and AVX.match(fields[1]):
            if not fields[1].startswith(IS_ALSO_BASELINE):
                yield function, fields[1]


def main():
    library = sys.argv[1]
    weak = weak_symbols(library)
    found = list(avx_instructions(library))
    if not found:
        sys.exit("no AVX at all: this check no longer sees what it is for")
    shared = sorted({function for function, _ in found if function in weak})
    print(f"{len(found)} AVX instructions, {len(weak)} shared symbols, {len(shared)} of them with AVX")
    if shared:
        sys.exit("AVX in shared code:\n  " + "\n  ".join(shared))


if __name__ == "__main__":
    main()
