import pytest

from service.catalog.slots import Slot
from tests.kits.simulated import TOGETHER, factory_kit, factory_ladder, factory_power
from tests.seed import FACTORY_MANIFOLD

pytestmark = pytest.mark.xdist_group(TOGETHER)


def test_the_first_rung_of_the_factory_intake_is_the_throat_under_its_plenum() -> None:
    """What the trade knows of such manifolds: common practice, no source."""
    first = factory_ladder().intake[0]

    assert first.slot is Slot.INTAKE_MANIFOLD
    assert first.sku == FACTORY_MANIFOLD
    assert "throat" in first.name


def test_the_rungs_stand_in_the_order_of_their_losses() -> None:
    for side in (factory_ladder().intake, factory_ladder().exhaust):
        losses = [rung.pressure_loss_kpa for rung in side]

        assert losses == sorted(losses, reverse=True)


def test_the_shares_of_each_side_make_a_whole() -> None:
    for side in (factory_ladder().intake, factory_ladder().exhaust):
        assert sum(rung.share_of_loss for rung in side) == pytest.approx(1.0)


def test_the_losses_of_the_intake_lead_from_the_air_outside_to_the_runner() -> None:
    """Every place loses, and all together lose less than the air has."""
    losses = [rung.pressure_loss_kpa for rung in factory_ladder().intake]

    assert min(losses) > 0.0
    assert sum(losses) < 30.0


def test_a_larger_throat_gives_power() -> None:
    throat = factory_ladder().intake[0]

    assert throat.power_gain_kw > 0.0
    # One horsepower is 0.7457 kW.
    assert throat.power_gain_hp == pytest.approx(throat.power_gain_kw / 0.7457, rel=1e-4)


def test_more_port_flow_gives_power() -> None:
    assert factory_ladder().port_power_gain_kw > 0.0


def test_every_part_of_the_path_has_a_rung() -> None:
    """Inlet, throttle, throat, runner mouths; primaries, system."""
    ladder = factory_ladder()

    assert {rung.slot for rung in ladder.intake} == {
        Slot.AIR_INLET,
        Slot.THROTTLE_BODY,
        Slot.INTAKE_MANIFOLD,
    }
    assert {rung.slot for rung in ladder.exhaust} == {Slot.EXHAUST_MANIFOLD, Slot.EXHAUST_SYSTEM}
    assert all(rung.sku == factory_kit().parts[rung.slot].sku for rung in ladder.intake)
    assert ladder.speed_rpm == factory_power().peaks.power.speed_rpm
