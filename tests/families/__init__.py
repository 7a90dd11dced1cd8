"""Part families that moulds are tried on: plain generic shapes by our own code, each in any size and number of faces.

`family_part("wheel", size_mm=50.0, faces=6_000)` gives a part; `FAMILIES` lists them with what each is good for.
Walls do not shrink below what can be cast, so that the sizes are not copies of one another. Not shipped.
"""

from families.catalogue import FACES, FAMILIES, SIZES_MM, Family, family_part

__all__ = ["FACES", "FAMILIES", "SIZES_MM", "Family", "family_part"]
