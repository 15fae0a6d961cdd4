from django.urls import path

from shop.views import changeorders, consents, mails, owner, ownerlinks

# One segment below /o/ is a token: shop.sealing takes it out and leaves "/o/link/".
urlpatterns = [
    path("o/", owner.owner_home, name="owner_home"),
    path("o/link/", owner.owner_open, name="owner_open"),
    path("o/quote/answer/", owner.owner_answer, name="owner_answer"),
    path("o/changes/<int:number>/answer/", owner.owner_change_answer, name="owner_change_answer"),
    path("o/papers/<uuid:public_id>/", owner.owner_paper, name="owner_paper"),
    path("o/<path:rest>", owner.owner_nothing, name="owner_nothing"),
    path("quotes/<int:pk>/decision/", consents.consent_new, name="consent_new"),
    path("work/<int:pk>/changes/new/", changeorders.changeorder_new, name="changeorder_new"),
    path("change-orders/<int:pk>/", changeorders.changeorder_detail, name="changeorder_detail"),
    path("change-orders/<int:pk>/edit/", changeorders.changeorder_edit, name="changeorder_edit"),
    path("change-orders/<int:pk>/offer/", changeorders.changeorder_offer, name="changeorder_offer"),
    path(
        "change-orders/<int:pk>/decision/",
        consents.changeorder_consent,
        name="changeorder_consent",
    ),
    path("jobs/<int:pk>/owner/", ownerlinks.ownerlink_preview, name="ownerlink_preview"),
    path("jobs/<int:pk>/owner/close/", ownerlinks.ownerlink_close, name="ownerlink_close"),
    path("jobs/<int:pk>/owner/renew/", ownerlinks.ownerlink_renew, name="ownerlink_renew"),
    path("jobs/<int:pk>/remind/", mails.reminder_new, name="reminder_new"),
    path("mail/", mails.mail_list, name="mail_list"),
    path("mail/reminders/", mails.reminder_list, name="reminder_list"),
    path("mail/<int:pk>/again/", mails.mail_again, name="mail_again"),
    path("documents/<int:pk>/send/", mails.document_send, name="document_send"),
]
