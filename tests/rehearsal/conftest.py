"""The browser, one for all tests of the page."""

import pytest
from rehearsal.browser import CHROMIUM, OPTIONS


@pytest.fixture(scope="session")
def chromium():
    if CHROMIUM is None:
        pytest.skip("the page's tests in a browser need Chromium: apt-get install chromium")
    sync = pytest.importorskip("playwright.sync_api")
    with sync.sync_playwright() as driver:
        made = driver.chromium.launch(executable_path=CHROMIUM, args=list(OPTIONS))
        yield made
        made.close()


@pytest.fixture
def tab(chromium):
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    page = context.new_page()
    page.set_default_timeout(60_000)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda line: faults.append(line.text) if line.type == "error" else None)
    yield page
    context.close()
    gone = "ERR_CONNECTION_REFUSED"  # a test has ended its server
    assert [fault for fault in faults if gone not in fault] == []
