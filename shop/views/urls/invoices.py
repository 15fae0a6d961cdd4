from django.urls import path

from shop.views import invoices, payments

urlpatterns = [
    path("invoices/", invoices.invoices_list, name="invoice_list"),
    path("invoices/terms/", invoices.terms_edit, name="terms_edit"),
    path("invoices/ageing/", payments.ageing_list, name="ageing_list"),
    path("invoices/day-book/", payments.daybook_page, name="daybook"),
    path("invoices/day-book/file/", payments.daybook_file, name="daybook_file"),
    path("invoices/<int:pk>/", invoices.invoice_detail, name="invoice_detail"),
    path("invoices/<int:pk>/credit/", invoices.creditnote_new, name="creditnote_new"),
    path("invoices/<int:pk>/send/", invoices.invoice_send, name="invoice_send"),
    path("jobs/<int:pk>/invoice/", invoices.invoice_new, name="invoice_new"),
    path("jobs/<int:pk>/money/", payments.job_payments, name="job_payments"),
    path("jobs/<int:pk>/money/new/", payments.payment_new, name="payment_new"),
    path("payments/<int:pk>/reverse/", payments.payment_undo, name="payment_undo"),
]
