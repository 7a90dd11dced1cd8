"""The master chosen, with its reasons."""

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from firstpour.errors import BadRequest
from firstpour.printing.choose import choose_master
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER, Process
from firstpour.printing.slices import Footing
from firstpour.printing.suction import PullCause
from firstpour.values import Severity
from master_shapes import bowl, hidden_below, limpet, part_of, porthole_ring


def test_the_ring_is_chosen_flat_with_its_reasons_and_its_steps():
    plan = choose_master(hidden_below(part_of(porthole_ring(80))), TYPICAL_PRINTERS, directions=40)
    assert plan.direction.direction == pytest.approx([0, 0, 1], abs=1e-6)
    assert plan.layer_mm in plan.chosen.printer.layer_heights_mm
    assert any("out of round" in one for one in plan.why)
    assert any(other.printer.name in one for other in plan.others for one in plan.why)
    assert plan.chosen.total_min > plan.direction.print_min
    assert not [one for one in plan.findings if one.severity is Severity.ERROR]


def test_the_limpets_hollow_is_seen_and_got_round():
    plan = choose_master(hidden_below(part_of(limpet())), [VAT_PRINTER], directions=40)
    assert plan.direction.shut_mm2 < 1.0
    assert plan.hollows.shut == ()
    assert "shut-hollow-avoided" in [one.code for one in plan.findings]


def test_a_shut_hollow_that_cannot_be_got_round_is_reported_with_its_place():
    void = m3.Manifold.sphere(12, 48) - m3.Manifold.sphere(9, 48)
    plan = choose_master(part_of(void), [VAT_PRINTER], directions=10)
    (finding,) = [one for one in plan.findings if one.code == "shut-hollow"]
    assert "never opens" in finding.what
    assert "drain" in finding.remedy
    assert finding.where is not None


def test_a_large_flat_section_pulls_hard_and_says_so():
    # common practice, no source: large solid cross-sections pull hard on a vat film
    slab = part_of(m3.Manifold.cube([80, 80, 60]))
    plan = choose_master(slab, [replace(VAT_PRINTER, size_mm=(200.0, 200.0, 200.0))], directions=6)
    assert plan.suction.cause is PullCause.SECTION
    assert plan.suction.capped
    assert "strong-pull" in [one.code for one in plan.findings]


def test_the_thickest_layer_whose_steps_stay_below_the_wish_is_taken():
    dome = hidden_below(part_of(m3.Manifold.sphere(15, 96).trim_by_plane([0, 0, 1], 0)))
    for wanted, layer in ((0.2, 0.1), (0.06, 0.05), (0.001, 0.025)):
        assert choose_master(dome, [VAT_PRINTER], directions=8, wanted_step_mm=wanted).layer_mm == layer


def test_a_part_too_large_for_every_printer_is_an_error_with_a_remedy():
    plan = choose_master(part_of(m3.Manifold.cube([400, 300, 300])), TYPICAL_PRINTERS, directions=6)
    (finding,) = [one for one in plan.findings if one.severity is Severity.ERROR]
    assert finding.code == "master-too-large"
    assert "pieces" in finding.remedy


def test_a_printer_that_the_part_fits_is_preferred_to_a_finer_one_that_it_does_not():
    plan = choose_master(part_of(m3.Manifold.cube([180, 180, 20])), TYPICAL_PRINTERS, directions=6)
    assert plan.process is Process.FILAMENT
    assert any("does not fit" in one for one in plan.why)


def test_filament_stands_on_the_plate_and_pulls_nothing():
    plan = choose_master(part_of(bowl()), [FILAMENT_PRINTER], directions=8)
    assert plan.direction.footing is Footing.PLATE
    assert plan.suction.peak_n == 0.0
    assert not np.any(plan.suction.pull_n)


def test_no_printers_are_refused():
    with pytest.raises(BadRequest, match="no printers"):
        choose_master(part_of(bowl()), [])
