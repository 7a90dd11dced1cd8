"""What holds on to what (common practice, no source)."""

from itertools import product

import pytest

from firstpour.materials.bonding import Bond, bonding

FAMILIES = ("urethane", "addition silicone rubber", "epoxy", "photopolymer")


@pytest.mark.parametrize("family", ["urethane", "addition silicone rubber"])
def test_these_bond_to_themselves_while_fresh_and_clean(family):
    found = bonding(outer=frozenset({family, "clear"}), inner=frozenset({family}))
    assert found.bond is Bond.CHEMISTRY
    assert "release" in found.remedy


@pytest.mark.parametrize(("outer", "inner"), [pair for pair in product(FAMILIES, FAMILIES) if len(set(pair)) == 2])
def test_any_others_are_held_by_shape_alone_either_way_round(outer, inner):
    found = bonding(outer=frozenset({outer}), inner=frozenset({inner}))
    assert found.bond is Bond.SHAPE
    assert ("nothing but silicone" in found.reason) == ("addition silicone rubber" in (outer, inner))
    assert found == bonding(outer=frozenset({inner}), inner=frozenset({outer}))
