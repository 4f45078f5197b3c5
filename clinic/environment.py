"""How settings are read from the environment; a wrong word is refused."""

import secrets
from pathlib import Path

import environ
from django.core.exceptions import ImproperlyConfigured

env = environ.Env()


def switch(name: str, *, default: bool) -> bool:
    """Read an on/off setting; any other word is refused."""
    return one_of(name, "on", "off", default="on" if default else "off") == "on"


def one_of(name: str, *words: str, default: str) -> str:
    """Read a setting that takes one of a few words; any other is refused."""
    word: str = env.str(name, default=default)
    if word not in words:
        allowed = f"{', '.join(words[:-1])} or {words[-1]}"
        raise ImproperlyConfigured(f"{name} is {word!r}: write {allowed}.")
    return word


def number(name: str, *, least: int = 0, default: int) -> int:
    """Read a whole number that is not below `least`; anything else is refused."""
    typed: str = env.str(name, default=str(default))
    if not (typed.isascii() and typed.isdigit()) or int(typed) < least:
        raise ImproperlyConfigured(
            f"{name} is {typed!r}: write a whole number, {least} or more."
        )
    return int(typed)


def secret_key(data_dir: Path) -> str:
    """Return the key from the environment, or the one kept in the data folder."""
    if key := env.str("TROCHLEA_KEY", default=""):
        return key
    if env.str("DATABASE_URL", default=""):
        raise ImproperlyConfigured(
            "Set TROCHLEA_KEY to 50 or more random characters: every web process "
            "that shares the database needs the same key. "
            "To make one: python -c 'import secrets; print(secrets.token_urlsafe(50))'"
        )
    kept = data_dir / "key"
    if not kept.exists():
        kept.touch(mode=0o600)
        kept.write_text(secrets.token_urlsafe(64), encoding="ascii")
    return kept.read_text(encoding="ascii").strip()
