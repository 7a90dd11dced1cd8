"""STEP (ISO 10303-21): exact surfaces, drawn as flat faces by a reader of its own that may or may not be installed.

The reader is a library of another language: it works in a process of its own, so that a file that brings it down is
told of like any other damaged one.
"""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from firstpour.errors import UnreadablePart
from firstpour.values import Finding, Severity

READER = "cascadio"
OFF_MM, OFF_RAD = 0.02, 0.1
"""The most that a flat face lies off the surface, and that two beside each other turn (our own choice): less than a
print or a casting shows."""
LONGEST_S = 120.0
READ = f"""
import sys, pathlib, {READER} as reader
file, made = map(pathlib.Path, sys.argv[1:3])
off_mm, off_rad = map(float, sys.argv[3:5])
made.write_bytes(reader.to_glb_bytes(file.read_bytes(), reader.FileType.STEP, off_mm, off_rad))
"""


def is_there() -> bool:
    """Whether the reader is installed."""
    return find_spec(READER) is not None


def step_glb(data: bytes) -> bytes:
    """The solids of a STEP file as flat faces, in metres, as a GLB.

    Raises
    ------
    UnreadablePart
        If the reader is not installed, the file is damaged or holds no solid, or it takes too long.
    """
    if not is_there():
        raise UnreadablePart(
            "a STEP file needs a reader that is not installed here",
            remedy='add it with pip install "firstpour[step]", or export the part as STL or 3MF',
        )
    with TemporaryDirectory() as folder:
        file, made = Path(folder, "part.step"), Path(folder, "part.glb")
        file.write_bytes(data)
        words = [sys.executable, "-c", READ, str(file), str(made), str(OFF_MM), str(OFF_RAD)]
        try:
            ran = subprocess.run(words, capture_output=True, timeout=LONGEST_S, check=False)
        except subprocess.TimeoutExpired as error:
            raise UnreadablePart(
                f"the STEP file was not read within {LONGEST_S:.0f} s",
                remedy="leave out what is not cast, or export the part as STL or 3MF",
            ) from error
        if ran.returncode != 0 or not made.is_file() or made.stat().st_size == 0:
            raise UnreadablePart(
                "the STEP file is damaged, or holds no solid", remedy="export the part again, or as STL or 3MF"
            )
        return made.read_bytes()


def facets_finding() -> Finding:
    """Say how near the flat faces are."""
    return Finding(
        severity=Severity.INFO,
        code="step-facets",
        what=f"the exact surfaces of the STEP file were drawn as flat faces, no further off than {OFF_MM:g} mm; its "
        "own unit was applied",
        remedy="nothing to do",
    )
