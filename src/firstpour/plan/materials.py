"""The shelf's part of the plan: what each part needs, and what is chosen for all of them together."""

from collections.abc import Sequence
from dataclasses import replace

from firstpour.choosing.choice import ShelfPlan
from firstpour.choosing.decide import decide_materials
from firstpour.choosing.need import PartNeed
from firstpour.choosing.provide import provide_materials
from firstpour.errors import UnknownMaterial
from firstpour.job.job import Job
from firstpour.mould.values import Role
from firstpour.parting.values import MouldKind
from firstpour.plan.values import PartPlan
from firstpour.printing.printers import Process
from firstpour.units import MM3_PER_ML
from firstpour.workshop.workshop import Workshop


def choose_for_job(job: Job, parts: Sequence[PartPlan], workshop: Workshop) -> ShelfPlan | None:
    """Materials for every part whose hardness is given, at the job's room temperature; None where none is.

    Raises
    ------
    UnknownMaterial
        If a part names a material that the shelf does not know.
    """
    needs = [need_of(one) for one in parts if one.request.hardness is not None]
    here = replace(workshop, temperature_c=job.temperature_c)
    return provide_materials(needs, decide_materials(needs, here), here) if needs else None


def check_names(job: Job, workshop: Workshop) -> None:
    """See that the shelf knows every material that the job names, before any work begins.

    Raises
    ------
    UnknownMaterial
        If it does not; the problem names the part.
    """
    for request in job.parts:
        for material_id in (request.silicone, request.casting, request.paint):
            if material_id is None:
                continue
            try:
                workshop.catalogue.get(material_id)
            except UnknownMaterial as error:
                error.problem = f"{request.name}: {error.problem}"
                raise


def need_of(one: PartPlan) -> PartNeed:
    """What the shelf must know of one part: volumes a mould and a shot, the feel, the undercut, the master."""
    request, mould = one.request, one.mould
    silicone = {piece.name: piece.volume_mm3 / MM3_PER_ML for piece in mould.pieces if piece.role is Role.SILICONE}
    return PartNeed(
        name=one.part.name,
        pieces_ml=silicone,
        casting_ml=mould.casting_ml,
        copies=request.copies,
        hardness=request.hardness or "",
        master=Process(one.master.process.value),
        master_steps=one.master.steps,
        moulds=request.moulds,
        serial_pours=2 if mould.kind is MouldKind.BEDDING else 1,
        stretch_ratio=mould.stretch_ratio,
        thinnest_mm=one.measures.thinnest_wall_mm,
        reach_mm=0.5 * max(one.measures.size_mm),
        colourant_ratio=request.colourant_ratio,
        accelerator_ratio=request.accelerator_ratio,
        paint=request.paint,
        clear=request.clear,
        silicone=request.silicone,
        casting=request.casting,
    )
