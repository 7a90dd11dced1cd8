"""Whether the allowance that the mould was made with is that of the materials chosen for it."""

from firstpour.choosing.choice import PartChoice
from firstpour.formulas.shrinkage import scale_for_chain
from firstpour.materials.figures import FigureName
from firstpour.mould.values import Mould
from firstpour.values import Finding, Severity

WORTH_SAYING_RATIO = 0.001
"""A copy off by a thousandth is mentioned (our own choice)."""


def allowance_findings(mould: Mould, choice: PartChoice, *, longest_mm: float) -> tuple[Finding, ...]:
    """Say how far the copy comes out off its size because the chosen materials shrink otherwise than reckoned."""
    chosen = [one.material for one in (choice.silicone, choice.casting) if one is not None]
    shrinkages = [one.figures[FigureName.SHRINKAGE].value for one in chosen if FigureName.SHRINKAGE in one.figures]
    if len(shrinkages) < 2:
        return ()
    off_ratio = mould.scale / scale_for_chain(shrinkages) - 1.0
    if abs(off_ratio) < WORTH_SAYING_RATIO:
        return ()
    silicone, casting = shrinkages
    off_mm, which = abs(off_ratio) * longest_mm, "large" if off_ratio > 0 else "small"
    return (
        Finding(
            severity=Severity.INFO,
            code="allowance-differs",
            what=f"silicone and casting material chosen shrink by {100 * silicone:g} % and {100 * casting:g} %, the "
            f"mould is made for others: copies come out {off_mm:.2f} mm too {which} over {longest_mm:.0f} mm",
            remedy="give the part its silicone_shrinkage_ratio and casting_shrinkage_ratio in job.toml, from your "
            "data sheets and plan again",
        ),
    )
