"""Each thing is worked out once on the way from the part to its mould."""

from collections import Counter

import pytest

from firstpour import values
from firstpour.job.job import PartRequest
from firstpour.kernels import dexels as kernel
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting import parting
from firstpour.plan.digest import digest_of
from firstpour.plan.look import look_at
from firstpour.plan.work_out import work_out
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.samples.samples import Sample

SETTINGS = MouldSettings()


@pytest.fixture(scope="module")
def counted():
    """How often the seam was cut, each grid of lines cut, and the normals of each mesh worked out."""
    counts = Counter()

    def counting(what, call, of):
        def counted_call(*given, **named):
            counts[(what, of(*given))] += 1
            return call(*given, **named)

        return counted_call

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parting, "cut_seam", counting("seam", parting.cut_seam, lambda *_: ""))
        patch.setattr(
            kernel,
            "dexel_lines_in_bands",
            counting("dexels", kernel.dexel_lines_in_bands, lambda pix, faces, nx, ny, _: digest_of(pix, nx, ny)),
        )
        normals = counting("normals", values._face_normals, lambda mesh: digest_of(mesh))
        patch.setattr(values, "_face_normals", normals)
        request = PartRequest(name="shell", sample=Sample.LIMPET)
        work_out(look_at(request, SETTINGS), request, SETTINGS, MouldMaterials(), TYPICAL_PRINTERS)
    return counts


@pytest.mark.parametrize("what", ["seam", "dexels", "normals"])
def test_nothing_is_worked_out_twice(counted, what):
    counts = {of: count for (kind, of), count in counted.items() if kind == what}
    assert counts
    assert set(counts.values()) == {1}
