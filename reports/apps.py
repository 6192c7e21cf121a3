from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """What people read: pages about everything, registers, documents, exchange."""

    name = "reports"
