"""Wire take-up, gaps between lugs, spare lugs and busy terminals against worked figures."""

from __future__ import annotations

import itertools
import math

import pytest

from lugwright.catalogue.load import panel_part, strip_names, strip_type
from lugwright.layout.insulation import lug_gap_mm, sag_extra_mm, twist_factor
from lugwright.layout.objective import MIN_LEAD_MM
from lugwright.layout.results import PlanTerminal
from lugwright.layout.routing import cut_length_mm
from lugwright.layout.rules.busy_lug import MOST_LEADS
from lugwright.layout.rules.heavy_part import HEAVIEST_G
from lugwright.layout.rules.spare_lugs import spare_lugs_wanted
from lugwright.layout.rules.unsupported_lead import LONGEST_BARE_MM
from lugwright.layout.wire_choice import strip_mm

INCH_MM = 25.4


def test_the_worked_twist_of_two_wires_in_an_inch(tolerance):
    found = twist_factor(outside_mm=2 * 0.020 * INCH_MM, pitch_mm=INCH_MM)
    assert found == pytest.approx(1.0079, abs=tolerance["twist_worked"])


@pytest.mark.parametrize(("outside_mm", "pitch_mm", "wanted"), [(1.6, 25.4 / 3, 1.1628), (2.4, 20.0, 1.0687)])
def test_twisted_hook_up_wire_takes_up_several_percent(outside_mm, pitch_mm, wanted, tolerance):
    assert twist_factor(outside_mm=outside_mm, pitch_mm=pitch_mm) == pytest.approx(wanted, rel=tolerance["twist"])


def test_a_bow_of_5_mm_on_50_mm(tolerance):
    assert sag_extra_mm(sag_mm=5.0, span_mm=50.0) == pytest.approx(1.33, rel=tolerance["sag"])


def test_the_bow_formula_agrees_with_the_arc_of_a_parabola():
    span, sag, steps = 100.0, 4.0, 4000
    heights = [4.0 * sag * (k / steps) * (1.0 - k / steps) for k in range(steps + 1)]
    arc = sum(math.hypot(span / steps, b - a) for a, b in itertools.pairwise(heights))
    assert sag_extra_mm(sag_mm=sag, span_mm=span) == pytest.approx(arc - span, rel=0.01)


@pytest.mark.parametrize(
    ("kind", "pin_count", "least_mm", "most_mm"),
    [("pin", 9, 5.0, 6.0), ("pin", 7, 5.0, 6.0), ("pin", 8, 7.0, 8.0), ("pot", 0, 6.0, 7.0), ("lug", 0, 8.0, 8.0)],
)
def test_insulation_comes_off_as_long_as_the_terminal_asks(kind, pin_count, least_mm, most_mm):
    terminal = PlanTerminal("X.1", "X", kind, 0.0, 0.0, 10.0, "a", 2, "X")
    assert least_mm <= strip_mm(terminal, pin_count=pin_count) <= most_mm


def test_the_cut_length_has_slack_for_remaking_a_joint_and_the_take_up_of_the_twist(tolerance):
    plain = cut_length_mm(route_mm=200.0, outside_mm=1.6)
    assert plain == pytest.approx(1.05 * 200.0 + 10.0, abs=tolerance["length_mm"])
    twisted = cut_length_mm(route_mm=200.0, outside_mm=1.6, strands=2)
    turns = 200.0 / 10.0  # one a centimeter
    helix = math.hypot(200.0, turns * math.pi * 1.6) / 200.0
    assert twisted / plain == pytest.approx(helix, rel=tolerance["twist"])
    three = cut_length_mm(route_mm=200.0, outside_mm=1.6, strands=3)
    wider = math.hypot(200.0, turns * math.pi * 2.0 * 1.6 / math.sqrt(3.0)) / 200.0  # three middles, 1.6 mm apart
    assert three / plain == pytest.approx(wider, rel=tolerance["twist"])


@pytest.mark.parametrize(("steps", "wanted"), [(1, 4.5), (2, 14.0)])
def test_gap_between_lugs_and_over_a_skipped_lug(steps, wanted, tolerance):
    found = lug_gap_mm(pitch_mm=9.5, lug_width_mm=5.0, steps=steps)
    assert found == pytest.approx(wanted, abs=tolerance["length_mm"])


def test_the_fourth_lead_is_one_too_many():
    assert MOST_LEADS == 3


def test_a_lug_of_a_strip_takes_three_or_four_leads_and_one_of_a_pot_two():
    assert [strip_type(name).leads_per_lug in (3, 4) for name in strip_names()] == [True, True]
    assert panel_part("pot").leads_per_lug == 2


def test_half_an_ounce_hangs_by_its_leads_and_an_inch_of_lead_goes_bare():
    assert pytest.approx(0.5 * 28.35, rel=0.02) == HEAVIEST_G
    assert LONGEST_BARE_MM <= INCH_MM


@pytest.mark.parametrize(("used", "wanted"), [(14, 2), (6, 0), (7, 2), (40, 4)])
def test_spare_lugs(used, wanted):
    assert spare_lugs_wanted(used) == wanted


def test_the_least_span_leaves_room_for_two_bends(tolerance):
    body, lead = 14.5, 0.65
    bent = body + 2 * (max(0.8, lead) + lead + lead / 2.0)
    assert bent == pytest.approx(18.05, abs=tolerance["length_mm"])
    assert body + 2.0 * MIN_LEAD_MM >= bent
