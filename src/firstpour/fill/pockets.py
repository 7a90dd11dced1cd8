"""Where air stays when the cavity is filled with a given side up."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.fill.cavity import Cavity, cut_cavity, highest_place, node_top_mm, on_surface, opening_nodes
from firstpour.fill.saddles import at_saddles
from firstpour.fill.values import RESOLVED_LINES, Fill, Pocket
from firstpour.kernels import locate
from firstpour.kernels import pockets as kernel
from firstpour.kernels.passages import wide_sources
from firstpour.part.part import FaceMark, Part
from firstpour.values import Finding, FloatArray, IntArray, Severity, frozen_array

NO_RECORDS = np.empty((0, kernel.RECORD))


def find_pockets(
    part: Part,
    *,
    up: FloatArray,
    gate_mm: FloatArray | None = None,
    vents_mm: tuple[FloatArray, ...] = (),
    resolution: int = 128,
    passage_mm: float = 0.0,
) -> Fill:
    """Find the air that stays when the part's space is filled slowly with `up` (3,) on top.

    Air at a point stays if every way from it to an opening dips below it. The gate is the highest peak unless
    given. Openings are points on the surface (mm). A passage narrower than `passage_mm` lets no air through.
    Limit: the fluid stands at one level everywhere (a slow pour); a passage that floods before what lies behind it
    has begun to fill holds more air than this says.

    Raises
    ------
    BadRequest
        If `up` has no length, a passage is negative, or an opening does not lie on the surface.

    References
    ----------
    Bose & Toussaint, "Geometric and computational aspects of gravity casting", CAD 27(6) (1995) 455-464 (from
    memory); the volumes are ours (docs/fill.md).
    """
    check_passage(passage_mm)
    cavity = cut_cavity(part, np.asarray(up, dtype=np.float64), resolution=resolution)
    gate = highest_place(cavity) if gate_mm is None else on_surface(cavity, gate_mm, name="the gate")
    vents = tuple(on_surface(cavity, vent, name=f"vent {k + 1}") for k, vent in enumerate(vents_mm))
    fill = fill_cavity(cavity, gate_mm=gate, vents_mm=vents, passage_mm=passage_mm)
    return replace(fill, findings=(*fill.findings, *vents_below(cavity, gate, vents)))


def check_passage(passage_mm: float) -> None:
    """Refuse a smallest passage that is negative or no number."""
    if not (np.isfinite(passage_mm) and passage_mm >= 0):
        raise BadRequest(f"a smallest passage of {passage_mm} mm", remedy="give 0 (any passage) or a width in mm")


def fill_cavity(
    cavity: Cavity,
    *,
    gate_mm: FloatArray,
    more_gates_mm: tuple[FloatArray, ...] = (),
    vents_mm: tuple[FloatArray, ...] = (),
    passage_mm: float = 0.0,
) -> Fill:
    """`find_pockets` for a cavity already cut and openings known to lie on its surface; it may have several gates."""
    dexels, pitch = cavity.dexels, cavity.dexels.pitch_mm
    findings = []
    if 0 < passage_mm < 2 * pitch:
        findings.append(_fine_passage(passage_mm, pitch, cavity))
    passage = passage_mm if passage_mm >= 2 * pitch else 0.0
    nodes, levels = opening_nodes(cavity, np.stack([gate_mm, *more_gates_mm, *vents_mm]))
    trapped_from, body, unresolved, unresolved_air, _ = _rise(cavity, nodes, levels, passage)
    if passage > 0:  # material passes where air does not: only what hangs apart never fills
        body = _rise(cavity, nodes, levels, 0.0)[1]
    filled = np.isin(body, body[nodes[: 1 + len(more_gates_mm)]])
    trapped_from[filled & np.isneginf(trapped_from)] = float(dexels.z_mm.min())
    unfilled, body_findings, crumbs = _bodies(cavity, body, filled)
    trapped_from[~filled] = -np.inf
    if passage == 0:
        trapped_from = at_saddles(cavity, trapped_from, levels)
    pockets, small, small_air = _pockets(cavity, trapped_from)
    return Fill(
        up=frozen_array(cavity.up, np.float64),
        gate_mm=frozen_array(gate_mm, np.float64),
        vents_mm=tuple(frozen_array(vent, np.float64) for vent in vents_mm),
        trapped_mm3=sum(pocket.volume_mm3 for pocket in pockets),
        trapped_show_mm3=sum(pocket.show_mm3 for pocket in pockets),
        unfilled_mm3=unfilled,
        pockets=pockets,
        unresolved=unresolved + small + crumbs,
        unresolved_mm3=unresolved_air + small_air,
        pitch_mm=pitch,
        dexels=dexels,
        trapped_from_mm=frozen_array(trapped_from, np.float64),
        findings=(*findings, *body_findings),
    )


def _rise(
    cavity: Cavity, nodes: NDArray[np.int32], levels: FloatArray, passage: float, records: FloatArray = NO_RECORDS
) -> tuple[FloatArray, NDArray[np.int32], int, float, int]:
    d = cavity.dexels
    count = len(d.z_mm) // 2
    trapped_from, body = np.empty(count), np.empty(count, np.int32)
    source = np.empty(0, np.int32)
    if passage > 0:
        source = wide_sources(d.z_mm, cavity.column, cavity.start, d.nx, d.ny, passage, d.pitch_mm)
    order = np.argsort(-levels, kind="stable")
    used, unresolved, air = kernel.rise(
        d.z_mm, d.face, cavity.column, cavity.start, d.nx, d.ny, cavity.grid.pix, cavity.part.mesh.faces,
        cavity.part.marks, d.pitch_mm, nodes[order], levels[order], source, passage, trapped_from, body,
        records,
    )  # fmt: skip
    return trapped_from, body, unresolved, air, used


def _pockets(cavity: Cavity, trapped_from: FloatArray) -> tuple[tuple[Pocket, ...], int, float]:
    """The pockets, largest first; then how many were too small for the grid, and their air."""
    d = cavity.dexels
    bounded = np.where(np.isfinite(trapped_from), trapped_from, np.inf)
    group = locate.join_trapped(d.z_mm, cavity.column, cavity.start, d.nx, d.ny, bounded, 1e-9)
    held = np.flatnonzero(group >= 0)
    if len(held) == 0:
        return (), 0, 0.0
    held = held[np.argsort(group[held], kind="stable")]
    first = np.concatenate([[0], np.flatnonzero(np.diff(group[held])) + 1])
    top, roof = d.z_mm[2 * held + 1], d.face[2 * held + 1]
    air = (top - np.maximum(d.z_mm[2 * held], bounded[held])) * d.pitch_mm**2
    volume = np.add.reduceat(air, first)
    show = np.add.reduceat(air * ((cavity.part.marks[roof] & int(FaceMark.SHOW)) != 0), first)
    ends = np.append(first[1:], len(held))
    large = np.flatnonzero(ends - first >= RESOLVED_LINES)
    large = large[np.argsort(-volume[large], kind="stable")]
    pockets = tuple(_pocket(cavity, bounded, held[first[k] : ends[k]], volume[k], show[k]) for k in large)
    return pockets, len(first) - len(large), float(volume.sum() - volume[large].sum())


def _pocket(cavity: Cavity, trapped_from: FloatArray, nodes: IntArray, volume: float, show: float) -> Pocket:
    d = cavity.dexels
    top = d.z_mm[2 * nodes + 1]
    peak = int(nodes[np.argmax(top)])
    return Pocket(
        volume_mm3=float(volume),
        show_mm3=float(show),
        top_mm=node_top_mm(cavity, peak),
        seals_at_mm=float(trapped_from[peak]),
        nodes=nodes,
        faces=d.face[2 * nodes + 1],
    )


def vents_below(cavity: Cavity, gate_mm: FloatArray, vents_mm: tuple[FloatArray, ...]) -> list[Finding]:
    """A warning for each vent more than a pitch below the gate."""
    below = [float(cavity.up @ (gate_mm - vent)) for vent in vents_mm]
    return [
        Finding(
            severity=Severity.WARNING,
            code="vent-below-gate",
            what=f"vent {k + 1} lies {drop:.1f} mm below the gate: it runs full before the cavity does",
            remedy="lead its channel up above the gate, or plug it when material shows",
            where=f"{np.round(vents_mm[k], 1).tolist()} mm",
        )
        for k, drop in enumerate(below)
        if drop > cavity.dexels.pitch_mm
    ]


def _fine_passage(passage_mm: float, pitch: float, cavity: Cavity) -> Finding:
    lines = max(cavity.dexels.nx, cavity.dexels.ny) * 2 * pitch / passage_mm
    return Finding(
        severity=Severity.WARNING,
        code="passage-unresolved",
        what=f"a passage of {passage_mm:g} mm is finer than two pitches of the grid ({pitch:.2f} mm): not looked for",
        remedy=f"ask for a resolution of at least {int(np.ceil(lines))}, or a passage of {2 * pitch:.2f} mm",
    )


def _bodies(cavity: Cavity, body: NDArray[np.int32], filled: NDArray[np.bool_]) -> tuple[float, list[Finding], int]:
    """Volume that never fills (mm³), a finding for each such body, and how many were too small for the grid."""
    d = cavity.dexels
    length = d.z_mm[1::2] - d.z_mm[0::2]
    unfilled, findings, crumbs = 0.0, [], 0
    for root in np.unique(body[~filled]):
        nodes = np.flatnonzero(body == root)
        volume = float(length[nodes].sum()) * d.pitch_mm**2
        if len(nodes) < RESOLVED_LINES or volume <= d.pitch_mm**3:
            crumbs += 1
            continue
        unfilled += volume
        middle = np.round(
            np.mean([node_top_mm(cavity, int(n)) for n in nodes[:: max(1, len(nodes) // 50)]], axis=0), 1
        )
        findings.append(
            Finding(
                severity=Severity.ERROR,
                code="never-fills",
                what=f"a body of {volume:.0f} mm³ has no way from the gate: it never fills",
                remedy="join it to the rest, cast it by itself, or give it a gate of its own; "
                "if it is joined by a web thinner than the grid or the passage, ask for a finer resolution",
                where=f"about {middle.tolist()} mm",
            )
        )
    return unfilled, findings, crumbs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """A peak and the air above the level at which it is cut off from a higher or an open one; the gate has none."""

    at_mm: FloatArray
    air_mm3: float
    show_mm3: float
    seals_at_mm: float
    face: int


def peaks_cut_off(cavity: Cavity, *, gate_mm: FloatArray) -> tuple[list[Cut], float, float]:
    """The gate, then every peak cut off with it alone; then the air trapped in all, and under show faces (mm³).

    A peak's air counts that of the peaks which it swallowed: each wants an opening of its own.
    """
    nodes, levels = opening_nodes(cavity, gate_mm[None])
    records = np.empty((512, kernel.RECORD))
    used = _rise(cavity, nodes, levels, 0.0, records)[4]
    records = records[: min(used, len(records))]
    records = records[(records[:, kernel.COLUMNS] >= RESOLVED_LINES) & np.isfinite(records[:, kernel.LEVEL])]
    sealed = records[:, kernel.INTO] == kernel.INTO_OPEN
    faces = cavity.dexels.face[2 * records[:, kernel.PEAK].astype(np.int64) + 1]
    gate_face = int(cavity.dexels.face[2 * nodes[0] + 1])
    gate = Cut(at_mm=gate_mm, air_mm3=0.0, show_mm3=0.0, seals_at_mm=float(levels[0]), face=gate_face)
    cuts = [
        Cut(
            at_mm=node_top_mm(cavity, int(row[kernel.PEAK])),
            air_mm3=float(row[kernel.VOLUME]),
            show_mm3=float(row[kernel.SHOW_VOLUME]),
            seals_at_mm=float(row[kernel.LEVEL]),
            face=int(face),
        )
        for row, face in zip(records, faces, strict=True)
    ]
    cuts.sort(key=lambda cut: -cut.air_mm3)
    trapped, show = (float(records[sealed, k].sum()) for k in (kernel.VOLUME, kernel.SHOW_VOLUME))
    return [gate, *cuts], trapped, show
