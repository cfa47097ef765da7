"""How far two screens are apart: `python tests/glance/measure_screens.py [--turns N]`.

The real program, two pages in real Chromium. Each page notes when its item changes; both
clocks are this machine's. Printed are milliseconds between the two pages, and from the
touch on one to the change on each.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from glance_rig import browser, page, running

NOTE = """() => {
  window.changes = [];
  const now = () => performance.timeOrigin + performance.now();
  new MutationObserver(() => window.changes.push([document.getElementById('heard').textContent,
    now()])).observe(document.getElementById('said'), {childList: true, subtree: true,
    characterData: true});
  addEventListener('click', () => { window.touched = now(); }, true);
}"""


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--turns", type=int, default=30)
    turns = asked.parse_args().turns
    apart, after = [], []
    with running("walk-round", "--ear", "keys", "--speak", "none") as run, browser() as chromium:
        run.wait_for("Fuel lever?")
        screens = [page(chromium, run.code())]
        run.type("pair")
        screens.append(page(chromium, run.code(1)))
        for screen in screens:
            screen.evaluate(NOTE)
        screens[0].click("summary")
        for turn in range(turns):
            words = ("where am i", "what is open")[turn % 2]
            screens[0].locator(f'button[data-say="{words}"]').click()
            screens[0].wait_for_timeout(1400)
            times = [screen.evaluate("window.changes.at(-1)[1]") for screen in screens]
            touched = screens[0].evaluate("window.touched")
            apart.append(abs(times[0] - times[1]))
            after += [at - touched for at in times]
    for name, found in (("between the screens", apart), ("from touch to change", after)):
        middle, high = np.percentile(found, (50, 95))
        print(f"{name}: p50 {middle:.0f} ms, p95 {high:.0f} ms, worst {max(found):.0f} ms, "
              f"n={len(found)}")  # fmt: skip


if __name__ == "__main__":
    main()
