"""Labels and safety data sheets by the API."""

import base64
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.supplies.models import ProductDocument
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.4\ninvented\n%%EOF\n"
PATH = "/api/product-documents"


@pytest.fixture
def product():
    return build.ProductFactory()


def added(caller, product, data=PDF, **more):
    body = {"product": str(product.public_id), "kind": "label", **more}
    file = SimpleUploadedFile("label.pdf", data)
    return caller.post(PATH, {**body, "file": file}, format="multipart", headers={"Idempotency-Key": uuid4().hex})


def test_it_adds_a_label_and_gives_it_back_whole(desk, product):
    reply = added(desk, product)
    assert (reply.status_code, reply.json()["content_type"]) == (201, "application/pdf")
    shown = desk.get(reply.headers["Location"]).json()
    assert base64.b64decode(shown["base64"]) == PDF
    assert ProductDocument.objects.get().added_by == desk.user


def test_it_lists_without_the_files(lead, product):
    build.ProductDocumentFactory(product=product)
    build.ProductDocumentFactory()
    (row,) = lead.rows(f"{PATH}?product={product.public_id}")
    assert row["product"]["code"] == product.code
    assert "base64" not in row


@pytest.mark.parametrize(("data", "more", "field"), [(b"\x89PNG\r\n", {}, "file"), (PDF, {"kind": "leaflet"}, "kind")])
def test_it_refuses_what_is_no_document(desk, product, data, more, field):
    reply = added(desk, product, data, **more)
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_knows_no_other_product(desk):
    reply = added(desk, build.PatchFactory())
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")


def test_it_lets_a_lead_read_and_not_add(lead, product):
    assert added(lead, product).status_code == 403


def test_it_lets_the_pesticide_supervisor_add(product):
    assert added(Caller(build.UserFactory(roles=["pesticide_supervisor"])), product).status_code == 201
