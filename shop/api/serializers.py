"""The shapes of answers. What a role may not see is not in them."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from shop.models import Document, Hull, Lot, Quote, QuoteOption, Reel, SystemState, WorkOrder
from shop.selectors.folding import work_folded
from shop.selectors.items import item_idents
from shop.selectors.lots import reel_left_in


class Problem(serializers.Serializer[object]):
    path = serializers.CharField()
    found = serializers.CharField()
    expected = serializers.CharField()


class Problems(serializers.Serializer[object]):
    format = serializers.CharField()
    problems = Problem(many=True)


class Detail(serializers.Serializer[object]):
    detail = serializers.CharField()


class StateShape(serializers.ModelSerializer[SystemState]):
    class Meta:
        model = SystemState
        fields = ("id", "kind", "number", "revision", "created_at")


class BoatShape(serializers.ModelSerializer[Hull]):
    owner = serializers.CharField(source="customer.name")
    states = StateShape(many=True)

    class Meta:
        model = Hull
        fields = (
            "id",
            "name",
            "builder",
            "model_name",
            "length_text",
            "hin",
            "registration",
            "owner",
            "states",
        )


class OptionShape(serializers.ModelSerializer[QuoteOption]):
    class Meta:
        model = QuoteOption
        fields = (
            "letter",
            "title",
            "recommended",
            "segments",
            "labor",
            "parts",
            "supplies",
            "fees",
            "net",
            "tax",
            "total",
            "deposit",
        )


class QuoteShape(serializers.ModelSerializer[Quote]):
    job = serializers.CharField(source="job.number", default=None, allow_null=True)
    options = OptionShape(many=True)

    class Meta:
        model = Quote
        fields = (
            "id",
            "number",
            "version",
            "status",
            "hull",
            "job",
            "issued_on",
            "valid_to",
            "options",
        )


class DocumentShape(serializers.ModelSerializer[Document]):
    class Meta:
        model = Document
        fields = (
            "id",
            "kind",
            "number",
            "version",
            "hull",
            "document_date",
            "issued_at",
            "snapshot_sha256",
            "pdf_sha256",
            "pdf_size",
        )


class SegmentWorkShape(serializers.Serializer[object]):
    """One segment's work, as folded from the events."""

    segment = serializers.CharField(source="ident")
    state = serializers.CharField()
    authors = serializers.ListField(child=serializers.CharField())


class WorkOrderShape(serializers.ModelSerializer[WorkOrder]):
    job = serializers.CharField(source="job.number")
    hull = serializers.IntegerField(source="job.hull_id")

    class Meta:
        model = WorkOrder
        fields = ("id", "job", "hull", "status", "created_at")


class WorkOrderDetail(WorkOrderShape):
    segments = serializers.SerializerMethodField()

    class Meta(WorkOrderShape.Meta):
        fields = (*WorkOrderShape.Meta.fields, "segments")  # type: ignore[assignment]

    @extend_schema_field(SegmentWorkShape(many=True))
    def get_segments(self, row: WorkOrder) -> object:
        folded = work_folded(row)
        work = {ident: folded.segment(ident) for ident in [*folded.segments, *item_idents(row)]}
        return SegmentWorkShape(list(work.values()), many=True).data


class ReelShape(serializers.ModelSerializer[Reel]):
    left_in = serializers.SerializerMethodField()

    class Meta:
        model = Reel
        fields = ("id", "ident", "received_on", "received_in", "left_in", "quarantined_at")

    def get_left_in(self, row: Reel) -> str:
        return str(reel_left_in(row))


class LotShape(serializers.ModelSerializer[Lot]):
    sku = serializers.CharField(source="product.sku")
    reels = ReelShape(many=True)

    class Meta:
        model = Lot
        fields = ("id", "code", "sku", "marked_year", "marking", "reels")


class EventAnswer(serializers.Serializer[object]):
    event_id = serializers.CharField()
    result = serializers.ChoiceField(choices=("stored", "duplicate", "quarantined", "rejected"))
    reason = serializers.CharField(allow_blank=True)


class EventsAnswer(serializers.Serializer[object]):
    epoch = serializers.CharField()
    results = EventAnswer(many=True)


class EventsBatch(serializers.Serializer[object]):
    """A batch is looked at event by event: one that is none is answered, and blocks no other."""

    device = serializers.IntegerField()
    events = serializers.ListField(child=serializers.JSONField(allow_null=True), max_length=500)
