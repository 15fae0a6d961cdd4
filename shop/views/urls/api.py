from django.contrib.auth.decorators import login_not_required
from django.urls import URLPattern, path
from rest_framework.views import APIView

from shop.api import views
from shop.views import tokens


def at(route: str, view: type[APIView], name: str) -> URLPattern:
    """An address of the interface: it asks for its own session or token, not for the login page."""
    return path(f"api/v1/{route}", login_not_required(view.as_view()), name=f"api_{name}")


urlpatterns = [
    at("evaluations/", views.Evaluations, "evaluations"),
    at("boats/", views.Boats, "boats"),
    at("boats/<int:pk>/", views.Boat, "boat"),
    at("states/<int:pk>/document/", views.StateDocument, "state_document"),
    at("quotes/", views.Quotes, "quotes"),
    at("quotes/<int:pk>/", views.QuoteOne, "quote"),
    at("work-orders/", views.WorkOrders, "workorders"),
    at("work-orders/<int:pk>/", views.WorkOrderOne, "workorder"),
    at("events/", views.Events, "events"),
    at("documents/", views.Documents, "documents"),
    at("documents/<int:pk>/", views.DocumentOne, "document"),
    at("documents/<int:pk>/pdf/", views.DocumentPdf, "document_pdf"),
    at("lots/", views.Lots, "lots"),
    at("lots/<int:pk>/", views.LotOne, "lot"),
    at("schema/", views.Schema, "schema"),
    path("account/tokens/", tokens.token_list, name="token_list"),
    path("account/tokens/<int:pk>/revoke/", tokens.token_end, name="token_end"),
]
