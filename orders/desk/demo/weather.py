"""The invented daily weather of one site, and what it says of its season."""

from orders.desk.demo.scene import FOLDER, Walk
from orders.sites.advice import site_advice
from orders.sites.models import Site
from orders.sites.services import weather_import

FILE, SITE = "weather_hollow.csv", "HOLLOW"


def weather(steps: Walk) -> None:
    site = Site.objects.get(code=SITE)
    text = (FOLDER / FILE).read_text(encoding="utf-8")
    made = weather_import(site=site, text=text, source="Invented by a generator", stamp=steps.stamp("coordinator"))
    steps.tell(f"Weather    {FILE}: {made.added:,} days at {site.name}, {made.first_day} to {made.last_day}")
    steps.tell(f"           {site_advice(site, steps.at.date()).line}")
