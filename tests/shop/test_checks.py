import pytest
from django.core.checks import run_checks
from django.db import connection
from pytest_django import Settings

from shop import checks

GOOD_KEY = "kT8v-2qLw_Zr7Ny4HsXe1BuJd9PaMf6CgVo3RiYt5QxEbWnDhUcAl0SjKp"


def ids(found: list[object]) -> list[str]:
    return [getattr(message, "id", "") for message in found]


def test_debug_is_refused_where_others_can_reach_it(settings: Settings) -> None:
    settings.DEBUG, settings.LOCAL_HTTP = True, False
    assert ids([*checks.check_deployment(None)]) == ["shop.E001"]
    settings.LOCAL_HTTP = True
    assert checks.check_deployment(None) == []


def test_any_host_is_refused(settings: Settings) -> None:
    settings.ALLOWED_HOSTS = ["*"]
    assert ids([*checks.check_deployment(None)]) == ["shop.E002"]


@pytest.mark.parametrize(
    "key", [GOOD_KEY[:49], "ab" * 30, f"django-insecure-{GOOD_KEY}", f"change-me-{GOOD_KEY}"]
)
def test_a_short_or_sample_key_is_refused_without_being_shown(settings: Settings, key: str) -> None:
    settings.SECRET_KEY = key
    found = checks.check_deployment(None)
    assert ids([*found]) == ["shop.E003"]
    assert key not in found[0].msg


def test_a_key_that_serve_has_yet_to_make_is_no_fault(settings: Settings) -> None:
    settings.SECRET_KEY = ""
    assert checks.check_deployment(None) == []


@pytest.mark.django_db
def test_the_database_of_this_run_reports_durable_values() -> None:
    assert run_checks(databases=["default"]) == []


SQLITE_FAULTS = [
    ("PRAGMA synchronous=NORMAL", "synchronous=1", "PRAGMA synchronous=FULL"),
    ("PRAGMA foreign_keys=OFF", "foreign_keys=0", "PRAGMA foreign_keys=ON"),
    (
        "PRAGMA recursive_triggers=OFF",
        "recursive_triggers=0",
        "PRAGMA recursive_triggers=ON",
    ),
    ("PRAGMA journal_mode=DELETE", "journal_mode=delete", "PRAGMA journal_mode=WAL"),
]
POSTGRESQL_FAULTS = [
    ("SET synchronous_commit=off", "synchronous_commit=off", "SET synchronous_commit=on"),
]


@pytest.mark.django_db(transaction=True)
def test_a_live_value_that_loses_commits_is_found() -> None:
    """Planted: each setting is switched off in the connection itself, and the check names it."""
    sqlite = connection.vendor == "sqlite"
    for plant, named, heal in SQLITE_FAULTS if sqlite else POSTGRESQL_FAULTS:
        with connection.cursor() as cursor:
            cursor.execute(plant)
        found = checks.check_durability(None, databases=["default"])
        with connection.cursor() as cursor:
            cursor.execute(heal)
        assert len(found) == 1, plant
        assert named in found[0].msg
    assert checks.check_durability(None, databases=["default"]) == []


def test_deferred_transactions_and_a_cluster_without_fsync_are_found() -> None:
    deferred = {"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1"}
    deferred["recursive_triggers"] = "1"
    found = checks.check_values(
        {**deferred, "transaction_mode": "None"}, checks.SQLITE_WANTED, "shop.E004"
    )
    assert "transaction_mode=None" in found[0].msg
    cluster = {"fsync": "off", "full_page_writes": "on", "synchronous_commit": "on"}
    found = checks.check_values(cluster, checks.POSTGRESQL_WANTED, "shop.E005")
    assert "fsync=off" in found[0].msg
