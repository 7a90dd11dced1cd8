"""Every material known in a workshop, by its id."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from firstpour.errors import UnknownMaterial
from firstpour.materials.material import Kind, Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Materials by id."""

    materials: Mapping[str, Material]

    def get(self, material_id: str) -> Material:
        """The material of that id.

        Raises
        ------
        UnknownMaterial
            If there is none; the remedy names the nearest.
        """
        material = self.materials.get(material_id)
        if material is None:
            near = get_close_matches(material_id, list(self.materials), n=3, cutoff=0.5)
            close = self._speaking_of(material_id) or near
            hint = f"Did you mean {' or '.join(close)}? " if close else ""
            raise UnknownMaterial(
                f"no material “{material_id}” is known.", remedy=f"{hint}take one of the materials that are known"
            )
        return material

    def _speaking_of(self, words: str) -> list[str]:
        """Up to three materials whose name or note holds these words: what the trade calls them, say “tin cure”."""
        wanted = " ".join(words.lower().replace("-", " ").split())
        if not wanted:
            return []
        spoken = {key: f"{one.name} {one.note}".lower().replace("-", " ") for key, one in self.materials.items()}
        return [key for key in sorted(spoken) if wanted in spoken[key]][:3]

    def of_kinds(self, kinds: Iterable[Kind]) -> tuple[Material, ...]:
        """The materials of these kinds, by id."""
        wanted = set(kinds)
        return tuple(self.materials[key] for key in sorted(self.materials) if self.materials[key].kind in wanted)
