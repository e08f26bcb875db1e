"""A family's fitted response surface, as an assessment uses it."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from service.engine.cycle import KERNEL_VERSION
from service.engine.features import FEATURES_VERSION
from service.engine.inputs import FloatArray
from service.engine.study import SurfaceErrors, speed_knots
from service.engine.surface import Surface
from service.engine.uncertainty import BOUND_WIDTH


def is_of_this_version(model_version: str, features_version: str) -> bool:
    """Say whether simulation and features are still those that a surface was fitted with."""
    return (model_version, features_version) == (KERNEL_VERSION, FEATURES_VERSION)


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedSurface:
    """A surface with what it was fitted to and how far it is off."""

    family: str
    surface: Surface
    errors: SurfaceErrors
    """On all engines of the design."""
    kit_errors: SurfaceErrors
    """On those of them that are made of catalogue parts."""
    input_errors: tuple[float, ...]
    """Half width of the simulation's own bounds at the speed knots, as a share of torque."""
    model_version: str
    """Of the simulation that it was fitted to."""
    features_version: str
    catalog_digest: str
    """Of the airflow of every part that its range was drawn around."""
    seed: int
    fitted_at: datetime

    @property
    def is_of_this_version(self) -> bool:
        """Whether the simulation and the features are still those that it was fitted with."""
        return is_of_this_version(self.model_version, self.features_version)

    @property
    def own_error(self) -> FloatArray:
        """One standard deviation of torque at the speed knots, of kits or of all: the larger."""
        return np.maximum(self.errors.torque_rms, self.kit_errors.torque_rms)

    def relative_error(self, angular_speed: FloatArray) -> FloatArray:
        """Return the half width of the bounds: the simulation's own and the surface's."""
        squares = np.square(self.input_errors) + (BOUND_WIDTH * self.own_error) ** 2
        knots = speed_knots(self.surface.box)
        return np.asarray(np.interp(angular_speed, knots, np.sqrt(squares)))
