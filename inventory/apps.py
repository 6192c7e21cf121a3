from django.apps import AppConfig
from django.core import checks
from django.db.models.signals import post_migrate


class InventoryConfig(AppConfig):
    """Sources, gauges, places, the ledger of evidence, and what is due."""

    name = "inventory"

    def ready(self) -> None:
        from inventory import checks as own
        from inventory.ledger import triggers

        # The only signal receiver of the project: Django's table rebuilds on SQLite drop triggers
        # silently, so they are installed again after every migrate.
        post_migrate.connect(triggers.install_after_migrate, sender=self)
        checks.register(own.check_triggers, checks.Tags.database)
