"""What a quote is charged: everything priced, its bill, and what nobody priced."""

from dataclasses import dataclass

from service.money import money
from service.quotes.money import Bill, Item


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """One content at the prices of one moment."""

    items: tuple[Item, ...]
    """With what each costs the shop; for the desk alone."""
    bill: Bill
    not_priced: tuple[str, ...] = ()
    """What the kit takes and nothing charges."""

    def charges_as(self, other: "Charge") -> bool:
        """Say whether a customer is charged the same."""
        return (self.bill, self.not_priced) == (other.bill, other.not_priced)


def nothing_charged(currency: str) -> Charge:
    """Return the charge of what was never priced."""
    return Charge(items=(), bill=Bill(lines=(), total=money(0, currency)))
