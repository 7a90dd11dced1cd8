"""How long a mix lasts: the heat balance against a general stiff integrator on the same equations."""

import math

from scipy.integrate import solve_ivp

from benchmarks.rows import Row, paired, timed
from firstpour.formulas.cure import GAS_CONSTANT_J_MOL_K
from firstpour.formulas.self_heating import Setting, rate_for, reached

MIX = Setting(rate_per_min=0.03, reference_c=23.0, energy_kj_mol=53.0, rise_k=130.0)
COOLING_MIN, CONVERSION, ROOM_K = 20.0, 0.25, 296.15


def run() -> list[Row]:
    """One pot life, and the first fit of a record's own."""
    ours = reached(MIX, conversion=CONVERSION, room_c=23.0, cooling_min=COOLING_MIN).time_min
    assert abs(ours / integrated_min() - 1) < 5e-3  # the march's own limit, decision 0013
    took, peers = paired(
        lambda: reached(MIX, conversion=CONVERSION, room_c=23.0, cooling_min=COOLING_MIN), integrated_min, 15
    )
    return [
        Row(
            what="pot life of one mix by its heat balance",
            ours=took,
            peer="scipy solve_ivp, LSODA",
            peers=peers,
            at_most=0.2,
            at_least_ratio=10,
        ),
        Row(what="first fit of a record's pot life", ours=timed(first_fit, 15), at_most=1.0),
    ]


def first_fit() -> float:
    """The rate of a record that was not asked for before."""
    rate_for.cache_clear()
    return rate_for(
        time_min=3.0, conversion=0.25, reference_c=23.0, energy_kj_mol=53.0, rise_k=130.0, cooling_min=COOLING_MIN
    )


def integrated_min() -> float:
    """The same time by the integrator."""

    def slopes(_t: float, y: list[float]) -> list[float]:
        warm = 1 / ROOM_K - 1 / y[1]
        speed = MIX.rate_per_min * math.exp(1000 * MIX.energy_kj_mol / GAS_CONSTANT_J_MOL_K * warm) * (1 - y[0])
        return [speed, MIX.rise_k * speed - (y[1] - ROOM_K) / COOLING_MIN]

    def there(_t: float, y: list[float]) -> float:
        return y[0] - CONVERSION

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(slopes, (0, 1e4), [0, ROOM_K], method="LSODA", events=there, rtol=1e-6, atol=1e-9)
    return float(run.t[-1])
