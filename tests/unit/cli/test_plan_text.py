"""What `plan` prints beside lugs and wires, word for word."""

from __future__ import annotations

from lugwright.cli.plan_text import lugs_text, objective_text, worst_text
from lugwright.layout.explain_results import LugCount, TermShare, WorstPlace


def test_terms_are_printed_with_share_weight_and_reason():
    terms = (
        TermShare("wires", 300.4, 0.75, {}, "1 a mm", "wire picks up hum"),
        TermShare("layers", 100.0, 0.25, {"layers": 3.0}, "25 on layer 2", "what lies over a part must be lifted"),
    )
    assert objective_text(terms).splitlines() == [
        "The plan costs 400, counted in millimeters of ordinary wire:",
        "",
        "term    cost  share  weight                                      because",
        "------  ----  -----  ------------------------------------------  ------------------------------------",
        "wires    300    75%  1 a mm                                      wire picks up hum",
        "layers   100    25%  25 on layer 2; layers times 3, as disliked  what lies over a part must be lifted",
    ]


def test_lugs_are_counted():
    assert lugs_text(LugCount(17, 15, 2, 6)) == (
        "Lugs: 17 used, 15 spare (wanted: 2). No plan of this build does with fewer than 6 lugs and free pins."
    )


def test_a_rule_that_is_not_met_says_no():
    places = (
        WorstPlace("heavy-part", "heaviest part on its leads", "C7", "10 g", "14 g or less", met=True),
        WorstPlace("busy-lug", "busiest terminal", "strip A lug 4", "4 leads", "at most 3", met=False),
    )
    assert worst_text(places).splitlines() == [
        "rule                        worst place    found    limit         met",
        "--------------------------  -------------  -------  ------------  ---",
        "heaviest part on its leads  C7             10 g     14 g or less",
        "busiest terminal            strip A lug 4  4 leads  at most 3     no",
    ]
