"""The files and the entry of a part that is printed directly."""

from pathlib import Path

import numpy as np

from firstpour.files.pieces import write_pieces
from firstpour.files.taken_entries import PrintedPartEntry, printed_entry
from firstpour.mould.values import Piece, Role
from firstpour.plan.values import PrintedPart
from firstpour.values import frame_along


def write_printed(one: PrintedPart, folder: Path, stem: str) -> PrintedPartEntry:
    """Write one copy as it stands on its printer, and give what plan.json says of the part.

    Raises
    ------
    MouldFailed
        If it does not survive being written and read back.
    """
    stands = one.taken.route.recipe.stands
    assert stands is not None
    copy = Piece(
        name=one.request.name,
        role=Role.MASTER,
        mesh=one.part.mesh,
        volume_mm3=one.measures.volume_mm3,
        bodies=one.measures.bodies,
        print_turn=frame_along(np.array(stands.up)),
    )
    written = write_pieces(folder, [copy], below=Path("pieces", stem))[0]
    source = one.request.file
    return printed_entry(
        one.request.name,
        one.taken,
        source=None if source is None else source.name,
        file=written.file.as_posix(),
        size_mm=written.size_mm,
    )
