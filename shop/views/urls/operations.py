from django.urls import path

from shop.views import health

urlpatterns = [
    path("health", health.health, name="health"),
]
