"""A sweep as plain text for a terminal: one line for each kit, beside the first of them."""

from collections.abc import Iterable, Sequence

from service.simulations.simulation import SimulatedKit, SimulationItem

LONGEST_NAME = 52


def as_table(items: Sequence[SimulationItem]) -> str:
    """Return the peaks of every kit, and what it gains over the first that was simulated."""
    first = next((item.kit for item in items if item.kit is not None), None)
    names = [_name(item) for item in items]
    width = min(max(map(len, names)), LONGEST_NAME) + 2
    lines = [
        "peak power at rev/min, gain over the first; peak torque at rev/min; band",
        *(
            f"{name:<{width}}{_figures(item, first)}"
            for name, item in zip(names, items, strict=True)
        ),
    ]
    return "\n".join([*lines, *_footnotes(items)])


def _name(item: SimulationItem) -> str:
    if item.kit is None:
        return f"kit {item.position + 1}"
    return " ".join(item.kit.request.parts.values()) or "factory kit"


def _figures(item: SimulationItem, first: SimulatedKit | None) -> str:
    if item.kit is None or first is None:
        return "" if item.problem is None else item.problem.detail
    power, torque, band = item.kit.peaks.power, item.kit.peaks.torque, item.kit.band
    gain = power.power_kw - first.peaks.power.power_kw
    mark = "" if item.kit.fits else "  does not bolt together"
    return (
        f"{power.power_kw:5.0f} kW ({power.power_hp:.0f} hp) {power.speed_rpm:5.0f} {gain:+6.1f} kW"
        f"  {torque.torque_nm:5.0f} N·m ({torque.torque_lbft:.0f} lbf·ft) {torque.speed_rpm:5.0f}"
        f"  {band.low_rpm:.0f}-{band.high_rpm:.0f}{mark}"
    )


def _footnotes(items: Iterable[SimulationItem]) -> list[str]:
    kits = [item.kit for item in items if item.kit is not None]
    unsure = sum(not all(point.converged for point in kit.curve) for kit in kits)
    notes = [f"power {kits[0].basis.rating}; {kits[0].basis.bounds}"] if kits else []
    if unsure:
        notes.append(f"{unsure} kits hold a speed at which the simulation did not repeat itself")
    return notes
