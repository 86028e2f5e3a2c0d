"""Ctrl-C while a line is waited for."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

LOOKED_FOR_EVERY = 0.2  # [s]


@contextmanager
def heard_while_waiting() -> Iterator[None]:
    """Within it a Ctrl-C is heard even if it came in the moment before the wait for a key began: it is noted then, and nothing would wake the wait to
    look for it but the next key. An alarm that does nothing wakes it."""
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGALRM, lambda *_: None)
    try:
        signal.setitimer(signal.ITIMER_REAL, LOOKED_FOR_EVERY, LOOKED_FOR_EVERY)
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
