"""Lists a page at a time, described as they are answered."""

from __future__ import annotations

from typing import Any

from rest_framework.pagination import PageNumberPagination


class Pages(PageNumberPagination):
    page_size = 50

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """As the class above has it, with null written as OpenAPI 3.1 writes it."""
        address = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["count", "next", "previous", "results"],
            "properties": {
                "count": {"type": "integer"},
                "next": address,
                "previous": address,
                "results": schema,
            },
        }
