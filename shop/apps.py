from django.apps import AppConfig


class ShopConfig(AppConfig):
    name = "shop"
    label = "shop"
    verbose_name = "Hosewright"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from shop import checks  # noqa: F401  # importing it registers the checks
