"""How figures and words of an answer are written on a page; no rule is decided here."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.catalog.devices import DEVICE_TERMS, Device
from service.units import (
    cfm_to_m3_per_s,
    hp_to_w,
    in_to_m,
    inh2o_to_pa,
    inhg_to_pa,
    kg_to_lb,
    lbft_to_nm,
    mm_to_m,
    nm_to_lbft,
    w_to_hp,
)

G_PER_KG = 1e3
W_PER_KW = 1e3
PA_PER_KPA = 1e3
LITRES_PER_M3 = 1e3
USES = {
    "road": "on the road",
    "marine": "in a boat",
    "nonroad": "work off the road",
    "competition": "competition only",
}
LIMITS = {
    "price_at_most": "the budget",
    "power_at_least_kw": "the power asked for",
    "keeps_stock_exterior": "keeping the outside as the factory left it",
    "band_covers": "the range of speeds it has to pull in",
    "torque_at": "the pull asked for",
    "paperwork_at_worst": "the papers asked for",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitSystem:
    """Which units a page is written in."""

    key: str
    torque: str
    power: str
    length: str
    flow: str
    depression: str
    """Of a flow bench."""
    loss: str
    """Of pressure, on the way of the air."""

    def torque_of(self, torque_nm: float) -> float:
        """Return a torque in the page's unit."""
        return torque_nm if self.key == "si" else nm_to_lbft(torque_nm)

    def power_of(self, power_kw: float) -> float:
        """Return a power in the page's unit."""
        return power_kw if self.key == "si" else w_to_hp(power_kw * W_PER_KW)

    def length_of(self, length_mm: float) -> float:
        """Return a length in the page's unit."""
        return length_mm if self.key == "si" else float(mm_to_m(length_mm) / in_to_m(1.0))

    def flow_of(self, flow_cfm: float) -> float:
        """Return a flow of air in the page's unit."""
        return float(cfm_to_m3_per_s(flow_cfm)) * LITRES_PER_M3 if self.key == "si" else flow_cfm

    def depression_of(self, depression_inh2o: float) -> float:
        """Return the depression of a flow bench in the page's unit."""
        if self.key == "si":
            return float(inh2o_to_pa(depression_inh2o)) / PA_PER_KPA
        return depression_inh2o

    def loss_of(self, loss_kpa: float) -> float:
        """Return a loss of pressure in the page's unit."""
        return loss_kpa if self.key == "si" else loss_kpa * PA_PER_KPA / float(inhg_to_pa(1.0))

    def kw_of(self, power: float) -> float:
        """Return a power that was typed in the page's unit in kilowatts."""
        return power if self.key == "si" else hp_to_w(power) / W_PER_KW

    def nm_of(self, torque: float) -> float:
        """Return a torque that was typed in the page's unit in newton metres."""
        return torque if self.key == "si" else lbft_to_nm(torque)


US = UnitSystem(
    key="us",
    torque="lbf·ft",
    power="hp",
    length="in",
    flow="cfm",
    depression="inH₂O",
    loss="inHg",
)
SI = UnitSystem(
    key="si",
    torque="N·m",
    power="kW",
    length="mm",
    flow="L/s",
    depression="kPa",
    loss="kPa",
)


def unit_system(key: str | None) -> UnitSystem:
    """Return the units that an address asks for; US customary where it does not."""
    return SI if key == "si" else US


def plain(word: str) -> str:
    """Write a stored word for people: `not_assessed` becomes `not assessed`."""
    return word.replace("_", " ")


def device(key: str) -> str:
    """Write an emission device by its name, with the abbreviation of the trade before it."""
    term = DEVICE_TERMS[Device(key)]
    return f"{term.abbreviation}, {term.title}" if term.abbreviation else term.title


def there_in(days: int) -> str:
    """Write when all of a kit is there."""
    if not days:
        return "on the shelf"
    return f"here in {days} {'day' if days == 1 else 'days'}"


def limit_in_words(limit: str, places: Mapping[str, str]) -> str:
    """Write a limit of a search as the desk's form asks for it; places are named by their titles.

    >>> limit_in_words("paperwork_at_worst.us-ca", {"us-ca": "California"})
    'the papers asked for in California'
    """
    name, _, of = limit.partition(".")
    said = LIMITS.get(name, plain(limit))
    return f"{said} in {places[of]}" if of in places else said


def whole(value: float) -> str:
    """Write a figure without decimals: the model's bounds are wider than one unit."""
    return f"{value:,.0f}"


def weight(grams: int) -> str:
    """Write a weight in both units: who carries it may know either."""
    return f"{grams / G_PER_KG:.1f} kg ({kg_to_lb(grams / G_PER_KG):.1f} lb)"


def signed(value: float) -> str:
    """Write a change; the minus is a real one, so that it is not read as a dash."""
    return f"{value:+,.0f}".replace("-", "\N{MINUS SIGN}")
