"""What a hand on the bench waits for, in a browser: slider to curve, tick to stored, pointing to lit, frames of a pan.

python benchmarks/bench_hands.py examples/godwit_40.toml [SLIDER ...]
python benchmarks/bench_hands.py examples/godwit_40.toml --every

SLIDER is what `--set` takes on its left side (R7, C6.a) of any part that has one; where the page shows none, it is
asked for as a user does, by the part's card. With sliders named nothing else is measured; without any, the first three
of the page, ticks, pointing and panning. With --every each slider of the build is moved at once, one after the other,
to values where it has not been; half and 19 of 20 of all these steps are printed, and the slowest sliders by name.
Half of the times, and 19 of 20 of them, are shorter than what is printed.
Needs Chromium (on the path, or in CHROMIUM). The build is copied and planned in a folder of its own.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Locator, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.bench_pages import COMMAND, FLAGS, Served

from lugwright.web.asked.part_trials import trials
from lugwright.workflow import open_build

STEPS = 60
AT_ONCE = 13  # steps, each to a value where the slider has not been
GONE_MS = 400  # from the last slider to the next
SLOWEST = 6  # sliders that are named
RESTED_MS = 3000  # between reaching for a slider and moving it to and fro
_NEXT = "const drawn = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));"
SLIDE = f"""async ([what, steps, how]) => {{ {_NEXT}
  const kind = how ? `[data-how="${{how}}"]` : "";
  const slider = document.querySelector(`.trial[data-set="${{what}}"]${{kind}} input[type=range]`), found = [];
  const line = document.querySelector("polyline.line.tried");
  const [low, high] = [Number(slider.min), Number(slider.max)];
  for (let k = 0; k < steps; k++) {{
    const changed = new Promise((done) => new MutationObserver((_, own) => {{ own.disconnect(); done(); }})
      .observe(line, {{ attributes: true, attributeFilter: ["points"] }}));
    const share = 0.2 + 0.6 * ((k * 7) % steps) / steps, began = performance.now();
    slider.value = String(low + share * (high - low));
    slider.dispatchEvent(new Event("input", {{ bubbles: true }}));
    if (await Promise.race([changed.then(() => true), new Promise((done) => setTimeout(() => done(false), 3000))])) {{
      await drawn(); found.push(performance.now() - began); }}
    await new Promise((done) => setTimeout(done, 40)); }}
  return found; }}"""
TICK = f"""async (steps) => {{ {_NEXT}
  const found = [];
  for (let k = 0; k < steps; k++) {{
    const box = [...document.querySelectorAll("[data-tick] input")].find((each) => !each.checked);
    if (!box) break;
    const label = box.closest("[data-tick]"), began = performance.now();
    box.click();
    while (label.isConnected && label.classList.contains("pending")) await new Promise((done) => setTimeout(done, 1));
    await drawn(); found.push(performance.now() - began);
    await new Promise((done) => setTimeout(done, 120)); }}
  return found; }}"""
WATCH = f"""() => {{ {_NEXT}
  window.waits = [];
  const frame = document.querySelector("#board"), over = frame.querySelectorAll("svg");
  let began = 0;
  frame.addEventListener("pointermove", (event) => {{ began = event.timeStamp; }}, true);
  for (const svg of over) new MutationObserver(async () => {{
    const since = began; if (!since) return; began = 0; await drawn(); window.waits.push(performance.now() - since);
  }}).observe(svg, {{ childList: true, subtree: true }}); }}"""
FRAMES = """() => new Promise((done) => { const found = []; let last = performance.now();
  const each = (now) => { found.push(now - last); last = now;
    if (found.length < 130) requestAnimationFrame(each); else done(found); };
  requestAnimationFrame(each); })"""


def within(share: float, waits: list[float]) -> float:
    """Return what this share of the waits is within. [ms]"""
    ordered = sorted(waits)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def told(what: str, waits: list[float]) -> None:
    """Print half and nearly all of the waits."""
    if not waits:
        print(f"{what}: nothing measured")
        return
    print(f"{what}: half {within(0.5, waits):.0f} ms, 19 of 20 {within(0.95, waits):.0f} ms ({len(waits)})")


def circuit(page: Page, address: str) -> None:
    """Open the page with the sliders, its first curve drawn."""
    page.goto(f"{address}circuit")
    page.wait_for_selector(".trial input[type=range]")
    page.wait_for_timeout(1500)


def put_on(page: Page, name: str, how: str = "") -> Locator:
    """Have the page show the sliders of a part; return the row of the one that is meant."""
    row = page.locator(f'.trial[data-set="{name}"]' + (f'[data-how="{how}"]' if how else ""))
    if not row.count():
        page.evaluate("(part) => { location.hash = `#part=${part}`; }", name.partition(".")[0])
        page.locator("#card").get_by_role("button", name="Try other values").click()
    return row.first


def sliders(page: Page, address: str, wanted: list[str]) -> None:
    """Move sliders and wait for the curve."""
    circuit(page, address)
    for name in wanted:
        put_on(page, name)
    names = wanted or page.eval_on_selector_all(".trial[data-set]", "(all) => all.map((each) => each.dataset.set)")[:3]
    for name in names:
        told(f"slider {name} to curve, the hand at once", page.evaluate(SLIDE, [name, AT_ONCE]))
        page.wait_for_timeout(RESTED_MS)
        told(f"slider {name} to curve, the hand rested", page.evaluate(SLIDE, [name, STEPS]))
        page.locator(f'.trial[data-set="{name}"]').first.get_by_role("button").last.click()  # back, or off the page
        page.wait_for_timeout(500)


def every_slider(page: Page, address: str, build: Path) -> None:
    """Move every slider of a build at once, and tell how long its curve takes."""
    circuit(page, address)
    waits: dict[str, list[float]] = {}
    for part in open_build(build).written.parts:
        for trial in (each for each in trials(part) if each["how"] in ("turn", "steps")):
            row = put_on(page, trial["set"], trial["how"])
            waits[f"{trial['set']} {trial['label']}".strip()] = page.evaluate(
                SLIDE, [trial["set"], AT_ONCE, trial["how"]]
            )
            row.get_by_role("button").last.click()
            page.wait_for_timeout(GONE_MS)
    told(f"{len(waits)} sliders to curve, the hand at once", [each for those in waits.values() for each in those])
    slowest = sorted(((within(0.95, those), within(0.5, those), name) for name, those in waits.items()), reverse=True)
    for most, half, name in slowest[:SLOWEST]:
        print(f"  {name}: half {half:.0f} ms, 19 of 20 {most:.0f} ms")


def ticks(page: Page, address: str) -> None:
    """Tick boxes of the next cards."""
    page.goto(f"{address}work")
    page.wait_for_selector("[data-tick] input")
    page.evaluate(TICK, 1)
    told("tick to stored", page.evaluate(TICK, STEPS))


def pointing(page: Page, address: str) -> None:
    """Point at one place after another of the wiring side, then pan it."""
    page.goto(f"{address}wiring")
    page.wait_for_selector("#sheet svg")
    page.wait_for_timeout(1000)
    page.evaluate(WATCH)
    box = page.locator("#sheet svg").first.bounding_box()
    assert box is not None
    for k in range(2 * STEPS):
        across, down = (k * 37 % 100) / 100, (k * 61 % 100) / 100
        page.mouse.move(box["x"] + box["width"] * (0.05 + 0.9 * across), box["y"] + box["height"] * (0.1 + 0.6 * down))
        page.wait_for_timeout(30)
    told("pointing to lit", page.evaluate("window.waits"))
    page.mouse.move(box["x"] + 5, box["y"] + 5)
    page.mouse.down()
    page.evaluate(f"window.frames_of = ({FRAMES})()")
    for k in range(100):
        page.mouse.move(box["x"] + 5 + 2 * (k % 50), box["y"] + 5 + (k % 25))
    frames = page.evaluate("window.frames_of")
    page.mouse.up()
    told("frames of a pan", frames)


def main(build: Path, wanted: list[str]) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        folder = Path(temporary)
        shutil.copy(build, folder)
        subprocess.run([*COMMAND, "plan", folder / build.name], check=False, capture_output=True)
        path = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        served = Served(folder)
        page = browser.new_page(viewport={"width": 1024, "height": 768})
        address = f"{served.address}build/{build.stem.replace('_', '-')}/"
        if wanted == ["--every"]:
            every_slider(page, address, build)
        else:
            sliders(page, address, wanted)
        if not wanted:
            ticks(page, address)
            pointing(page, address)
        browser.close()
        served.stop()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
