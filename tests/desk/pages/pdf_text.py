"""The text of a PDF that the program made: its streams opened, the strings that they draw put together."""

import base64
import re
import zlib


def pdf_streams(document: bytes) -> list[bytes]:
    streams = re.findall(rb"stream\r?\n(.*?)endstream", document, re.DOTALL)
    return [zlib.decompress(base64.a85decode(stream.strip().removesuffix(b"~>"))) for stream in streams]


def pdf_text(document: bytes) -> str:
    found = []
    for told in pdf_streams(document):
        for line in re.findall(rb"\(((?:\\.|[^\\()])*)\) Tj", told):
            plain = re.sub(rb"\\([0-7]{3})", lambda octal: bytes([int(octal[1], 8)]), line)
            found.append(re.sub(rb"\\(.)", rb"\1", plain).decode("cp1252"))
    return " ".join(found)
