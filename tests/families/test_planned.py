"""A few families all the way: planned, written, read back and checked. All of them: `make families`."""

import pytest

from families.trial import try_family

STILL_FAILING = {
    "ball": {"vent"},
    "bowl": {"sprue", "tray", "vent"},
    "wheel": {"vent"},
}
"""Checks that do not hold yet; what is mended is taken off here."""


@pytest.mark.parametrize("name", STILL_FAILING)
def test_a_family_comes_out_as_a_mould_that_passes_the_checks(name, tmp_path):
    row = try_family(name, 20.0, tmp_path, faces=1_500)
    assert not row.problem
    assert not row.errors
    unexpected = [words for check, words in row.faults if check not in STILL_FAILING[name]]
    assert unexpected == []
