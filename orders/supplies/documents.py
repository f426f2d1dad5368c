"""Labels and safety data sheets, whole: what is taken, and by what it is known to be one."""

import hashlib

from django.conf import settings

from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.models import Product, ProductDocument
from orders.supplies.selectors import documents_standing

PDF, TEXT = "application/pdf", "text/plain"
ENDINGS = {PDF: ".pdf", TEXT: ".txt"}


@writing()
def document_add(
    *, product: Product, kind: str, file_name: str, data: bytes, language: str = "en", stamp: Stamp
) -> ProductDocument:
    """Keep the label or the safety data sheet of a product. The one before stays; the newest counts. The same file
    again is no second one."""
    content_type = content_type_of(data)
    found = Findings()
    most = settings.PRODUCT_DOCUMENT_MAX_BYTES
    found.need(0 < len(data) <= most, "file", f"Must hold something, {most // 1024**2} MB at most.")
    found.need(content_type is not None, "file", "Must be a PDF, or plain text in UTF-8.")
    digest = hashlib.sha256(data).hexdigest()
    known = documents_standing().filter(product=product, kind=kind, language=language, sha256=digest).first()
    if known is not None:
        return known
    row = ProductDocument(
        product=product,
        kind=kind,
        language=language,
        file_name=_named(file_name, content_type),
        content_type=content_type or TEXT,  # never stored where it is neither: the row is refused
        size_bytes=len(data),
        sha256=digest,
        file_bytes=data,
        added_at=stamp.at,
        added_by=stamp.by,
    )
    return row_add(row, stamp=stamp, verb="document_add", findings=found, leave_out=("file_bytes",))


def content_type_of(data: bytes) -> str | None:
    """By what is in it, never by its name; None for anything else."""
    if data.startswith(b"%PDF-"):
        return PDF
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return None if any(sign < " " and sign not in "\t\n\r\f" for sign in text) else TEXT


def _named(file_name: str, content_type: str | None) -> str:
    """Without a path, and with the ending of what it is."""
    name = file_name.replace("\\", "/").rsplit("/", 1)[-1].strip()
    ending = ENDINGS.get(content_type or "", "")
    return name if name.lower().endswith(ending) else f"{name}{ending}"
