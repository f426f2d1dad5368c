"""A picture code (QR, ISO/IEC 18004) as SVG: dark squares on a light ground whatever the page's colors are."""

from django.utils.html import format_html
from django.utils.safestring import SafeString
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

QUIET_MODULES = 4  # the light margin that the standard asks for


def picture_code(text: str, name: str) -> SafeString:
    """`name` is what a screen reader says of it."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    side = code.getModuleCount()
    dark = "".join(
        f"M{column + QUIET_MODULES} {row + QUIET_MODULES}h1v1h-1z"
        for row in range(side)
        for column in range(side)
        if code.isDark(row, column)
    )
    whole = side + 2 * QUIET_MODULES
    shape = SafeString(f'<rect width="{whole}" height="{whole}" fill="#fff"/><path d="{dark}" fill="#000"/>')
    opening = format_html('<svg class="picture-code" viewBox="0 0 {0} {0}" role="img" aria-label="{1}">', whole, name)
    return format_html("{}{}</svg>", opening, shape)
