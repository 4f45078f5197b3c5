"""Settings of the test run: the project's own, with what tests must change."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

# In memory where the system offers a folder there: every commit of the suite waits
# for the disk as in use (synchronous FULL), and this disk answers at once.
MEMORY = Path("/dev/shm")  # noqa: S108
SCRATCH = Path(
    tempfile.mkdtemp(
        prefix="trochlea-tests-", dir=MEMORY if os.access(MEMORY, os.W_OK) else None
    )
)
atexit.register(shutil.rmtree, SCRATCH, ignore_errors=True)

# Before the settings are read: nothing of a developer's own set-up leaks in.
os.environ.update(
    TROCHLEA_DATA=str(SCRATCH / "data"),
    TROCHLEA_KEY="only-for-tests-" * 5,
    TROCHLEA_HOSTS="127.0.0.1,localhost",
    TROCHLEA_HTTPS="off",
    # Far from UTC, so that a day taken from the wrong clock shows.
    TROCHLEA_TIME_ZONE="Australia/Sydney",
)
os.environ.pop("DATABASE_REPLICA_URL", None)

from clinic.settings import *

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

# The live server serves files through the finders, which know no hashed names.
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
STATIC_ROOT = SCRATCH / "static"
STATIC_ROOT.mkdir()

# A file, so that SQLite runs in WAL mode and the live server's threads share it.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": str(SCRATCH / "test.sqlite3")}
else:
    # The suite makes, copies and drops databases under its connections.
    DATABASES["default"]["OPTIONS"].pop("pool")

# Every request of the suite raises where it asks the database row by row.
INSTALLED_APPS = [*INSTALLED_APPS, "zeal"]
MIDDLEWARE = ["zeal.middleware.zeal_middleware", *MIDDLEWARE]
ZEAL_RAISE = True
