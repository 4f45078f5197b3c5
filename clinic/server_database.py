"""PostgreSQL for a clinic group: pooled connections with limits, and its replica."""

from typing import Any

# How long a request waits for a connection before it says that it cannot (seconds;
# project assumption). The pool gives up on a lost server after the same time, so
# that the next request tries anew and no long pause follows a restart.
WAIT_SECONDS = 3


def pooled(
    database: dict[str, Any], *, smallest: int, largest: int, limits: dict[str, int]
) -> dict[str, Any]:
    """Return the settings of a server's database with a pool and time limits.

    `limits` are PostgreSQL's own names in seconds; 0 means no limit.
    """
    words = [f"-c {name}={seconds * 1000}" for name, seconds in limits.items()]
    options = {"connect_timeout": WAIT_SECONDS, **database.get("OPTIONS", {})}
    options["options"] = " ".join([options.get("options", ""), *words]).strip()
    options["pool"] = {
        "min_size": smallest,
        "max_size": largest,
        "timeout": WAIT_SECONDS,
        "reconnect_timeout": WAIT_SECONDS,
    }
    # The pool keeps the connections, so that Django must not.
    return {
        **database,
        "OPTIONS": options,
        "CONN_MAX_AGE": 0,
        "CONN_HEALTH_CHECKS": True,
    }


def replica_of(database: dict[str, Any], replica: dict[str, Any]) -> dict[str, Any]:
    """Return the settings of a replica: the server's own, at its own address."""
    options = {**database["OPTIONS"], **replica.get("OPTIONS", {})}
    options["options"] += " -c default_transaction_read_only=on"
    return {**database, **replica, "OPTIONS": options, "TEST": {"MIRROR": "default"}}
