"""The job that fits a family's surface again: its design piece by piece, then the fit."""

from collections import deque
from concurrent.futures import Future
from typing import Any

import numpy as np

from service.database import Database
from service.engine.inputs import FloatArray
from service.errors import Conflict
from service.jobs.job import Value
from service.jobs.kinds import JobContext
from service.surfaces.api import load_airflow
from service.surfaces.fitting import (
    BOUND_ENGINES,
    PIECE_ENGINES,
    Design,
    design_of,
    fitted,
    simulated_bounds,
    simulated_piece,
)
from service.surfaces.store import put_surface


class CatalogueMoved(Conflict):
    """The parts of a family changed between the order of a refit and its work."""

    def __init__(self, family: str) -> None:
        super().__init__(
            f"The parts of {family} have changed since the refit was ordered; order another."
        )


def refit(payload: Value, context: JobContext, *, database: Database) -> str:
    """Simulate what no earlier attempt did, fit, and keep the surface.

    A piece is the responses of some engines; the last one is the simulation's own bounds.
    """
    family = payload["family"]
    with database.reading() as session:
        airflow = load_airflow(session, family)
    if airflow.digest != payload["digest"]:
        raise CatalogueMoved(family)
    design = design_of(airflow, engines=payload["engines"], seed=payload["seed"])
    pieces = _Pieces(design, context)
    pieces.work()
    context.check()
    surface = fitted(
        family, design, pieces.response(), pieces.bounds(), run=context.pool.executor.map
    )
    with database.writing() as session:
        put_surface(session, surface)
    return f"/v1/surfaces/{family}"


class _Pieces:
    """The pieces of a design: sent off, waited for, and put together."""

    def __init__(self, design: Design, context: JobContext) -> None:
        self.design = design
        self.context = context
        self._done: dict[int, Value] = dict(context.finished)

    def work(self) -> None:
        """Have every piece done that is not, as many at once as keep the pool busy."""
        flying: deque[tuple[int, Future[Any]]] = deque()
        try:
            for position in range(self.design.piece_count + 1):
                if position not in self._done:
                    flying.append((position, self._sent(position)))
                if len(flying) > self.context.pool.width:
                    self._take(*flying.popleft())
            while flying:
                self._take(*flying.popleft())
        finally:
            for _, future in flying:
                future.cancel()

    def response(self) -> FloatArray:
        """Return the responses of the whole design."""
        pieces = (self._done[place]["response"] for place in range(self.design.piece_count))
        # JSON has no word for "not a number"; null stands for it, and numpy takes it back.
        return np.concatenate([np.array(piece, dtype=np.float64) for piece in pieces])

    def bounds(self) -> tuple[float, ...]:
        """Return the simulation's own bounds."""
        return tuple(self._done[self.design.piece_count]["bounds"])

    def _sent(self, position: int) -> Future[Any]:
        submit, airflow = self.context.pool.executor.submit, self.design.airflow
        if position == self.design.piece_count:
            rows = self.design.rows[:BOUND_ENGINES]
            return submit(simulated_bounds, airflow.base, rows, airflow.box)
        part = slice(position * PIECE_ENGINES, (position + 1) * PIECE_ENGINES)
        speeds = self.design.angular_speed[part]
        return submit(simulated_piece, airflow.base, self.design.rows[part], speeds)

    def _take(self, position: int, future: Future[Any]) -> None:
        self.context.check()
        found = future.result()
        name = "bounds" if position == self.design.piece_count else "response"
        value = {name: _without_nan(found)}
        self._done[position] = value
        phase = f"engines {min((position + 1) * PIECE_ENGINES, len(self.design.rows))}"
        self.context.finish_item(position, value, f"{phase} of {len(self.design.rows)}")


def _without_nan(found: Any) -> Any:  # noqa: ANN401 - nested lists of any depth.
    if isinstance(found, list | tuple):
        return [_without_nan(each) for each in found]
    return None if np.isnan(found) else found
