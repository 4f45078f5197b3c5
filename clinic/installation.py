"""What the command line must know about this installation: tables, address."""

from pathlib import Path

from django.conf import settings
from django.db import OperationalError, connection

from .models import Site
from .serving import HOST, PORT


def has_tables() -> bool:
    """Whether the database was set up by `manage.py migrate`."""
    try:
        return Site._meta.db_table in connection.introspection.table_names()
    except OperationalError:
        if is_embedded() and not Path(settings.DATA_DIR).exists():
            return False
        raise


def is_embedded() -> bool:
    """Whether the database is the file in the data folder."""
    return connection.vendor == "sqlite"


def make_data_folder() -> None:
    """Make the folder of the embedded database where there is none."""
    Path(settings.DATA_DIR).mkdir(mode=0o700, parents=True, exist_ok=True)


def own_address() -> str:
    """Return where browsers find this installation, without a slash at the end."""
    if settings.IS_LOOPBACK_ONLY:
        return f"http://{HOST}:{PORT}"
    scheme = "https" if settings.HTTPS else "http"
    host = settings.ALLOWED_HOSTS[0].removeprefix(".").replace("*", "YOUR-ADDRESS")
    return f"{scheme}://{host}"
