"""The link to help that stands in the head of every page."""

from django import template
from django.template import Context

from orders.desk.guide.guides import help_address

register = template.Library()


@register.simple_tag(takes_context=True)
def help_here(context: Context) -> str:
    """The part of a guide that is about the page that is shown."""
    request = context["request"]
    match = request.resolver_match
    return help_address(request.user, match.url_name or "" if match else "", request.path)
