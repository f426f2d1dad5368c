"""Surveys out: which ones, in which format. What was asked for stands in the address."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.desk.forms import asked
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.sites.exporting import FORMATS, ExportAsk, surveys_asked, surveys_exported
from orders.sites.selectors import sites, sites_named

WHAT = "Surveys as a file"


class ExportForm(forms.Form):
    format = forms.ChoiceField(
        choices=[(code, f"{each.words}: {each.about}") for code, each in FORMATS.items()],
        widget=forms.RadioSelect,
        required=False,
        label="Format",
    )
    which = forms.ChoiceField(
        choices=[("newest", "The newest survey of each patch"), ("all", "Every survey that stands")],
        required=False,
        label="Which surveys",
    )
    first = forms.DateField(required=False, label="From", widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(required=False, label="To", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["site"] = forms.MultipleChoiceField(
            choices=[(str(site.public_id), f"{site.code} {site.name}") for site in sites()],
            required=False,
            widget=forms.CheckboxSelectMultiple,
            label="Sites",
            help_text="None marked: all of them.",
        )

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last")
        if isinstance(first, date) and isinstance(last, date) and last < first:
            self.add_error("last", "The last day is before the first.")
        return told

    def ask(self) -> ExportAsk:
        told = asked(self)
        return ExportAsk(
            file_format=told["format"] or "geojson",
            sites=sites_named([UUID(site) for site in told["site"]]),
            newest=told["which"] != "all",
            first_day=told["first"],
            last_day=told["last"],
        )


@require_safe
@page
def export_page(request: HttpRequest, actor: User) -> HttpResponse:
    """How many surveys the question finds, and the file of them."""
    page_opens_to(actor, OFFICE, WHAT)
    usual = {"format": "geojson", "which": "newest"}
    form = ExportForm({**usual, **request.GET.dict(), "site": request.GET.getlist("site")})
    is_right = form.is_valid()
    told = {
        "form": form,
        "fields": [form[name] for name in ("which", "first", "last")],
        "count": surveys_asked(form.ask()).count() if is_right else None,
    }
    return render(request, "desk/intake/export.html", told, status=200 if is_right else 400)


@require_safe
@page
def export_file(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    made = surveys_exported(ExportForm(request.GET).ask(), at=now())
    reply = HttpResponse(made.data, content_type=made.media_type)
    reply.headers["Content-Disposition"] = str(content_disposition_header(True, made.name))
    reply.headers["X-Content-Type-Options"] = "nosniff"
    return reply
