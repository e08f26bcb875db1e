"""Hearing early that this process is asked to stop.

A server waits for its open connections before it tells the application that it stops; a
stream of events that waited for that would keep it from stopping.
"""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, current_thread, main_thread
from types import FrameType

SIGNALS = (signal.SIGTERM, signal.SIGINT)


@contextmanager
def stopped_by_signals(stopping: Event) -> Iterator[None]:
    """Set `stopping` on a signal to stop, then do what was to be done on it before.

    Python's own answer to an interrupt is left out: it would end a worker in mid-write.
    """
    if current_thread() is not main_thread():
        yield
        return
    before = {each: signal.getsignal(each) for each in SIGNALS}

    def stop(number: int, frame: FrameType | None) -> None:
        stopping.set()
        handler = before[signal.Signals(number)]
        if callable(handler) and handler is not signal.default_int_handler:
            handler(number, frame)

    for each in SIGNALS:
        signal.signal(each, stop)
    try:
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
