"""All routes of the tide pool beyond its plan, with nothing of them kept; its plan by itself is the peer."""

from datetime import date

from benchmarks.rows import Row, once_ms
from firstpour.demo.tide_pool import tide_pool_job
from firstpour.files.catalogue import load_catalogue
from firstpour.plan import plan_by_date
from firstpour.plan.route_basis import routes_of
from firstpour.plan.values import Plan
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop

TODAY = date(2027, 1, 4)


def run() -> list[Row]:
    """The plan in one process, then its routes: prints stood, moulds compared, every candidate reckoned."""
    here = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
    plans: list[Plan] = []
    planned = lambda: plans.append(plan_by_date(tide_pool_job(), progress=lambda *_: None, workshop=here))  # noqa: E731
    plan_ms = once_ms(planned)
    found = routes_of(plans[0], here)
    assert all(part.shortlist.kept for part in found)
    candidates = sum(part.shortlist.candidates for part in found)
    took = once_ms(lambda: routes_of(plans[0], here))
    what = f"all {candidates} routes of the tide pool, beyond its plan"
    return [
        Row(what=what, ours=took, peer="the plan, one process", peers=plan_ms, at_least_ratio=1.0, at_most=10_000.0)
    ]
