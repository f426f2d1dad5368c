"""Labels and safety data sheets, whole: what there is of each product, one with its file, and adding one."""

import base64
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.shapes import Row, UserRef
from orders.api.stock import ProductRef
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Id, Text
from orders.supplies.documents import document_add
from orders.supplies.models import ProductDocument
from orders.supplies.selectors import document_get, documents_all, product_get


class ProductDocumentRow(Row):
    product = ProductRef()
    kind = serializers.ChoiceField(ProductDocument.KINDS)
    language = serializers.CharField()
    file_name = serializers.CharField()
    content_type = serializers.CharField()
    size_bytes = serializers.IntegerField()
    sha256 = serializers.CharField()
    added_at = serializers.DateTimeField()
    added_by = UserRef(allow_null=True)


class ProductDocumentOut(ProductDocumentRow):
    base64 = serializers.SerializerMethodField(help_text="The file.")

    def get_base64(self, document: ProductDocument) -> str:
        return base64.b64encode(bytes(document.file_bytes)).decode("ascii")


class ProductDocumentIn(Body):
    product = Id()
    kind = Choice(ProductDocument.KINDS)
    language = Text(max_length=5, default="en")
    file = serializers.FileField(max_length=300)


class DocumentFormParser(FileFormParser):
    most_setting = "PRODUCT_DOCUMENT_MAX_BYTES"


class ProductDocumentFilter(Filters):
    product = OfId(field_name="product__public_id")
    kind = AnyOf(words=ProductDocument.KINDS)


class ProductDocuments(ListEndpoint):
    endpoint = "product-documents"
    parser_classes = (DocumentFormParser,)
    row = ProductDocumentRow
    filters = ProductDocumentFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[ProductDocument]:
        """Labels and safety data sheets, the newest first; of each product, kind and language the newest counts."""
        return documents_all()

    @writes(ProductDocumentRow, body=ProductDocumentIn, located_at="product-document", names_others=True)
    def post(self) -> ProductDocument:
        """Add one as a PDF or as plain text, 5 MB at most. Tablets fetch it with their next contact."""
        file, product = self.body["file"], product_get(self.body["product"])
        return document_add(
            product=product,
            kind=self.body["kind"],
            language=self.body["language"],
            file_name=file.name,
            data=file.read(),
            stamp=self.stamp(),
        )


class ProductDocumentOne(Endpoint):
    endpoint = "product-document"

    @shows(ProductDocumentOut)
    def get(self, document_id: Any) -> ProductDocument:
        """One, with its file."""
        return document_get(document_id)
