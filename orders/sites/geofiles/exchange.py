"""What parent and child say to each other: JSON both ways, nothing that could run as code."""

import json
from dataclasses import asdict
from typing import Any

import numpy as np
import shapely

from orders.sites.geofiles.loading import ReadRequest
from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.records import FileRefused, Limits, RawFile, RawProblem, RawRow


def request_line(request: ReadRequest) -> bytes:
    """The request as one line, to stand before the file's bytes."""
    return json.dumps(asdict(request)).encode() + b"\n"


def request_from(line: bytes) -> ReadRequest:
    """The request of such a line."""
    content = json.loads(line)
    return ReadRequest(**{**content, "limits": Limits(**content["limits"])})


def refusal_with(refused: FileRefused) -> bytes:
    """The reply that says no."""
    return json.dumps(
        {"refused": {"code": refused.code, "message": refused.message, "names": list(refused.names)}}
    ).encode()


def reply_with(raw: RawFile) -> bytes:
    """The reply that holds the file's rows, geometries as hexadecimal WKB."""
    wkb = shapely.to_wkb([row.geometry for row in raw.rows], hex=True, byte_order=1)
    content = {
        "format": raw.format,
        "layer": raw.layer,
        "crs": raw.crs,
        "fields": raw.fields,
        "position_error_m": raw.position_error_m,
        "rows": [_row_out(row, outline) for row, outline in zip(raw.rows, wkb, strict=True)],
    }
    return json.dumps({"read": content}, allow_nan=False).encode()


def found_with(found: Found) -> bytes:
    """The reply that says what is in a file."""
    return json.dumps({"found": asdict(found)}, allow_nan=False).encode()


def result_of(reply: bytes) -> RawFile:
    """The rows of a reply; raises the refusal if it is one, ValueError or KeyError if it is neither."""
    return _raw_file(_told(reply)["read"])


def found_of(reply: bytes) -> Found:
    """What is in a file, of such a reply; raises the refusal if it is one."""
    return Found.of(_told(reply)["found"])


def _told(reply: bytes) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(reply)
    if "refused" in content:
        refused = content["refused"]
        raise FileRefused(refused["code"], refused["message"], tuple(refused["names"]))
    return content


def _row_out(row: RawRow, wkb: str | None) -> dict[str, Any]:
    return {
        "number": row.number,
        "line": row.line,
        "wkb": wkb,
        "cells": list(row.attributes.values()),
        "problem": asdict(row.problem) if row.problem else None,
    }


def _raw_file(content: dict[str, Any]) -> RawFile:
    fields = tuple(content["fields"])
    geometries = shapely.from_wkb(np.array([row["wkb"] for row in content["rows"]], dtype=object))
    return RawFile(
        format=content["format"],
        layer=content["layer"],
        crs=content["crs"],
        fields=fields,
        rows=tuple(
            RawRow(
                number=row["number"],
                geometry=geometry,
                attributes=dict(zip(fields, row["cells"], strict=True)),
                line=row["line"],
                problem=RawProblem(**row["problem"]) if row["problem"] else None,
            )
            for row, geometry in zip(content["rows"], geometries, strict=True)
        ),
        position_error_m=content["position_error_m"],
    )
