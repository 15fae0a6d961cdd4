from django.urls import path

from shop.views import documents, quotes

urlpatterns = [
    path("quotes/", quotes.quotes_list, name="quote_list"),
    path("boats/<int:pk>/quotes/new/<int:state_pk>/", quotes.quote_new, name="quote_new"),
    path("quotes/<int:pk>/", quotes.quote_detail, name="quote_detail"),
    path("quotes/<int:pk>/edit/", quotes.quote_edit, name="quote_edit"),
    path("quotes/<int:pk>/issue/", quotes.quote_issue, name="quote_issue"),
    path("quotes/<int:pk>/discard/", quotes.quote_discard, name="quote_discard"),
    path("quotes/<int:pk>/revise/", quotes.quote_revise, name="quote_revise"),
    path("quotes/<int:pk>/options/new/", quotes.option_new, name="option_new"),
    path("quotes/<int:pk>/overrides/new/", quotes.override_new, name="override_new"),
    path("options/<int:pk>/", quotes.option_edit, name="option_edit"),
    path("options/<int:pk>/remove/", quotes.option_remove, name="option_remove"),
    path("overrides/<int:pk>/remove/", quotes.override_remove, name="override_remove"),
    path("documents/<int:pk>/status/", documents.document_status, name="document_status"),
    path("documents/<int:pk>/pdf/", documents.document_pdf, name="document_pdf"),
    path("renders/<int:pk>/again/", documents.document_again, name="document_again"),
]
