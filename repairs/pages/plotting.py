"""The page of plots: bars in drawing units, with every figure beside them in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.pages.frame import page
from repairs.plots import Period, Plots, plots

WIDE, HALF = 640, 90
"""Of a plot: the first figures stand above its middle line, the second hang below it."""


@dataclass(frozen=True)
class Bar:
    span: Period
    x: float
    wide: float
    up: float
    down: float


@dataclass(frozen=True)
class Chart:
    bars: Sequence[Bar]
    first: Decimal
    second: Decimal
    most: Decimal
    wide: int = WIDE
    half: int = HALF


def chart(spans: Sequence[Period]) -> Chart:
    """Bars of these spans on one scale, with the sums of both figures."""
    most = max((max(each.first, each.second) for each in spans), default=Decimal(0))
    step = WIDE / max(len(spans), 4)
    bars = []
    for at, each in enumerate(spans):
        up, down = (
            round(float(figure / most) * (HALF - 6), 1) if most else 0.0
            for figure in (each.first, each.second)
        )
        bars.append(Bar(each, round((at + 0.15) * step, 1), round(step * 0.7, 1), up, down))
    return Chart(
        bars, sum((s.first for s in spans), Decimal(0)), sum((s.second for s in spans), Decimal(0)), most
    )


@page()
def show(request: HttpRequest) -> HttpResponse:
    found: Plots = plots()
    most = max((each.pieces for each in found.short), default=1)
    return render(
        request,
        "bench/plots.html",
        {
            "plots": found,
            "moved": chart(found.moved),
            "money": chart(found.money),
            "short": [(each, round(100 * each.pieces / most, 1)) for each in found.short],
        },
    )
