"""What a process has cost so far."""

import os
from pathlib import Path


def processor_seconds(process):
    """Of one processor, user and system together, of a subprocess.Popen that runs."""
    fields = Path(f"/proc/{process.pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
