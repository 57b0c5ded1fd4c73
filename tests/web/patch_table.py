"""What hands do with the patch table: put the cursor somewhere, read a cell, take everything back."""

from typing import Any

from playwright.sync_api import Page

from tests.api.answers import given
from tests.servers import Server

__all__ = ["COPIED", "HERE", "PASTE", "cell", "field", "only", "press", "reads", "undo_all"]

# As a browser hands over what somebody pastes with the keyboard.
PASTE = """(text) => {
  const clipboardData = new DataTransfer();
  clipboardData.setData('text/plain', text);
  const event = new ClipboardEvent('paste', { clipboardData, bubbles: true, cancelable: true });
  document.activeElement.dispatchEvent(event);
}"""
COPIED = """() => {
  const clipboardData = new DataTransfer();
  const event = new ClipboardEvent('copy', { clipboardData, bubbles: true, cancelable: true });
  document.activeElement.dispatchEvent(event);
  return clipboardData.getData('text/plain');
}"""
SETTLED = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  await (await import(base + 'screens/patch-asked.js')).settled();
  await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
}"""
HERE = (
    "() => document.activeElement.closest('[data-id]')?.dataset.id + ' ' + document.activeElement.className"
)


def field(server: Server, fixture: str, *names: str) -> list[Any]:
    listed = given(server.client().get("/api/fixtures"))
    return next([each[name] for name in names] for each in listed if each["id"] == fixture)


def cell(page: Page, fixture: str, column: str) -> None:
    """Put the cursor there, as a click does; a second one would begin to type."""
    if not page.locator(f"[data-id={fixture}] .of-{column}:focus").count():
        page.locator(f"[data-id={fixture}] .of-{column}").click()
    page.wait_for_selector(f"[data-id={fixture}] .of-{column}:focus")


def reads(page: Page, fixture: str, column: str, text: str) -> None:
    """Wait until a cell says so, and it is no longer only asked for."""
    page.wait_for_function(
        """([id, column, text]) => {
          const cell = document.querySelector(`[data-id="${id}"] .of-${column}`);
          return cell?.textContent === text && cell.dataset.asked === undefined;
        }""",
        arg=[fixture, column, text],
    )


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def only(page: Page, words: str) -> None:
    """Show only what these words find."""
    page.fill(".patch-top input", words)
    page.wait_for_function("() => document.querySelectorAll('.patched').length < 20")


def undo_all(page: Page) -> None:
    """Take everything back that this page did, latest first."""
    for _ in range(8):
        page.evaluate(SETTLED)  # what is on its way cannot be taken back yet
        if page.locator(".patch-tools button", has_text="Undo").is_disabled():
            return
        page.click(".patch-tools >> text=Undo")
    raise AssertionError(page.locator("#say").inner_text())
