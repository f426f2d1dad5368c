"""Labels and safety data sheets, whole."""

import hashlib

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.supplies.documents import content_type_of, document_add
from orders.supplies.models import ProductDocument
from orders.supplies.selectors import documents_standing
from tests import build

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.4\ninvented\n%%EOF\n"


def added(stamp, data=PDF, **more):
    product = more.pop("product", None) or build.ProductFactory()
    facts = {"kind": "label", "file_name": "label.pdf", **more}
    return document_add(product=product, data=data, stamp=stamp, **facts)


def test_it_keeps_the_file_with_its_hash(stamp):
    kept = ProductDocument.objects.get(pk=added(stamp).pk)
    assert bytes(kept.file_bytes) == PDF
    assert (kept.sha256, kept.size_bytes) == (hashlib.sha256(PDF).hexdigest(), len(PDF))
    assert (kept.content_type, kept.added_by) == ("application/pdf", stamp.by)


def test_it_leaves_the_file_out_of_the_record(stamp):
    added(stamp)
    told = Change.objects.get(verb="document_add").after or {}
    assert "sha256" in told
    assert "file_bytes" not in told


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (PDF, "application/pdf"),
        ("Sicherheit, señal, первая помощь\n".encode(), "text/plain"),
        (b"MZ\x90\x00\x03", None),
        (b"\x89PNG\r\n\x1a\n", None),
        (b"text with a \x00 in it", None),
        (b"\xff\xfe\x41\x00", None),
    ],
)
def test_it_knows_a_file_by_what_is_in_it(data, found):
    assert content_type_of(data) == found


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n\x1a\n", b"a" * (5 * 1024**2 + 1)])
def test_it_refuses_what_is_no_document(stamp, data):
    with pytest.raises(Invalid) as refusal:
        added(stamp, data, file_name="label.pdf")
    assert {error.field for error in refusal.value.errors} >= {"file"}
    assert not ProductDocument.objects.exists()


def test_it_refuses_another_kind(stamp):
    with pytest.raises(Invalid) as refusal:
        added(stamp, kind="leaflet")
    assert [error.field for error in refusal.value.errors] == ["kind"]


@pytest.mark.parametrize(
    ("named", "kept"),
    [("a/b\\label.pdf", "label.pdf"), ("label", "label.pdf"), ("label.exe", "label.exe.pdf"), (" x.PDF ", "x.PDF")],
)
def test_it_names_the_file_without_a_path_and_as_what_it_is(stamp, named, kept):
    assert added(stamp, file_name=named).file_name == kept


def test_it_keeps_the_same_file_once(stamp):
    product = build.ProductFactory()
    assert added(stamp, product=product) == added(stamp, product=product)
    assert ProductDocument.objects.count() == 1


def test_it_counts_the_newest_of_each_kind_and_language(stamp):
    product = build.ProductFactory()
    added(stamp, product=product)
    newer = added(stamp, PDF + b"2", product=product)
    spanish = added(stamp, PDF + b"3", product=product, language="es")
    sheet = added(stamp, PDF + b"4", product=product, kind="sds")
    assert set(documents_standing()) == {newer, spanish, sheet}


def test_it_counts_an_older_file_again_when_it_is_added_again(stamp):
    product = build.ProductFactory()
    added(stamp, product=product)
    added(stamp, PDF + b"2", product=product)
    added(stamp, product=product)
    assert [bytes(row.file_bytes) for row in documents_standing()] == [PDF]
