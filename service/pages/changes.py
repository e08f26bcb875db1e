"""Answers side by side: every block in one line each, lines that differ first."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.words import UnitSystem, plain, signed, whole

Answer = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing that a caller may ask, told of each kit."""

    what: str
    told: tuple[str, ...]
    by: str = ""
    """How far the first is from the second, where there are two figures."""

    @property
    def differs(self) -> bool:
        """Whether the kits differ in it."""
        return len(set(self.told)) > 1


def side_by_side(answers: Sequence[Answer], units: UnitSystem) -> tuple[Line, ...]:
    """Return every line, those that differ first."""
    found = [*_figures(answers, units), *_words(answers)]
    return tuple(sorted(found, key=lambda line: not line.differs))


def held_up(answers: Sequence[Answer], units: UnitSystem) -> tuple[Line, ...]:
    """Return where each kit holds the air up; nothing where one was not simulated."""
    ladders = [answer["restriction_ladder"] for answer in answers]
    if None in ladders:
        return ()
    losses = [
        {
            f"{rung['name']}, {rung['side']}": units.loss_of(rung["pressure_loss_kpa"])
            for side in ("intake", "exhaust")
            for rung in ladder[side]
        }
        for ladder in ladders
    ]
    places = dict.fromkeys(place for each in losses for place in each)
    most = tuple(str(ladder["intake"][0]["name"]) for ladder in ladders)
    return (
        Line(what="where the air is held up most", told=most),
        *(_loss(place, [each.get(place) for each in losses], units) for place in places),
    )


def _loss(place: str, told: Sequence[float | None], units: UnitSystem) -> Line:
    texts = tuple("not there" if one is None else f"{one:.2f}" for one in told)
    known = [one for one in told if one is not None]
    pair = len(told) == len(known) == 2  # noqa: PLR2004 - A pair.
    by = f"{known[0] - known[1]:+.2f}".replace("-", "\N{MINUS SIGN}") if pair else ""
    return Line(what=f"lost at {place}, {units.loss}", told=texts, by=by)


def price(answer: Answer) -> str:
    """Write what the new parts cost, in each currency."""
    block = answer["price"]
    if block is None:
        return "not asked for"
    totals = (f"{one['amount']} {one['currency']}" for one in block["totals"])
    return ", ".join(totals) or "nothing to buy"


def _figures(answers: Sequence[Answer], units: UnitSystem) -> Iterator[Line]:
    tells: dict[str, Callable[[Answer], float]] = {
        f"peak power, {units.power}": lambda one: units.power_of(one["peaks"]["power"]["power_kw"]),
        f"peak torque, {units.torque}": lambda one: units.torque_of(
            one["peaks"]["torque"]["torque_nm"]
        ),
        "power peaks at, rev/min": lambda one: one["peaks"]["power"]["speed_rpm"],
        "pulls well from, rev/min": lambda one: one["band"]["low_rpm"],
        "pulls well up to, rev/min": lambda one: one["band"]["high_rpm"],
    }
    for what, tell in tells.items():
        figures = tuple(tell(one) for one in answers)
        by = signed(figures[0] - figures[1]) if len(figures) == 2 else ""  # noqa: PLR2004 - A pair.
        yield Line(what=what, told=tuple(whole(figure) for figure in figures), by=by)


def _words(answers: Sequence[Answer]) -> Iterator[Line]:
    tells: dict[str, Callable[[Answer], str]] = {
        "air runs out at, rev/min": _air_runs_out,
        "goes together": lambda one: "yes" if one["fits"] else "no",
        "in the way of fitting it": lambda one: _reasons(one, "blocks"),
        "to see to when fitting it": lambda one: _reasons(one, "warns"),
        "outside as the factory left it": lambda one: plain(
            one["appearance"]["keeps_stock_exterior"]
        ),
        "devices that are not kept": _devices,
        "papers on file": lambda one: plain(one["paperwork"]["outcome"]),
        "note for the place": lambda one: plain(one["jurisdiction_note"]["outcome"]),
        "price of the new parts": price,
        "days until all is here": lambda one: str(one["lead_time"]["days"]),
    }
    for what, tell in tells.items():
        yield Line(what=what, told=tuple(tell(one) for one in answers))


def _reasons(answer: Answer, severity: str) -> str:
    told = dict.fromkeys(f["reason"] for f in answer["fit"] if f["severity"] == severity)
    return " ".join(told) or "nothing"


def _air_runs_out(answer: Answer) -> str:
    speed = answer["band"]["air_runs_out_rpm"]
    return "not below the rev limit" if speed is None else whole(speed)


def _devices(answer: Answer) -> str:
    rows = [row for row in answer["devices"]["rows"] if row["state"] != "kept"]
    return "; ".join(f"{row['title']}: {plain(row['state'])}" for row in rows) or "none"
