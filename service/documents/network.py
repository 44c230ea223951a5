"""A network as a document that can be posted again and gives the same levels: nothing in it is rounded."""

from __future__ import annotations

from typing import Any

from service.documents.plant import cable_document, part_document
from service.engine.plant.cables import Cable
from service.engine.plant.network import Device, Network, Run, Served, Settings
from service.engine.plant.parts import Part
from service.engine.signal.spectrum import Feed


def network_document(
    network: Network,
    *,
    limits: str,
    margins: bool = True,
    parts: tuple[Part, ...] = (),
    cables: tuple[Cable, ...] = (),
    source: str = "",
) -> dict[str, Any]:
    """A network, version 1, with the parts and cables that it brings along and the id of its limits.

    Carriers stand by frequency, so the document needs no channel plan.
    """
    document: dict[str, Any] = {
        "document": "evendrop/network",
        "version": 1,
        "id": network.id,
        "name": network.name,
        "source": source,
        "rules": {"limits": limits} | ({} if margins else {"margins": False}),
        "feeds": [_feed(feed) for feed in network.feeds],
        "devices": [_device(device) for device in network.devices],
        "runs": [_run(run) for run in network.runs],
        "served": [_served(served) for served in network.served],
        "terminated": [str(port) for port in network.terminated],
        "parts": [part_document(part) for part in parts],
        "cables": [cable_document(cable) for cable in cables],
        "joint_loss_db_at_1ghz": network.joint_loss_db_at_1ghz,
    }
    return {key: value for key, value in document.items() if value not in ("", [])}


def _known(values: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None and value != "" and value != []}


def _feed(feed: Feed) -> dict[str, Any]:
    carriers = [
        _known(
            {
                "id": row.carrier.id,
                "frequency_mhz": row.carrier.frequency_mhz,
                "low_mhz": row.carrier.low_mhz,
                "high_mhz": row.carrier.high_mhz,
                "service": row.carrier.service,
                "level_dbmv": row.level_dbmv,
                "cn_db": row.cn_db,
            }
        )
        for row in feed.carriers
    ]
    return _known(
        {
            "id": feed.id,
            "kind": feed.kind,
            "outputs": feed.outputs,
            "output_isolation_db": feed.output_isolation_db,
            "max_level_dbmv": feed.max_level_dbmv,
        }
    ) | {"carriers": carriers}


def _device(device: Device) -> dict[str, Any]:
    settings = device.settings
    rows = {
        "gain_db": settings.gain_db,
        "slope_db": settings.slope_db or None,
        "input_pad_db": settings.input_pad_db or None,
        "input_equaliser_db": settings.input_equaliser_db or None,
    }
    document = _known({"id": device.id, "part": device.part, "place": device.place})
    return document | ({"settings": _known(rows)} if settings != Settings() else {})


def _run(run: Run) -> dict[str, Any]:
    ends = {"id": run.id, "from": str(run.start), "to": run.end}
    cable = {"direct": True} if run.cable is None else {"cable": run.cable, "length_m": run.length_m}
    rest = {
        "joints": run.joints,
        "ambient": run.ambient,
        **({"loss_factor": run.loss_factor} if run.loss_factor != 1.0 else {}),
        "ways": list(run.ways),
        "existing": run.existing or None,
    }
    return _known(ends | cable | rest)


def _served(served: Served) -> dict[str, Any]:
    rows = {"outlet": served.outlet, "at": str(served.port), "user": served.user}
    return _known(rows | {"unit": served.unit, "floor": served.floor})
