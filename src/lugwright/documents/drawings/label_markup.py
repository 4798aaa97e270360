"""A placed label as SVG: leader line, white back, words."""

from __future__ import annotations

from lugwright.documents.drawings.labels import LINE_HEIGHT, Placed
from lugwright.documents.drawings.svg import Markup, circle, group, line, num, rect, text


def label_markup(placed: Placed) -> Markup:
    """Return the label; wire tags have a frame, led-away words a white back and a dot at what they name."""
    label, box = placed.label, placed.box
    found = []
    leader = placed.leader()
    if leader:
        found += [line(*leader, width=0.75, stroke="#fff"), line(*leader, width=0.22),
                  circle(leader[1], 0.5, fill="#000", stroke="none")]  # fmt: skip
    corner = (box.x - box.width / 2.0, box.y - box.height / 2.0)
    if label.style == "tag":
        found.append(_turned(rect(corner, (box.width, box.height), fill="#fff", width=0.22, radius=0.7), placed))
    elif leader or label.style == "backed":
        found.append(_turned(rect(corner, (box.width, box.height), fill="#fff", stroke="none"), placed))
    bold = label.style in ("bold", "tag")
    for index, words in enumerate(placed.lines):
        down = (index - (len(placed.lines) - 1) / 2.0) * label.size * LINE_HEIGHT
        plain = text((box.x, box.y + down), words, label.size, bold=bold)
        found.append(_turned(plain, placed))
    return group(found, class_=f"label {'wire-tag' if label.style == 'tag' else 'name'}", data_label=label.key)


def _turned(markup: Markup, placed: Placed) -> Markup:
    box = placed.box
    return group([markup], transform=f"rotate({num(box.turn)} {num(box.x)} {num(box.y)})") if box.turn else markup
