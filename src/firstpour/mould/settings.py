"""What the maker may set about the mould. Lengths in mm; every value is a typical one to be replaced by one's own."""

from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.fill.values import GATE_MOUTH_RADIUS_MM, GATE_RADIUS_MM, VENT_RADIUS_MM
from firstpour.formulas.shrinkage import scale_for_chain
from firstpour.parting.parting import PartingSizes

MOST_MM = 500.0
"""No size of a mould that one person handles is larger (a limit of our own)."""
MOST = 1e6
MOST_DENSITY_G_ML = 25.0
"""No silicone, however filled, is heavier (a limit of our own)."""
NEEDED = (
    "wall_mm",
    "key_radius_mm",
    "floor_mm",
    "gate_radius_mm",
    "gate_mouth_radius_mm",
    "vent_radius_mm",
    "wall_give_mm",
    "print_modulus_mpa",
)
"""Settings that cannot be 0."""
BELOW = {"key_clearance_mm": "key_radius_mm", "bed_clearance_mm": "wall_mm", "chamfer_mm": "least_wall_mm"}
"""Settings that leave nothing of a piece where they are not below another: a play as large as the key itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldSettings:
    """Sizes of the mould. `wall_mm`: silicone around the part, the least anywhere."""

    wall_mm: float = 8.0
    rim_mm: float = 3.0
    """Flat band of the parting surface along the edge of the block."""
    key_radius_mm: float = 4.0
    key_clearance_mm: float = 0.2
    floor_mm: float = 2.4
    """Plastic under the deepest place of a tray."""
    least_wall_mm: float = 1.6
    """Thinnest printed box wall, even where the head of silicone asks for less."""
    wall_give_mm: float = 0.3
    """How far a box wall may bulge under the wet silicone."""
    lip_mm: float = 4.0
    """Height of the wall above the level to pour to."""
    chamfer_mm: float = 0.6
    notch_mm: float = 6.0
    """Width of a pry notch."""
    bed_clearance_mm: float = 0.15
    """Play of the master in its bedding, and of the bedding in its box."""
    gate_radius_mm: float = GATE_RADIUS_MM
    gate_mouth_radius_mm: float = GATE_MOUTH_RADIUS_MM
    vent_radius_mm: float = VENT_RADIUS_MM
    jacket_mm: float = 0.0
    """Thickness of the plate of a printed jacket, which spares silicone thicker than the wall; 0: no jackets."""
    print_modulus_mpa: float = 2000.0
    """Young's modulus of the printed box walls."""

    def __post_init__(self) -> None:
        for name in self.__slots__:
            value = getattr(self, name)
            most = MOST_MM if name.endswith("_mm") else MOST
            if not 0.0 <= value <= most:
                raise BadRequest(f"mould setting {name} = {value}", remedy=f"give a number from 0 to {most:g}")
        for name in NEEDED:
            if getattr(self, name) <= 0.0:
                raise BadRequest(f"mould setting {name} is 0", remedy="give a number above 0")

        for name, bound in BELOW.items():
            value, most = getattr(self, name), getattr(self, bound)
            if value >= most:
                raise BadRequest(
                    f"mould setting {name} is {value:g}, but {bound} is {most:g}",
                    remedy=f"give {name} below {bound}",
                )

    @property
    def parting(self) -> PartingSizes:
        """What the parting needs of them."""
        return PartingSizes(wall_mm=self.wall_mm, rim_mm=self.rim_mm, key_radius_mm=self.key_radius_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldMaterials:
    """What the mould must know of its materials: linear shrinkages, and the weight of the wet silicone.

    The defaults are typical, and serve where no material is known.
    """

    silicone_shrinkage_ratio: float = 0.001
    casting_shrinkage_ratio: float = 0.004
    silicone_g_ml: float = 1.2

    def __post_init__(self) -> None:
        for name in ("silicone_shrinkage_ratio", "casting_shrinkage_ratio"):
            if not 0.0 <= getattr(self, name) < 0.2:
                raise BadRequest(
                    f"a shrinkage of {getattr(self, name)}",
                    remedy="give the linear shrinkage as a ratio from 0 to below 0.2: 0.4 % is 0.004",
                )
        if not 0.0 < self.silicone_g_ml <= MOST_DENSITY_G_ML:
            raise BadRequest(
                f"silicone of {self.silicone_g_ml} g/ml", remedy=f"give a density above 0, to {MOST_DENSITY_G_ML:g}"
            )

    @property
    def scale(self) -> float:
        """The master's scale so that the copy comes out at size: 1/((1 − s₁)(1 − s₂)), silicone then casting.

        >>> round(MouldMaterials(silicone_shrinkage_ratio=0.001, casting_shrinkage_ratio=0.004).scale, 8)
        1.00502109
        """
        return scale_for_chain((self.silicone_shrinkage_ratio, self.casting_shrinkage_ratio))
