"""Tables of people who sign in, of keys for programs, of failed logins, and of what arrived from pages."""

from django.conf import settings
from django.db import models

from onthree.programme.roles import ACCOUNT_ROLES
from onthree.store import columns


class Account(models.Model):
    """What somebody who signs in is to the programme. Without an organisation: the only one of the store."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="account")
    organisation = columns.reference("store.Organisation", null=True, blank=True)
    role = models.CharField(choices=columns.choices(ACCOUNT_ROLES))
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_before = models.DateTimeField(null=True, blank=True)


class ApiToken(models.Model):
    """A key with which a program acts for an account; only its digest is kept."""

    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(unique=True)
    digest = models.CharField(unique=True)
    made_at = models.DateTimeField()
    used_on = models.DateField(null=True, blank=True)


class FailedLogin(models.Model):
    """That a login failed: under which name, from which address, when."""

    name = models.CharField()
    address = models.CharField()
    at = models.DateTimeField(db_index=True)


class Received(models.Model):
    """Something sent from a page or a program once: its key is made where it was typed, so it arrives once only."""

    key = models.UUIDField(primary_key=True)
    organisation = columns.reference("store.Organisation")
    kind = models.CharField()
    body = models.JSONField()
    by = models.TextField()
    at_client = models.DateTimeField(null=True, blank=True)
    at_server = models.DateTimeField()
    result = models.JSONField()
