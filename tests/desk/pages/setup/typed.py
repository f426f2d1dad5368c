"""What stands in the forms of a page, as a browser would send it."""


def typed(reply, **changed):
    """Of the page's form and of the rows in it."""
    held = reply.context.get("forms")
    forms = [reply.context["form"]]
    values = {}
    for rows in _rows(held):
        values[f"{rows.name}-rows"] = len(rows)
        forms += list(rows)
    for form in forms:
        values |= _of(form)
    return values | changed


def _rows(held):
    return [] if held is None else getattr(held, "lists", None) or [held.parts]


def _of(form):
    told = {bound.html_name: bound.value() for bound in form}
    return {name: "on" if value is True else value for name, value in told.items() if value not in (None, False)}
