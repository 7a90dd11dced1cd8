"""plan.pdf: what concerns the whole job, then for each part making ready, each pour, the cast and the opening."""

from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.sheets.blocks import Page, RunSheet
from firstpour.sheets.cast_page import cast_pages
from firstpour.sheets.front_pages import front_pages
from firstpour.sheets.other_pages import open_page, ready_page
from firstpour.sheets.printed_page import printed_page
from firstpour.sheets.silicone_page import silicone_page


def run_sheet(plan: PlanEntry) -> RunSheet:
    """The pages of a plan; every figure is one that plan.json holds."""
    pages = list(front_pages(plan))
    for part in plan.parts:
        pages += part_pages(plan, part)
    pages += [printed_page(one) for one in plan.printed]
    return RunSheet(title=f"{plan.job.name}: plan and run sheet", made_by=plan.made_by, pages=tuple(pages))


def part_pages(plan: PlanEntry, part: PartEntry) -> tuple[Page, ...]:
    """The pages of one part, in the order of the work."""
    pours = (silicone_page(plan, part, pose) for pose in part.mould.poses)
    return (ready_page(plan, part), *pours, *cast_pages(plan, part), open_page(plan, part))
