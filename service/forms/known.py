"""What a document is read against: the catalogue, the limits, the channel plans and the services at hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.engine.plant.catalogue import Catalogue
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import ChannelPlan, Service


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Everything by id; made once by whoever reads the library and passed in."""

    catalogue: Catalogue
    limits: Mapping[str, Limits]
    plans: Mapping[str, ChannelPlan]
    services: Mapping[str, Service]
