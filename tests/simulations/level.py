"""An executor that takes the place of threads or a cluster: one level torque, nothing simulated."""

from collections.abc import Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from typing import Any

from service.jobs.kinds import Pool
from tests.kits.assembled import level_torque


class LevelExecutor(Executor):
    """Does everything at once, where it is asked to."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> "Future[Any]":  # noqa: ANN401 - As the base class.
        future: Future[Any] = Future()
        if "run" in kwargs:
            kwargs["run"] = level_torque
        future.set_result(fn(*args, **kwargs))
        return future

    def map(self, fn: Any, *tasks: Any, **_options: Any) -> Any:  # noqa: ANN401 - The same.
        return level_torque(fn, *tasks)


@contextmanager
def level_pool(_scheduler: str | None = None) -> Iterator[Pool]:
    """Takes the place of `open_pool`."""
    yield Pool(executor=LevelExecutor(), width=2)
