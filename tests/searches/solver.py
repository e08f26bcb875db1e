"""The same question put to a constraint solver, CP-SAT: an implementation of its own."""

import numpy as np
from ortools.sat.python import cp_model

from service.searches.joining import Screen


class _Count(cp_model.CpSolverSolutionCallback):
    """Adds up, for every choice, a value of each member."""

    def __init__(self, chosen: list[cp_model.IntVar], values: list[np.ndarray] | None) -> None:
        super().__init__()
        self._chosen, self._values = chosen, values
        self.count = 0
        self.totals: list[int] = []

    def on_solution_callback(self) -> None:
        self.count += 1
        if self._values is not None:
            members = [self.value(variable) for variable in self._chosen]
            self.totals.append(
                sum(int(own[one]) for own, one in zip(self._values, members, strict=True))
            )


def solved(
    sizes: tuple[int, ...], screens: list[Screen], values: list[np.ndarray] | None = None
) -> _Count:
    """Every choice that the solver finds, counted."""
    model = cp_model.CpModel()
    chosen = [model.new_int_var(0, size - 1, str(place)) for place, size in enumerate(sizes)]
    for screen in screens:
        together = np.argwhere(screen.allowed).tolist()
        model.add_allowed_assignments([chosen[place] for place in screen.places], together)
    solver = cp_model.CpSolver()
    solver.parameters.enumerate_all_solutions = True
    solver.parameters.num_workers = 1
    found = _Count(chosen, values)
    solver.solve(model, found)
    return found
