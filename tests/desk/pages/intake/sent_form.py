"""A form of a page as a browser without scripts would send it."""

from html.parser import HTMLParser

UNSENT = {"checkbox", "file", "radio"}  # unless checked


class _Form(HTMLParser):
    def __init__(self, form_id: str) -> None:
        super().__init__()
        self.form_id, self.inside = form_id, False
        self.sent: dict[str, str] = {}
        self.select: str | None = None
        self.option: tuple[str | None, bool] | None = None

    def handle_starttag(self, tag, attrs):
        facts = dict(attrs)
        if tag == "form":
            self.inside = facts.get("id") == self.form_id
        elif self.inside:
            getattr(self, f"_{tag}", lambda _: None)(facts)

    def _input(self, facts):
        if "name" in facts and (facts.get("type") not in UNSENT or "checked" in facts):
            self.sent[facts["name"]] = facts.get("value", "")

    def _select(self, facts):
        self.select = facts["name"]

    def _option(self, facts):
        if self.select is None:
            return  # of a list that only helps to type
        self.option = (facts.get("value"), "selected" in facts)

    def handle_data(self, data):
        if self.option is None or self.select is None:
            return
        value, chosen = self.option
        if chosen or self.select not in self.sent:
            self.sent[self.select] = data.strip() if value is None else value
        self.option = None

    def handle_endtag(self, tag):
        if tag == "select":
            self.select = None
        elif tag == "form":
            self.inside = False


def sent_form(html: str, form_id: str) -> dict[str, str]:
    """What the form of this id holds, by name; boxes that are not checked and files are left out."""
    form = _Form(form_id)
    form.feed(html)
    return form.sent
