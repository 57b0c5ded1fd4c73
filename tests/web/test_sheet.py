"""The sheet is made from the profile: `web/state/sheet.js` and its arithmetic, run in a page."""

import colorsys
import math
from typing import Any

from tests.web.phones import PhoneOf

BASE = "const base = document.querySelector('script[type=module]').src.replace('app.js', '');"
LOST = (
    """async () => {"""
    + BASE
    + """
  const { sheetOf, stepsOf } = await import(base + 'state/sheet.js');
  const lost = [];
  let controls = 0;
  for (const { key } of await (await fetch('/api/profiles')).json()) {
    const profile = await (await fetch('/api/profiles/' + key)).json();
    for (const mode of profile.modes) {
      const reached = new Set();
      const acts = new Set();
      for (const panes of sheetOf(mode, null, null).values()) for (const pane of panes) {
        const grips = [...(pane.grips ?? []), pane.pan, pane.tilt, pane.red, pane.green, pane.blue,
          pane.white, pane.grip, ...(pane.beside ?? [])].filter(Boolean);
        for (const one of grips) for (const name of one.keys) reached.add(name);
        const loose = [...(pane.grips ?? []), ...(pane.beside ?? [])].flatMap((one) => one.control.functions);
        if (loose.some((fn) => /r\\dStrobe|Pulse/.test(fn.attribute))) lost.push([key, 'not held']);
        if (pane.kind === 'steps' && !stepsOf(pane.grip.control).length) lost.push([key, 'no steps']);
        for (const { fn } of pane.acts ?? []) acts.add(fn);
      }
      for (const control of mode.controls) {
        controls += 1;
        const plain = control.functions.filter((fn) => !fn.action && !fn.attribute.startsWith('NoFeature'));
        if (plain.length && !reached.has(control.key)) lost.push([key, mode.name, control.key]);
        for (const fn of control.functions)
          if (fn.action && !acts.has(fn)) lost.push([key, mode.name, fn.name]);
      }
    }
  }
  return { lost, controls };
}"""
)


def test_every_control_and_action_of_every_profile_has_a_place(phone: PhoneOf) -> None:
    found: dict[str, Any] = phone("Kit", role="lead").evaluate(LOST)
    assert found["controls"] > 300
    assert found["lost"] == []


def test_hue_and_saturation_are_those_of_the_standard_library(phone: PhoneOf) -> None:
    page = phone()
    rows = page.evaluate(
        """async () => {"""
        + BASE
        + """
      const { rgbOf, hueOf } = await import(base + 'state/colour.js');
      const rows = [];
      for (let hue = 0; hue < 360; hue += 15) for (const saturation of [0.25, 0.5, 1])
        rows.push([hue, saturation, rgbOf(hue, saturation), hueOf(...rgbOf(hue, saturation))]);
      return rows;
    }"""
    )
    for hue, saturation, rgb, back in rows:
        assert all(map(math.isclose, rgb, colorsys.hsv_to_rgb(hue / 360, saturation, 1)))
        assert math.isclose(back["hue"], hue, abs_tol=1e-6)
        assert math.isclose(back["saturation"], saturation)


def test_every_raw_value_survives_the_fraction(phone: PhoneOf) -> None:
    # raw = floor(fraction * max + 0.5), as everywhere in the program.
    lost = phone().evaluate(
        """async () => {"""
        + BASE
        + """
      const { rawOf, fractionOf } = await import(base + 'state/values.js');
      const lost = [];
      for (const bytes of [1, 2, 3, 4]) {
        const control = { offset: Array.from({ length: bytes }, (_, at) => at + 1) };
        const max = 256 ** bytes - 1;
        for (let n = 0; n <= 70000; n += 1) {
          const raw = bytes < 3 ? Math.min(n, max) : Math.floor((max / 70000) * n);
          if (rawOf(control, fractionOf(control, raw)) !== raw) lost.push([bytes, raw]);
        }
      }
      return lost;
    }"""
    )
    assert lost == []
