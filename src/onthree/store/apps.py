"""The store as a Django app."""

from django.apps import AppConfig


class StoreConfig(AppConfig):
    """Tables of the programme and their history."""

    name = "onthree.store"
    label = "store"
    default_auto_field = "django.db.models.BigAutoField"
