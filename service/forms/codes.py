"""The closed list of complaint codes: what a document can get wrong, each with its meaning."""

from __future__ import annotations

from service.engine.building.complaints import BUILDING_CODES
from service.engine.plant.faults import NETWORK_CODES

#: Codes that only a document can earn. The engine's own validator adds the rest.
DOCUMENT_CODES: dict[str, str] = {
    "wrong-type": "A value of another JSON type than the field takes.",
    "missing": "A field that must be there is not.",
    "unknown-field": "A field that this document does not have.",
    "not-finite": "NaN or an infinite number.",
    "out-of-range": "A number outside the range of its field.",
    "looks-like-other-unit": "A number that only makes sense in another unit.",
    "not-a-choice": "A text that is none of the allowed ones.",
    "wrong-form": "A text that is not written in the form of its field.",
    "wrong-table": "A table of figures whose frequencies do not ascend, or without rows.",
    "not-together": "Fields that exclude each other stand together, or of several none is there.",
    "wrong-document": "Another kind or another version of document.",
    "too-many": "More entries than the documented limit.",
    "unknown-limits": "There are no limits of that id.",
    "unknown-plan": "There is no channel plan of that id.",
    "unknown-channel": "The channel plan has no such channel.",
    "unknown-group": "The part has no group of that name.",
    "beats-physics": "A passive part that gives out more power than it takes.",
}

FAULT_CODES: dict[str, str] = dict(sorted((BUILDING_CODES | NETWORK_CODES | DOCUMENT_CODES).items()))
