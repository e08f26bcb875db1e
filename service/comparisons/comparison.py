"""Two kits compared: their curves under the same errors, and what is left in the difference."""

import numpy as np

from service.comparisons.curves import Curves
from service.comparisons.figures import ChangedPart, Comparison, ComparisonProvenance
from service.comparisons.question import ComparisonRequest, band_of
from service.comparisons.sharing import Side, differing_slots
from service.engine.curve import PointRunner
from service.engine.cycle import KERNEL_VERSION
from service.engine.inputs import FloatArray
from service.engine.uncertainty import BOUNDS_VERSION
from service.kits.assessment import CAUTIONS
from service.kits.figures import Basis
from service.kits.kit import Kit
from service.kits.power import CURVE_POINTS, SLOWEST_RPM, basis_of, simulated_curve
from service.units import rpm_to_rad_per_s

INTERVAL = (
    "about 95 % for the difference: errors that both kits have cancel, those of parts that only "
    "one of them has add, and the model may miss a share of what the change does"
)


def compare(
    kits: tuple[Kit, Kit], request: ComparisonRequest, *, run: PointRunner, catalog_revision: int
) -> Comparison:
    """Simulate two kits at the same speeds under the same errors and read their difference."""
    fastest = min(kit.rev_limit_rpm for kit in kits)
    low_rpm, high_rpm = band_of(request, SLOWEST_RPM, fastest)
    coarse = np.linspace(SLOWEST_RPM, fastest, CURVE_POINTS)
    (a, basis_a), (b, basis_b) = (_side(kit, coarse, run) for kit in kits)
    curves = Curves(a, b, coarse)
    return Comparison(
        request=request,
        changed=_changed(*kits),
        speeds=tuple(
            curves.speed(float(rpm), converged=all(both))
            for rpm, *both in zip(coarse, a.converged, b.converged, strict=True)
        ),
        peaks=curves.peaks(),
        band=curves.band(low_rpm, high_rpm),
        basis_a=basis_a,
        basis_b=basis_b,
        interval=INTERVAL,
        assumptions=curves.assumptions(low_rpm, high_rpm),
        cautions=CAUTIONS,
        provenance=ComparisonProvenance(
            model_version=KERNEL_VERSION,
            bounds_version=BOUNDS_VERSION,
            catalog_revision=catalog_revision,
        ),
    )


def _changed(a: Kit, b: Kit) -> tuple[ChangedPart, ...]:
    return tuple(
        ChangedPart(slot=slot, a_sku=a.parts[slot].sku, b_sku=b.parts[slot].sku)
        for slot in differing_slots(a, b)
    )


def _side(kit: Kit, rpm: FloatArray, run: PointRunner) -> tuple[Side, Basis]:
    spec, air, curve = simulated_curve(kit, np.asarray(rpm_to_rad_per_s(rpm)), run=run)
    basis = basis_of(kit, bounds=INTERVAL, assumptions=())
    side = Side(
        kit=kit,
        spec=spec,
        ambient=air,
        torque=curve.torque * basis.correction_factor,
        changes=curve.changes,
        pressures=tuple(point.cycle.pressures for point in curve.points),
        converged=tuple(point.cycle.converged for point in curve.points),
    )
    return side, basis
