"""A few families all the way: planned, written, read back and checked. All of them: `make families`."""

import pytest

from families.trial import try_family

TRIED = ("ball", "bowl", "wheel")


@pytest.mark.parametrize("name", TRIED)
def test_a_family_comes_out_as_a_mould_that_passes_the_checks(name, tmp_path):
    row = try_family(name, 20.0, tmp_path, faces=1_500)
    assert not row.problem
    assert not row.errors
    assert row.faults == ()
