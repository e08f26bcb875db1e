"""How figures and words of an answer are written on a page; no rule is decided here."""

from dataclasses import dataclass

from service.units import hp_to_w, lbft_to_nm, nm_to_lbft, w_to_hp

W_PER_KW = 1e3
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

    def torque_of(self, torque_nm: float) -> float:
        """Return a torque in the page's unit."""
        return torque_nm if self.key == "si" else nm_to_lbft(torque_nm)

    def power_of(self, power_kw: float) -> float:
        """Return a power in the page's unit."""
        return power_kw if self.key == "si" else w_to_hp(power_kw * W_PER_KW)

    def kw_of(self, power: float) -> float:
        """Return a power that was typed in the page's unit in kilowatts."""
        return power if self.key == "si" else hp_to_w(power) / W_PER_KW

    def nm_of(self, torque: float) -> float:
        """Return a torque that was typed in the page's unit in newton metres."""
        return torque if self.key == "si" else lbft_to_nm(torque)


US = UnitSystem(key="us", torque="lb·ft", power="hp")
SI = UnitSystem(key="si", torque="N·m", power="kW")


def unit_system(key: str | None) -> UnitSystem:
    """Return the units that an address asks for; US customary where it does not."""
    return SI if key == "si" else US


def plain(word: str) -> str:
    """Write a stored word for people: `not_assessed` becomes `not assessed`."""
    return word.replace("_", " ")


def limit_in_words(limit: str) -> str:
    """Write a limit of a search as the desk's form asks for it."""
    return LIMITS.get(limit.partition(".")[0], plain(limit))


def whole(value: float) -> str:
    """Write a figure without decimals: the model's bounds are wider than one unit."""
    return f"{value:,.0f}"


def signed(value: float) -> str:
    """Write a change; the minus is a real one, so that it is not read as a dash."""
    return f"{value:+,.0f}".replace("-", "\N{MINUS SIGN}")
