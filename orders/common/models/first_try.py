from django.db import models


class FirstTry(models.Model):
    """A wrong code of the first login. A row, since a count in a cache would lose some of those that come at once."""

    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "first tries"

    def __str__(self) -> str:
        return f"wrong code at {self.at}"
