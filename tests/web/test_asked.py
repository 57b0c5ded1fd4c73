"""What a phone asked and has no answer to: `web/state/asked.js`, run in a page without a server behind it."""

from typing import Any

from playwright.sync_api import Page

from tests.web.phones import PhoneOf

SETUP = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  globalThis.asked = await import(base + 'state/asked.js');
  globalThis.sent = [];
  globalThis.hello = (rev, level) => asked.take({ is: 'hello', rev, fixtures: { a: {
    channel: 1, unit: '1', position: 'Bar', purpose: '', profile: 'p', mode: 'm', holder: null, level,
    values: { Dimmer: level } } } });
  hello(1, 0);
  asked.connect((message) => sent.push(message));
}"""


def bench(phone: PhoneOf) -> Page:
    page: Page = phone()  # not joined: no socket of its own
    page.evaluate(SETUP)
    return page


def sent(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate("() => sent")
    return found


def test_at_most_three_wait_for_an_answer_and_then_the_newest_goes(phone: PhoneOf) -> None:
    page = bench(phone)
    page.evaluate("""async () => {
      for (let n = 1; n <= 20; n += 1) {
        asked.set('a', { Dimmer: n / 100 });
        await new Promise((go) => setTimeout(go, 20));
      }
    }""")
    assert len(sent(page)) == 3
    page.evaluate("() => asked.take({ is: 'ok', n: sent[0].n, rev: 2 })")
    page.wait_for_function("() => sent.length === 4")
    assert sent(page)[-1]["values"] == {"Dimmer": 0.2}
    assert [message["n"] for message in sent(page)] == [1, 2, 3, 4]


def test_what_was_asked_is_shown_until_the_truth_has_caught_up(phone: PhoneOf) -> None:
    page = bench(phone)
    shown = "() => [asked.shown('a', 'Dimmer'), asked.isAsked('a', 'Dimmer')]"
    page.evaluate("() => asked.set('a', { Dimmer: 0.5 }, { now: true })")
    assert page.evaluate(shown) == [0.5, True]
    page.evaluate("() => asked.take({ is: 'ok', n: sent[0].n, rev: 3 })")
    assert page.evaluate(shown) == [0.5, True]  # accepted, but the change itself is still on its way
    page.evaluate("() => asked.take({ is: 'change', rev: 2, fixtures: { a: { values: { Dimmer: 0.1 } } } })")
    assert page.evaluate(shown) == [0.5, True]
    page.evaluate("() => asked.take({ is: 'change', rev: 3, fixtures: { a: { values: { Dimmer: 0.5 } } } })")
    assert page.evaluate(shown) == [0.5, False]


def test_what_was_refused_is_shown_no_more(phone: PhoneOf) -> None:
    page = bench(phone)
    page.evaluate("() => asked.set('a', { Dimmer: 0.5 }, { now: true })")
    page.evaluate("() => asked.take({ is: 'refused', n: sent[0].n, why: 'Not now.' })")
    assert page.evaluate("() => asked.shown('a', 'Dimmer')") == 0
    page.wait_for_selector("[role=alert] >> text=Not now.")


def test_letting_go_forgets_what_was_still_waiting(phone: PhoneOf) -> None:
    page = bench(phone)
    page.evaluate("""() => {
      asked.set('a', { Dimmer: 0.5 }, { now: true });
      asked.set('a', { Dimmer: 0.9 });
      asked.command({ do: 'let_go', fixture: 'a' });
    }""")
    page.wait_for_timeout(80)  # longer than the beat at which a forgotten value would have gone
    assert [message["do"] for message in sent(page)] == ["set", "let_go"]


def test_a_new_hello_forgets_all_and_says_what_did_not_arrive(phone: PhoneOf) -> None:
    page = bench(phone)
    page.evaluate("() => asked.set('a', { Dimmer: 0.5 }, { now: true })")
    page.evaluate("() => hello(9, 0.2)")
    assert page.evaluate("() => asked.shown('a', 'Dimmer')") == 0.2
    page.wait_for_selector("#say >> text=1 change did not arrive: 1 level.")
    assert len(sent(page)) == 1
