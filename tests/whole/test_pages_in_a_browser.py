"""Report and documentation page in a real browser: no serious finding of axe-core, and all of it by keyboard.

Needs Debian's chromium, which is spoken to through a pipe in its DevTools protocol.
"""

from __future__ import annotations

import html
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from service.app import create_app
from service.documents.report import Trade, report_of
from service.engine.findings import Finding
from service.engine.placement.proposal import Design
from service.settings import Settings

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1280,900",
    "--remote-debugging-pipe",
)
KEYS = {"Tab": 9, "Enter": 13, "ArrowRight": 39, "ArrowDown": 40}
#: The browser reads commands from file 3 and writes answers to file 4, whatever numbers ours have.
LAUNCH = """
import os, sys
commands, answers = os.dup(int(sys.argv[1])), os.dup(int(sys.argv[2]))
commands, answers = os.dup(commands), os.dup(answers)
os.dup2(commands, 3)
os.dup2(answers, 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
AXE = "axe.run(document, {resultTypes: ['violations']}).then(found => JSON.stringify(found.violations))"
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")


class Browser:
    """A browser with one page, driven through its debugging pipe."""

    def __init__(self, folder: Path) -> None:
        assert CHROMIUM is not None
        theirs_in, self._out = os.pipe()
        self._in, theirs_out = os.pipe()
        profile = f"--user-data-dir={folder / 'profile'}"
        self._process = subprocess.Popen(
            [sys.executable, "-c", LAUNCH, str(theirs_in), str(theirs_out), CHROMIUM, *FLAGS, profile],
            pass_fds=(theirs_in, theirs_out),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_in)
        os.close(theirs_out)
        self._number, self._left, self._session = 0, b"", ""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]

    def ask(self, method: str, **params: Any) -> Any:
        """Send a command and wait for its answer; events in between are of no interest."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        message |= {"sessionId": self._session} if self._session else {}
        os.write(self._out, json.dumps(message).encode() + b"\0")
        while True:
            while b"\0" not in self._left:
                read = os.read(self._in, 1 << 16)
                assert read, "the browser has gone"
                self._left += read
            line, self._left = self._left.split(b"\0", 1)
            answer = json.loads(line)
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                return answer["result"]

    def run(self, script: str) -> Any:
        """The value of a script in the page, promises awaited."""
        answer = self.ask("Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def show(self, page: str, file: Path) -> None:
        """Open a page and wait until it is there."""
        file.write_text(page, encoding="utf-8")
        self.ask("Page.navigate", url=file.as_uri())
        there = f"location.href === {json.dumps(file.as_uri())} && document.readyState === 'complete'"
        wait = f"new Promise(go => {{(function look() {{ ({there}) ? go(1) : setTimeout(look, 20) }})()}})"
        self.run(wait)

    def press(self, key: str, times: int = 1) -> None:
        """Press a key that has a name."""
        given = {"key": key, "code": key, "windowsVirtualKeyCode": KEYS[key]}
        given |= {"text": "\r"} if key == "Enter" else {}
        for _ in range(times):
            self.ask("Input.dispatchKeyEvent", type="keyDown", **given)
            self.ask("Input.dispatchKeyEvent", type="keyUp", **given)

    def type(self, text: str) -> None:
        """Type into what has the focus."""
        self.ask("Input.insertText", text=text)

    def tab_to(self, wanted: str, most: int = 60) -> None:
        """Press the tab key until the element of that id has the focus."""
        for _ in range(most):
            self.press("Tab")
            if self.run("document.activeElement.id") == wanted:
                return
        raise AssertionError(f"no way to {wanted} by the tab key")

    def close(self) -> None:
        """End the browser."""
        self._process.terminate()
        self._process.wait(timeout=30)
        os.close(self._out)
        os.close(self._in)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    made = Browser(tmp_path_factory.mktemp("browser"))
    yield made
    made.close()


def report_page(desk: Any, design: Design) -> str:
    trade = Trade(
        catalogue=desk.library.catalogue,
        tariff=desk.library.tariffs[design.building.tariff],
        limits=desk.limits[design.building.rules.limits],
        services=desk.services,
        symbols={name: family.symbol for name, family in desk.library.families.items()},
        sources=desk.library.sources,
    )
    return report_of(design, trade, design_id="kept").html


def unsupplied(design: Design) -> Design:
    finding = Finding(rule="level-low", severity="breaks", where=("1A-1",), text="Level too low at 1A-1")
    return replace(design, chosen=replace(design.chosen, findings=(finding, *design.chosen.findings)))


def docs_page(folder: Path) -> str:
    """The documentation page with its style sheet in it, as a file can't ask the service for it."""
    client = create_app(Settings(database_url=f"sqlite:///{folder / 'designs.db'}")).test_client()
    page = client.get("/docs").get_data(as_text=True)
    link = re.search(r'<link rel="stylesheet" href="([^"]+)">', page)
    assert link is not None
    with client.get(html.unescape(link[1])) as answer:
        style = answer.get_data(as_text=True)
    return page.replace(link[0], f"<style>{style}</style>")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("what", ["served", "unsupplied", "docs"])
def test_axe_finds_nothing_serious(
    browser: Browser, desk: Any, tmp_path: Path, what: str, scheme: str
) -> None:
    if what == "docs":
        page = docs_page(tmp_path)
    else:
        design = desk.demo("walkup_8")
        page = report_page(desk, design if what == "served" else unsupplied(design))
    browser.ask("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
    browser.show(page, tmp_path / "page.html")
    assert serious(browser) == []


def serious(browser: Browser) -> list[tuple[str, list[str]]]:
    """What axe-core finds in the page that is serious or critical: the rule, and where."""
    browser.run(files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    return [
        (row["id"], [node["html"][:200] for node in row["nodes"][:3]])
        for row in json.loads(browser.run(AXE))
        if row["impact"] in ("serious", "critical")
    ]


def test_the_checker_finds_faults_that_are_planted(browser: Browser, tmp_path: Path) -> None:
    faults = '<p style="color:#ccc;background:#fff">pale</p><input><img src="data:,">'
    browser.show(f'<html lang="en"><title>x</title><body>{faults}</body></html>', tmp_path / "page.html")
    assert {rule for rule, _ in serious(browser)} >= {"color-contrast", "label", "image-alt"}


def test_the_drawing_is_searched_and_zoomed_by_keyboard(browser: Browser, desk: Any, tmp_path: Path) -> None:
    browser.show(report_page(desk, desk.demo("walkup_8")), tmp_path / "report.html")
    browser.press("Tab")
    assert browser.run("document.activeElement.textContent") == "Skip to the answer"
    browser.tab_to("wanted")
    browser.type("C1")
    browser.press("Enter")
    assert browser.run("document.getElementById('told').textContent").startswith("closet C1, 1 of")
    top, bottom, high = browser.run(
        "(box => [box.top, box.bottom, innerHeight])(document.querySelector('.found').getBoundingClientRect())"
    )
    assert 0 <= top <= bottom <= high
    wide = "document.querySelector('#sheets svg').getBoundingClientRect().width"
    before = browser.run(wide)
    browser.tab_to("nearer")
    browser.press("Enter", 2)
    assert browser.run(wide) > 1.6 * before
    browser.tab_to("whole")
    browser.press("Enter")
    assert browser.run(wide) == pytest.approx(before)


def test_a_zoomed_sheet_is_moved_by_keyboard(browser: Browser, desk: Any, tmp_path: Path) -> None:
    browser.show(report_page(desk, desk.demo("walkup_8")), tmp_path / "report.html")
    browser.tab_to("nearer")
    browser.press("Enter", 3)
    browser.tab_to("whole")
    browser.press("Tab")
    assert browser.run("document.activeElement.className") == "drawing"
    browser.press("ArrowRight", 3)
    browser.run("new Promise(go => setTimeout(go, 500))")
    assert browser.run("document.activeElement.scrollLeft") > 0
