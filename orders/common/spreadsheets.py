"""Safe text for spreadsheets."""

# OWASP and ASVS 5.0 1.2.10: what a spreadsheet would run as a formula, full-width forms included
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0", "＝", "＋", "－", "＠")


def text_guarded(text: str) -> str:
    """A text cell as text: quoting alone does not stop a formula."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def text_unguarded(text: str) -> str:
    """The text again, of a cell that was guarded so."""
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA_STARTS) else text
