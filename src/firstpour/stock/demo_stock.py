"""The invented stock of the demo's workshop."""

import tomllib
from datetime import date, timedelta
from importlib.resources import files
from typing import Any

from firstpour.stock.stock import Pack


def demo_stock(*, today: date) -> tuple[Pack, ...]:
    """The packs on the shelf of the tide-pool workshop, dated back from `today`: all invented."""
    text = (files("firstpour.stock") / "demo_stock.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["pack"]
    return tuple(_pack(row, number, today) for number, row in enumerate(rows, start=1))


def _pack(row: dict[str, Any], number: int, today: date) -> Pack:
    opened = row.get("opened_days_ago")
    return Pack(
        id=number,
        material_id=row["material"],
        size_a_g=row["size_a_g"],
        left_a_g=row["left_a_g"],
        size_b_g=row.get("size_b_g", 0.0),
        left_b_g=row.get("left_b_g", 0.0),
        price=row.get("price"),
        bought_on=today - timedelta(days=row["bought_days_ago"]),
        opened_on=None if opened is None else today - timedelta(days=opened),
    )
