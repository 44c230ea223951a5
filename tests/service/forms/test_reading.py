"""Bytes to JSON: what can't be read is refused with a reason, never with a traceback."""

from __future__ import annotations

import math

import pytest

from service.forms.reading import MOST_LEVELS, UnreadableDocument, pointer, read_json


@pytest.mark.parametrize(
    ("raw", "wrong"),
    [
        (b'{"id": "\xff"}', "not UTF-8"),
        (b"", "not JSON"),
        (b"{'id': 1}", "not JSON"),
        (b'{"id": 1, "id": 2}', "twice"),
        (b"[" * 100_000, "too deeply"),
        (b"[" * 100 + b"]" * 100, "too deeply"),
        (b"1" * 5_000, "5000 digits, at most 1000"),
    ],
)
def test_bytes_that_are_no_document_are_refused_with_a_reason(raw: bytes, wrong: str) -> None:
    with pytest.raises(UnreadableDocument) as refused:
        read_json(raw)
    assert wrong in refused.value.wrong
    assert refused.value.right


def test_the_deepest_document_that_is_allowed_is_read() -> None:
    depth = MOST_LEVELS - 1
    assert read_json(b"[" * depth + b"]" * depth) is not None


def test_numbers_that_are_not_finite_are_let_through_to_be_complained_about_at_their_place() -> None:
    document = read_json(b'{"a": NaN, "b": 1e999, "c": -Infinity}')
    assert isinstance(document, dict)
    assert math.isnan(document["a"])
    assert document["b"] == math.inf
    assert document["c"] == -math.inf


def test_a_byte_order_mark_does_no_harm() -> None:
    assert read_json(b'\xef\xbb\xbf{"a": 1}') == {"a": 1}


def test_pointers_escape_what_their_standard_wants_escaped() -> None:
    """RFC 6901, section 3."""
    assert pointer(("a/b", 0, "m~n")) == "/a~1b/0/m~0n"
    assert pointer(()) == ""
