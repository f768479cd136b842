"""A real browser without a window: Chromium of the system, driven over its own protocol."""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The browser; tests skip where it or its driver is absent."""
    driver = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    found = next((path for path in map(shutil.which, BROWSERS) if path), None)
    if found is None:
        pytest.skip("no Chromium is installed")
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    with driver.sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=found, args=["--no-sandbox"] if as_root else []
        )
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Any, tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Opens a text as a page from a file; what it complained of and asked for is kept."""
    contexts = []

    def opened(text: str, **options: Any) -> Any:
        path = tmp_path / "page.html"
        path.write_text(text, encoding="utf-8")
        context = chromium.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.complaints, page.asked_for = [], []
        page.on("console", lambda message: page.complaints.append(message.text))
        page.on("pageerror", lambda fault: page.complaints.append(str(fault)))
        page.on("dialog", lambda dialog: (page.complaints.append("dialog"), dialog.dismiss()))
        page.on("request", lambda request: page.asked_for.append(request.url))
        page.goto(path.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The invented results of the report's tests."""
    path = Path(__file__).parents[1] / "report" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_for_browser", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
