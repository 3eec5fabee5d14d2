from django.apps import AppConfig


class BuildlogConfig(AppConfig):
    name = "buildlog"
    label = "buildlog"
    default_auto_field = "django.db.models.BigAutoField"
    verbose_name = "Strake Reckoner"

    def ready(self) -> None:
        """Register the checks and the signals; both need the settings to be whole."""
        from buildlog.site import checks, sessions  # noqa: F401
