"""Settings of the test run: the shop's own, on a data directory and a key made for this run."""

import atexit
import os
import secrets
import shutil
import tempfile
from pathlib import Path

# Fixed before the settings are read: whatever a developer's shell has set must not leak in.
for _name in (
    *("ALLOWED_HOSTS", "BASE_URL", "BEHIND_PROXY", "DEBUG", "LOG_LEVEL"),
    *("MAIL_FROM", "SMTP_HOST", "SMTP_PORT", "TRUSTED_PROXIES"),
):
    os.environ.pop(_name, None)
os.environ["SECRET_KEY"] = secrets.token_urlsafe(50)
os.environ["DATA_DIR"] = tempfile.mkdtemp(prefix="hosewright-test-")
atexit.register(shutil.rmtree, os.environ["DATA_DIR"], ignore_errors=True)

from shop.settings import *  # noqa: E402, F403  # the environment above comes first
from shop.settings import DATA_DIR, DATABASES, REDIS_URL, STATIC_ROOT, STORAGES  # noqa: E402
from tests.servers import redis_part  # noqa: E402

ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
# One second per sign-in is right for people and wrong for two thousand tests.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
STATIC_ROOT.mkdir()
WHITENOISE_USE_FINDERS = True  # served from where they are written, nothing collected
WHITENOISE_AUTOREFRESH = True

if REDIS_URL:
    # Tests that run beside each other ring different bells.
    REDIS_URL = redis_part(REDIS_URL, int(os.environ.get("PYTEST_XDIST_WORKER", "gw0")[2:]))

# A browser keeps its connections to the test's server open; the server's to the database must not
# outlive the request, or the database cannot be dropped at the end.
DATABASES["default"]["CONN_MAX_AGE"] = 0

# A file, not memory: write-ahead logging and several connections work as they do in a shop.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": str(Path(DATA_DIR) / "test.sqlite3")}
