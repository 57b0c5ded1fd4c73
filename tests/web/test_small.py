"""The longest words on the smallest phone: nothing is cut off, covered, or broken in two."""

from contextlib import suppress

from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.web.phones import PhoneOf
from tests.web.places import GERMAN, places
from tests.web.test_access import COVERED, TOO_WIDE

# Words that are wider than what holds them, and cut there or written over their neighbour.
CUT = """() => [...document.querySelectorAll('main *, #shelf *, #status .link')]
  .filter((node) => node.checkVisibility() && !node.closest('.unseen, .rows, .floor, .disc'))
  .filter((node) => getComputedStyle(node.closest('h1, .heads') ?? node).clipPath !== 'inset(50%)')
  .filter((node) => [...node.childNodes].some((one) => one.nodeType === 3 && one.data.trim()))
  .filter((node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    const words = range.getBoundingClientRect();
    const holders = [node.closest('button, a, summary, p, li, h2, label'), node, node.parentElement];
    const box = holders.find((one) => one?.getBoundingClientRect().width).getBoundingClientRect();
    const clamped = getComputedStyle(node).overflow === 'hidden' && node.scrollWidth > node.clientWidth + 1;
    return words.right > box.right + 1 || words.left < box.left - 1 || clamped;
  })
  .map((node) => `cut: ${node.textContent.slice(0, 40)} in ${node.className || node.tagName}`)"""
# What a hand always finds in one line, in two.
WRAPPED = """() => ['#shelf', '.hand-row'].filter((what) => {
  const tops = [...document.querySelectorAll(what + ' > *')].map((one) => one.offsetTop);
  return new Set(tops).size > 1;
})"""
# A word in two lines that is not parted where it has a hyphen, or may have one.
BROKEN = """() => {
  const [found, range] = [[], document.createRange()];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const { data, parentElement: holder } = texts.currentNode;
    if (!data.trim() || holder.closest('script, noscript, .unseen') || !holder.checkVisibility()) continue;
    if (getComputedStyle(holder).hyphens === 'auto') continue;
    const top = (at) => {
      range.setStart(texts.currentNode, at);
      range.setEnd(texts.currentNode, at + 1);
      return [...range.getClientRects()].at(-1)?.top; // the hyphen before it may count as well
    };
    for (const { 0: part, index } of data.matchAll(/[^\\s\u00ad\u200b-]+/gu)) {
      if (Math.abs(top(index) - top(index + part.length - 1)) > 6) found.push(`broken: ${part}`);
    }
  }
  return found;
}"""


def test_german_fits_a_small_phone(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", locale="de-DE", viewport={"width": 320, "height": 640})
    wrong = {}
    for place in places(page, GERMAN):
        for look in (TOO_WIDE, COVERED, CUT, WRAPPED, BROKEN):  # a pane may still be drawing itself
            with suppress(PlaywrightTimeout):
                page.wait_for_function(f"() => !({look})().length", timeout=2000)
            if found := page.evaluate(look):
                wrong[place] = found
    assert not wrong
