"""A boat marked as not to be run is not signed for unaware."""

from __future__ import annotations

import json
from datetime import timedelta
from html import unescape

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.dateformat import format as date_format
from django.utils.html import strip_tags

from shop.documents.completion import render_html
from shop.models import Completion, DoNotRun
from shop.numbering import local_day
from shop.services.completions import completion_sign
from shop.services.stops import stop_lift
from tests.shop.finishing import finish
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.working import NOW, Yard

REASON = "S6 has an anti-siphon device and S3 is type A1."


def test_no_word_no_signature(yard: Yard) -> None:
    finish(yard)
    with pytest.raises(ValidationError, match="what becomes of the mark"):
        completion_sign(member=yard.shop.lead, work_order=yard.work_order, at=NOW)
    assert not Completion.objects.exists()


def test_the_lead_is_told_and_lifts_it_or_signs_with_it(yard: Yard) -> None:
    finish(yard)
    lead, path = signed_in(yard.shop.lead), reverse("work_complete", args=[yard.work_order.pk])
    stop = DoNotRun.objects.get(hull=yard.shop.hull)
    page = text_of(lead.get(path))
    for words in (stop.reason, "lift the mark", "leave her marked"):
        assert words in page
    assert "stop" in errors_of(send(lead, path, {}))
    for nothing in (" ", ".", "\u200b"):
        unsaid = send(lead, path, {"stop": "lift", "reason": nothing})
        assert (unsaid.status_code, list(errors_of(unsaid))) == (422, ["reason"])
    assert send(lead, path, {"stop": "lift", "reason": REASON}).status_code == 302
    stop.refresh_from_db()
    assert (stop.lifted_reason, stop.lifted_by) == (REASON, yard.shop.lead)
    record = Completion.objects.get().document
    assert json.loads(record.snapshot)["do_not_run"] == ""
    paper = " ".join(unescape(strip_tags(render_html(record))).split())
    assert stop.lifted_at is not None
    day = date_format(local_day(stop.lifted_at, record.time_zone), "j F Y")
    told = f"Do not run was lifted by {yard.shop.lead.user.name} on {day}: {REASON}"
    assert f"{told} It stood because: {stop.reason}" in paper


def test_a_mark_that_was_lifted_before_the_job_is_none_of_its_record(yard: Yard) -> None:
    hull, lead = yard.shop.hull, yard.shop.lead
    stop_lift(hull=hull, reason="Her tank was emptied.", member=lead)
    early = yard.work_order.job.created_at - timedelta(days=1)
    hull.do_not_run.update(set_at=early, lifted_at=early)
    finish(yard)
    signed = completion_sign(member=lead, work_order=yard.work_order, at=NOW)
    assert json.loads(signed.document.snapshot)["lifted"] == []
    assert "Do not run was lifted" not in render_html(signed.document)


def test_signed_with_the_mark_the_record_says_so_at_its_head(yard: Yard) -> None:
    finish(yard)
    lead, path = signed_in(yard.shop.lead), reverse("work_complete", args=[yard.work_order.pk])
    assert send(lead, path, {"stop": "stays"}).status_code == 302
    stop = DoNotRun.objects.get(hull=yard.shop.hull)
    assert stop.lifted_at is None
    paper = render_html(Completion.objects.get().document)
    assert paper.index("Do not run this boat.") < paper.index("What was done")
