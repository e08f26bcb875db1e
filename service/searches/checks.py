"""What a search is refused for: the field that is wrong, and the limit."""

from collections.abc import Iterator, Mapping, Sequence

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.compliance.jurisdictions import Profiles
from service.errors import FieldProblem, InvalidInput
from service.kits.power import SLOWEST_RPM
from service.money import decimal_text
from service.searches.joining import Screen
from service.searches.question import Aim, SearchRequest, SpeedRange
from service.searches.screens import Offer

MOST_MONEY_CENTS = 1_000_000_000


def check(
    asked: SearchRequest,
    family: EngineFamily,
    members: Mapping[Slot, Sequence[Part]],
    profiles: Profiles,
) -> None:
    """Refuse a request that no catalogue could answer, with every field that is wrong."""
    fuel = asked.question.engine.fuel
    if not members[Slot.CALIBRATION]:
        detail = f"No calibration of {family.key} is written for {fuel}."
        raise InvalidInput(_problem("/question/engine/fuel", "fuel_not_served", detail))
    found = [
        *_parts(asked, members),
        *_speeds(asked, family),
        *_aim(asked),
        *_price(asked),
        *_devices(asked, family),
        *(
            _problem(f"/limits/places/{number}", "unknown", f"There is no profile {place!r}.")
            for number, place in enumerate(asked.limits.places)
            if place not in profiles
        ),
    ]
    if found:
        raise InvalidInput(*found)


def _problem(pointer: str, code: str, detail: str) -> FieldProblem:
    return FieldProblem(pointer=pointer, code=code, detail=detail)


def _parts(asked: SearchRequest, members: Mapping[Slot, Sequence[Part]]) -> Iterator[FieldProblem]:
    offered = {slot: {part.sku for part in parts} for slot, parts in members.items()}
    everything = set().union(*offered.values())
    named = [(f"/fixed/{slot}", slot, sku) for slot, sku in asked.fixed.items()]
    named += [
        (f"/allowed/{slot}/{number}", slot, sku)
        for slot, skus in asked.allowed.items()
        for number, sku in enumerate(skus)
    ]
    named += [(f"/compared/{slot}", slot, sku) for slot, sku in (asked.compared or {}).items()]
    unknown = {slot for _, slot, sku in named if sku not in offered.get(slot, set())}
    for pointer, slot, sku in named:
        if sku not in offered.get(slot, set()):
            yield _problem(pointer, "unknown", f"{sku!r} is not offered for {slot} of this family.")
    for number, sku in enumerate(asked.excluded):
        if sku not in everything:
            yield _problem(f"/excluded/{number}", "unknown", f"{sku!r} is not offered.")
    for slot in offered.keys() - unknown:
        yield from _emptied(asked, slot, offered[slot])


def _emptied(asked: SearchRequest, slot: Slot, skus: set[str]) -> Iterator[FieldProblem]:
    left = skus - set(asked.excluded)
    if slot in asked.allowed:
        left &= set(asked.allowed[slot])
    if slot in asked.fixed:
        left &= {asked.fixed[slot]}
    if left:
        return
    place = "excluded"
    if slot in asked.fixed or slot in asked.allowed:
        place = f"{'fixed' if slot in asked.fixed else 'allowed'}/{slot}"
    yield _problem(
        f"/{place}",
        "slot_empty",
        f"`fixed`, `allowed` and `excluded` together leave no part for {slot}.",
    )


def _speeds(asked: SearchRequest, family: EngineFamily) -> Iterator[FieldProblem]:
    limits = asked.limits
    fastest = asked.question.engine.rev_limit_rpm or family.rev_limit_rpm
    named = [
        (f"/limits/torque_at/{number}/speed_rpm", each.speed_rpm)
        for number, each in enumerate(limits.torque_at)
    ]
    ranges = (("/limits/band_covers", limits.band_covers), ("/torque_range", asked.torque_range))
    for pointer, range_ in ranges:
        if range_ is not None:
            named += [
                (f"{pointer}/low_rpm", range_.low_rpm),
                (f"{pointer}/high_rpm", range_.high_rpm),
            ]
            yield from _order(pointer, range_)
    if asked.objective.speed_rpm is not None:
        named.append(("/objective/speed_rpm", asked.objective.speed_rpm))
    for pointer, speed in named:
        if not SLOWEST_RPM <= speed <= fastest:
            yield _problem(
                pointer,
                "outside_speeds",
                f"Curves of this engine run from {SLOWEST_RPM:.0f} to {fastest:.0f} rev/min.",
            )


def _order(pointer: str, range_: SpeedRange) -> Iterator[FieldProblem]:
    if range_.low_rpm >= range_.high_rpm:
        yield _problem(f"{pointer}/low_rpm", "range", "`low_rpm` must be below `high_rpm`.")


def _aim(asked: SearchRequest) -> Iterator[FieldProblem]:
    objective, limits = asked.objective, asked.limits
    if objective.aim is Aim.TORQUE_AT_SPEED and objective.speed_rpm is None:
        yield _problem("/objective/speed_rpm", "missing", "`torque_at_speed` needs a speed.")
    weights = objective.weights
    if objective.aim is Aim.WEIGHTED and (
        weights is None or not (weights.peak_power or weights.mean_torque or weights.price)
    ):
        yield _problem("/objective/weights", "missing", "`weighted` needs a weight above 0.")
    targets = limits.torque_at or limits.power_at_least_kw is not None or limits.band_covers
    if objective.aim is Aim.LEAST_PRICE and not targets:
        yield _problem(
            "/objective/aim",
            "no_target",
            "The least price is asked for a target: set `power_at_least_kw`, `torque_at` or "
            "`band_covers`.",
        )


def _price(asked: SearchRequest) -> Iterator[FieldProblem]:
    price = asked.limits.price_at_most
    if price is not None and price.cents > MOST_MONEY_CENTS:
        yield _problem(
            "/limits/price_at_most/amount",
            "less_than_equal",
            f"An amount of at most {decimal_text(MOST_MONEY_CENTS)} is asked for.",
        )


def _devices(asked: SearchRequest, family: EngineFamily) -> Iterator[FieldProblem]:
    question = asked.question
    fitted = {
        fitting.device
        for fitting in family.devices_fitted
        if fitting.was_fitted(question.model_year, question.use)
    }
    for number, device in enumerate(asked.limits.devices_kept):
        if device not in fitted:
            yield _problem(
                f"/limits/devices_kept/{number}",
                "not_fitted",
                f"{device} is not recorded as fitted on {family.key} of {question.model_year} for "
                f"{question.use} use.",
            )


def contradictions(asked: SearchRequest, offer: Offer, screens: Sequence[Screen]) -> None:
    """Refuse fixed parts that no kit holds together, with what is in the way.

    What no part at all goes with is no matter of the fixed ones: the answer names it.
    """
    fixed = {
        offer.places((slot,))[0]: [part.sku for part in offer.members[slot]].index(sku)
        for slot, sku in asked.fixed.items()
    }
    blocking = sorted(
        {
            screen.name
            for screen in screens
            if screen.allowed.any()
            and not screen.allowed[
                tuple(fixed.get(place, slice(None)) for place in screen.places)
            ].any()
        }
    )
    if blocking:
        raise InvalidInput(
            *(
                _problem(
                    f"/fixed/{slot}",
                    "contradiction",
                    f"No kit holds all fixed parts; in the way: {', '.join(blocking)}.",
                )
                for slot in asked.fixed
            )
        )
