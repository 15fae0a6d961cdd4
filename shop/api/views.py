"""What programs may ask for. Each answer comes from the selector or service of the pages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, TypeVar, cast

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    OpenApiResponse,
    PolymorphicProxySerializer,
    extend_schema,
)
from drf_spectacular.views import SpectacularAPIView
from rest_framework.exceptions import NotFound, ValidationError
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from fuelsys.document import InputProblems, read_bytes
from fuelsys.evaluation import evaluate
from shop.access import (
    boat_get,
    device_get,
    document_get,
    lot_get,
    quote_get,
    require,
    state_get,
    workorder_get,
)
from shop.api import describe, formats  # noqa: F401  # `describe` registers itself
from shop.api import serializers as shapes
from shop.api.keys import IsMember, member_of
from shop.api.parsing import RawParser, day_of
from shop.api.problems import in_words
from shop.files import file_read
from shop.models import Document, Hull, Lot, Quote, WorkOrder
from shop.numbering import local_day
from shop.selectors.events import epoch_now
from shop.selectors.systems import system_document
from shop.services.events import events_receive

WORK = "work.write"

# What every address may answer instead; those that take a body say more.
SHUT = {401: shapes.Detail, 403: shapes.Detail, 429: shapes.Detail}
REFUSED = {**SHUT, 404: shapes.Detail}
NO_EVALUATION = PolymorphicProxySerializer(
    component_name="NoEvaluation",
    serializers=[shapes.Problems, shapes.Detail],
    resource_type_field_name=None,
)


class Evaluations(APIView):
    """A fuel-system document in, its evaluation out. Nothing is stored."""

    parser_classes = (RawParser,)

    @extend_schema(
        parameters=[
            OpenApiParameter("on", OpenApiTypes.DATE, description="the day whose rules apply"),
            OpenApiParameter("curves", OpenApiTypes.BOOL, description="add discharge curves"),
        ],
        request={"application/json": formats.document()},
        responses={**SHUT, 200: formats.EVALUATION, 400: NO_EVALUATION},
    )
    def post(self, request: Request) -> Response:
        member = member_of(request)
        require(member, "boat.read")
        on = day_of(request.query_params.get("on"))
        try:
            document = read_bytes(
                cast(bytes, request.data or b""), yaml="yaml" in (request.content_type or "")
            )
            evaluation = evaluate(
                document,
                on=on or local_day(timezone.now(), member.yard.time_zone),
                curves=request.query_params.get("curves") in ("1", "true"),
            )
        except InputProblems as error:
            return Response(error.to_json(), status=400)
        return Response(evaluation.to_json())


class Listing(GenericAPIView[Any]):
    """A list a page at a time; a subclass names the act and the rows."""

    act: ClassVar[str]

    def get_queryset(self) -> QuerySet[Any]:
        if getattr(self, "swagger_fake_view", False):
            return super().get_queryset().none()
        member = member_of(self.request)
        require(member, self.act)
        rows: QuerySet[Any] = super().get_queryset().filter(yard=member.yard)
        return rows

    def get(self, request: Request) -> Response:
        page = self.paginate_queryset(self.get_queryset())
        return self.get_paginated_response(self.get_serializer(page, many=True).data)


Method = TypeVar("Method", bound=Callable[..., Response])


def listed(shape: type, operation: str) -> Callable[[Method], Method]:
    """The schema of a list: pages of `shape`."""
    described: Callable[[Method], Method] = extend_schema(
        operation_id=operation, responses={**REFUSED, 200: shape(many=True)}
    )
    return described


class Boats(Listing):
    act = "boat.read"
    queryset = Hull.objects.select_related("customer").prefetch_related("states").order_by("pk")
    serializer_class = shapes.BoatShape

    @listed(shapes.BoatShape, "boats_list")
    def get(self, request: Request) -> Response:
        return super().get(request)


class Boat(APIView):
    @extend_schema(responses={**REFUSED, 200: shapes.BoatShape})
    def get(self, request: Request, pk: int) -> Response:
        return Response(shapes.BoatShape(boat_get(member_of(request), pk)).data)


class StateDocument(APIView):
    """The fuel-system document of one state of a boat."""

    @extend_schema(responses={**REFUSED, 200: formats.document()})
    def get(self, request: Request, pk: int) -> Response:
        return Response(system_document(state_get(member_of(request), pk)))


class Quotes(Listing):
    act = "quote.read"
    queryset = Quote.objects.select_related("job").prefetch_related("options").order_by("pk")
    serializer_class = shapes.QuoteShape

    @listed(shapes.QuoteShape, "quotes_list")
    def get(self, request: Request) -> Response:
        return super().get(request)


class QuoteOne(APIView):
    @extend_schema(responses={**REFUSED, 200: shapes.QuoteShape})
    def get(self, request: Request, pk: int) -> Response:
        return Response(shapes.QuoteShape(quote_get(member_of(request), pk)).data)


class WorkOrders(Listing):
    act = "job.read"
    queryset = WorkOrder.objects.select_related("job").order_by("pk")
    serializer_class = shapes.WorkOrderShape

    @listed(shapes.WorkOrderShape, "workorders_list")
    def get(self, request: Request) -> Response:
        return super().get(request)


class WorkOrderOne(APIView):
    @extend_schema(responses={**REFUSED, 200: shapes.WorkOrderDetail})
    def get(self, request: Request, pk: int) -> Response:
        return Response(shapes.WorkOrderDetail(workorder_get(member_of(request), pk)).data)


class Events(APIView):
    """Events of the work, from a device of the yard. Each is answered by itself.

    The desk is no device to send from: its events come from the pages.
    Who may not work hands in nothing: the device keeps what it holds for the next session.
    An event's own id makes it count once, so the call needs no idempotency key.
    """

    @extend_schema(
        request=shapes.EventsBatch,
        responses={
            **REFUSED,
            200: shapes.EventsAnswer,
            400: shapes.Detail,
            409: shapes.Detail,
        },
    )
    def post(self, request: Request) -> Response:
        member = member_of(request)
        require(member, WORK)
        batch = shapes.EventsBatch(data=request.data)
        if not batch.is_valid():
            raise ValidationError({"detail": in_words(batch.errors)})
        device = device_get(member, batch.validated_data["device"], WORK)
        results = events_receive(
            device=device,
            uploader=member,
            batch=batch.validated_data["events"],
            now=timezone.now(),
        )
        answer = {"epoch": epoch_now(), "results": results}
        return Response(shapes.EventsAnswer(answer).data)


class Documents(Listing):
    act = "document.read"
    queryset = Document.objects.order_by("pk")
    serializer_class = shapes.DocumentShape

    @listed(shapes.DocumentShape, "documents_list")
    def get(self, request: Request) -> Response:
        return super().get(request)


class DocumentOne(APIView):
    @extend_schema(responses={**REFUSED, 200: shapes.DocumentShape})
    def get(self, request: Request, pk: int) -> Response:
        return Response(shapes.DocumentShape(document_get(member_of(request), pk)).data)


class DocumentPdf(APIView):
    @extend_schema(
        responses={
            **REFUSED,
            (200, "application/pdf"): OpenApiResponse(OpenApiTypes.BINARY, "the stored bytes"),
        }
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        document = document_get(member_of(request), pk)
        if not document.pdf_sha256:
            raise NotFound("The PDF is not made yet. Ask again in a moment.")
        data = file_read(settings.FILES_DIR, document.pdf_sha256)
        return HttpResponse(data, content_type="application/pdf")


class Lots(Listing):
    act = "lot.read"
    queryset = Lot.objects.select_related("product").prefetch_related("reels").order_by("pk")
    serializer_class = shapes.LotShape

    @listed(shapes.LotShape, "lots_list")
    def get(self, request: Request) -> Response:
        return super().get(request)


class LotOne(APIView):
    @extend_schema(responses={**REFUSED, 200: shapes.LotShape})
    def get(self, request: Request, pk: int) -> Response:
        return Response(shapes.LotShape(lot_get(member_of(request), pk)).data)


class Schema(SpectacularAPIView):
    """The OpenAPI description of all of this, for who may ask at all."""

    permission_classes = (IsMember,)
