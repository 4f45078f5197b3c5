"""The name of the request being answered, for whatever goes on record meanwhile."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_NAME: ContextVar[str] = ContextVar("request_id", default="")


def request_name() -> str:
    """Return the name of the request being answered; empty outside of one."""
    return _NAME.get()


@contextmanager
def named(name: str) -> Iterator[None]:
    """Let what happens inside carry the name."""
    token = _NAME.set(name)
    try:
        yield
    finally:
        _NAME.reset(token)
