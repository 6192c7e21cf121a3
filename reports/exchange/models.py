"""A file between its upload and its confirmation: working state, never evidence.

Nothing of it counts until it is confirmed; then the file itself becomes the attachment of the
record that says what was loaded, and this row goes.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models

from config.accounts.models import Site


class PendingFile(models.Model):
    """An uploaded file with what its owner has decided about it so far."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    uploaded_at = models.DateTimeField()
    #: Answers, corrected cells and rows left out, as ``understood.Decisions`` keeps them.
    decisions = models.JSONField(default=dict)

    class Meta:
        indexes = [models.Index(fields=["site", "uploaded_at"])]

    def __str__(self) -> str:
        return self.name
