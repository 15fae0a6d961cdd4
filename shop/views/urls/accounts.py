from django.urls import path

from shop.views import accounts, people

urlpatterns = [
    path("sign-in/", accounts.login, name="login"),
    path("sign-out/", accounts.logout, name="logout"),
    path("account/", accounts.account, name="account"),
    path("colors/", accounts.theme, name="theme"),
    path("people/", people.people_list, name="people_list"),
    path("people/new/", people.people_new, name="people_new"),
    path("people/<int:pk>/", people.people_edit, name="people_edit"),
    path("people/<int:pk>/password/", people.people_password, name="people_password"),
]
