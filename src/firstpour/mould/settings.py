"""What the maker may set about the mould. Lengths in mm; every value is a typical one to be replaced by one's own."""

from dataclasses import dataclass

from firstpour.errors import BadRequest

MOST_MM = 500.0
"""No size of a mould that one person handles is larger (a limit of our own)."""
MOST = 1e6
NEEDED = (
    "wall_mm",
    "key_radius_mm",
    "floor_mm",
    "gate_radius_mm",
    "gate_mouth_radius_mm",
    "vent_radius_mm",
    "wall_give_mm",
    "silicone_g_ml",
    "print_modulus_mpa",
)
"""Settings that cannot be 0."""


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
    gate_radius_mm: float = 3.0
    gate_mouth_radius_mm: float = 6.0
    vent_radius_mm: float = 1.0
    silicone_shrinkage_ratio: float = 0.001
    """Linear; typical of addition-cure silicone."""
    casting_shrinkage_ratio: float = 0.004
    """Linear; typical of casting rubbers and plastics."""
    silicone_g_ml: float = 1.2
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
        for name in ("silicone_shrinkage_ratio", "casting_shrinkage_ratio"):
            if getattr(self, name) >= 0.2:
                raise BadRequest(
                    f"mould setting {name} = {getattr(self, name)} is a fifth or more",
                    remedy="give the linear shrinkage as a ratio: 0.4 % is 0.004",
                )
