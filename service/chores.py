"""Small work that nobody orders: looked for again and again beside requests and jobs."""

import logging
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Event, Thread

LOG = logging.getLogger(__name__)

LOOK_EVERY_S = 1.0
AFTER_AN_ERROR_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """One kind of such work; any number of processes may do it on one database."""

    name: str
    do_next: Callable[[], bool]
    """Does the next piece, or answers that there is none."""

    threads: int = 1
    look_every_s: float = LOOK_EVERY_S

    def run(self, stopping: Event) -> None:
        """Do what there is until `stopping` is set; what fails is tried again."""
        while not stopping.is_set():
            wait_s = self.look_every_s
            try:
                if self.do_next():
                    continue
            except Exception:
                LOG.exception("The chore %r could not be done; it is tried again.", self.name)
                wait_s = AFTER_AN_ERROR_S
            stopping.wait(wait_s)


@contextmanager
def doing_chores(chores: Iterable[Chore], stopping: Event) -> Iterator[None]:
    """Do each in threads of its own, so that none waits for another."""
    threads = [
        Thread(target=chore.run, args=(stopping,), name=chore.name, daemon=True)
        for chore in chores
        for _ in range(chore.threads)
    ]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        stopping.set()
        for thread in threads:
            thread.join()
