"""Heads of the audit log outside the database: by the worker, each day and after each paper."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pytest_django import Settings as DjangoSettings

from shop import tasks
from shop.models import Yard
from shop.services.anchors import anchors_file, anchors_keep, anchors_read
from shop.services.audit import AuditHead, audit_append, audit_head
from shop.services.quotes import quote_issue
from tests import factories as make
from tests.shop.quoting import Shop, make_draft, make_shop

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 25, 23, 59, tzinfo=UTC)


@pytest.fixture(autouse=True)
def data_dir(settings: DjangoSettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def shop(db: None) -> Shop:
    """Made by the test itself: beside one of the module's there would be one more yard."""
    return make_shop()


def append(yard: Yard) -> AuditHead:
    audit_append(yard=yard, member=None, action="test.act", subject=("thing", "1"))
    return audit_head(yard)


def test_each_yard_s_head_is_written_down_once_a_day() -> None:
    one, other = make.make_yard(), make.make_yard()
    first = append(one)
    assert anchors_keep(now=NOW) == 2
    assert anchors_read() == [first, audit_head(other)]
    second = append(one)
    assert anchors_keep(now=NOW) == 0
    assert anchors_keep(now=NOW + timedelta(minutes=1)) == 2
    assert anchors_read()[2] == second


def test_the_sweep_of_the_worker_writes_them_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tasks.renders, "sweep", lambda: None)
    monkeypatch.setattr(tasks, "close_old_connections", lambda: None)
    head = append(make.make_yard())
    tasks.sweep()
    tasks.sweep()
    assert anchors_read() == [head]


def test_a_paper_issued_since_has_the_head_written_down_again(shop: Shop) -> None:
    other = make.make_yard()
    assert anchors_keep(now=NOW) == 2
    append(shop.lead.yard)
    append(other)
    assert anchors_keep(now=NOW) == 0
    quote_issue(quote=make_draft(shop), member=shop.writer, at=NOW)
    head = append(shop.lead.yard)
    assert anchors_keep(now=NOW) == 1
    assert anchors_read()[2:] == [head]
    assert anchors_keep(now=NOW) == 0


def test_a_line_cut_off_by_a_power_cut_is_none_and_spoils_no_other() -> None:
    head = append(make.make_yard())
    anchors_keep(now=NOW)
    whole = anchors_file().read_text(encoding="ascii")
    anchors_file().write_text(whole + whole[:30], encoding="ascii")
    assert anchors_read() == [head]
    assert anchors_keep(now=NOW + timedelta(days=1)) == 1
    assert anchors_read() == [head, head]


def test_the_file_is_the_service_s_own() -> None:
    append(make.make_yard())
    anchors_keep(now=NOW)
    assert anchors_file().stat().st_mode & 0o077 == 0
