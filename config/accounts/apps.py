from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """People, sites and the dated roles that people hold on them."""

    name = "config.accounts"
    label = "accounts"
