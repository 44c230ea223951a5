"""Complaints about a document for people at a terminal: all of them, each with its place."""

from __future__ import annotations

from service.engine.findings import Fault


def faults_text(name: str, faults: tuple[Fault, ...]) -> str:
    """Three lines a complaint: where and what stands there, what is wrong, what would be right."""
    count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
    lines = [f"{name}: {count}"]
    for fault in faults:
        place = "/".join(str(step) for step in fault.path) or "the document"
        value = f" = {fault.value}" if fault.value else ""
        lines += ["", f"  {place}{value}   [{fault.code}]", f"    {fault.subject}: {fault.wrong}"]
        lines.append(f"    right would be: {fault.right}")
    return "\n".join(lines) + "\n"
