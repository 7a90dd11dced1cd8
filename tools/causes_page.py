"""Write docs/causes.md from the table of causes: `PYTHONPATH=src python tools/causes_page.py`."""

from pathlib import Path

from firstpour.bench.causes import UNSEEN, Cause, table

PAGE = Path(__file__).parents[1] / "docs" / "causes.md"
HEAD = f"""# Why a copy was spoiled

Every cause that `firstpour bench why` ranks, with the figures it is scored by. **All are estimates of our own;
the facts are common practice, no source** ([decision 0071](decisions/0071-causes-scored-openly.md)). A cause
starts with its prior; each thing seen or logged multiplies it; the products are brought to a sum of one. A defect
that a row does not name counts {UNSEEN:g}, a place 1. The log counts
× the first figure where it says yes, × the second where it says no,
and not at all where nothing was logged.

"""


def page() -> str:
    """The page, a heading for each cause."""
    return HEAD + "\n".join(_cause(one) for one in table())


def _cause(one: Cause) -> str:
    shows = ", ".join(f"{kind.value} × {ratio:g}" for kind, ratio in one.shows.items())
    places = ", ".join(f"{place.value} × {ratio:g}" for place, ratio in one.places.items()) or "–"
    log = ", ".join(f"{sign.value} × {yes:g} or {no:g}" for sign, (yes, no) in one.log.items()) or "–"
    return (
        f"## {one.name[:1].upper()}{one.name[1:]}\n\n"
        f"Prior {one.prior:g} of 100. Seen: {shows}. Where: {places}. Log: {log}.\n\n"
        f"Try next: {one.next_try}.\n"
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
