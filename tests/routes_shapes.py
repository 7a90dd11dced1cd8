"""A small rigid hub and the routes of it that the tests share."""

from datetime import date

from firstpour.choosing.need import PartNeed
from firstpour.job.job import Preference
from firstpour.printing.estimate import post_steps
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process
from firstpour.routes.cast_recipe import MouldWay, PrintedPieces
from firstpour.routes.money import Cost, Rates
from firstpour.routes.printed import PrintWay
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.routes import Asked, PartRoutes, part_routes
from firstpour.routes.work import Work
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

SHELF = Workshop(catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY)
FINISH = post_steps(process=Process.FILAMENT, step_mm=0.04, show_area_mm2=3500, support_mm2=0)
SMOOTHING = tuple(one for one in FINISH if "seal" not in one.id)
HUB = PartNeed(
    name="hub",
    pieces_ml={"upper": 60, "lower": 60},
    casting_ml=8,
    copies=8,
    hardness="D 75",
    master=Process.FILAMENT,
    master_steps=FINISH,
    area_mm2=3500,
)
PRINTS = (
    PrintWay(
        printer=FILAMENT_PRINTER,
        size_mm=(30, 30, 20),
        layer_mm=0.1,
        step_mm=0.04,
        print_min=60,
        material_ml=6,
        support_mm2=0,
        fits=True,
        smoothing=SMOOTHING,
    ),
    PrintWay(
        printer=VAT_PRINTER,
        size_mm=(30, 30, 25),
        layer_mm=0.05,
        step_mm=0.02,
        print_min=100,
        material_ml=9,
        support_mm2=100,
        fits=True,
    ),
)


def asked(need: PartNeed = HUB, prints: tuple[PrintWay, ...] = PRINTS) -> Asked:
    pieces = (PrintedPieces.on(FILAMENT_PRINTER, print_min=300, grams=80, count=3),)
    mould = MouldWay(kind="trays", need=need, pieces=pieces, step_mm=0.04, seam_on_show_mm=90, estimated=False)
    return Asked(need=need, prints=prints, moulds=(mould,), refused=(), begins=date(2027, 1, 4))


def hub_routes(prefer: Preference | None = None, rates: Rates | None = None) -> PartRoutes:
    return part_routes(asked(), SHELF, rates=rates or Rates(), prefer=prefer)


def money(amount: float, each: float | None = 1.0, what: str = "thing") -> Cost:
    return Cost(what=what, amount=amount, unit="g", each=each)


CASTING = Recipe(
    name="cast",
    way=Way.CAST,
    material="plastic",
    once=(Work(what="print", hands_min=5, wait_min=600, printing=True),),
    each_mould=(Work(what="silicone", hands_min=20, wait_min=240),),
    each_go=(Work(what="pour", hands_min=10, wait_min=30), Work(what="open", hands_each_min=5)),
    moulds=1,
    a_go=1,
    life_shots=25,
    money_once=(money(3.0),),
    money_mould=(money(12.0),),
    money_try=(money(0.9),),
)
"""Yield 1. n copies cost 3 + 12·⌈n/25⌉ + 0.9·n."""
PRINTING = Recipe(
    name="print",
    way=Way.PRINTED,
    material="filament",
    each_go=(Work(what="print", hands_min=5, wait_min=10, wait_each_min=50, printing=True),),
    a_go=6,
    money_try=(money(1.7),),
)
"""n copies cost 1.7·n."""
