"""Short numbers for people to say on the radio; given by the server, never reused."""

from django.db import models


class NumberSeries(models.Model):
    name = models.CharField(max_length=40, unique=True)
    last = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return f"{self.name} {self.last}"
